from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from ballbench.errors import BadCorrections, BadReadings
from ballbench.workflows.judge import judge

HEAD = "product,ball,quantity,axis,repeat,action,value,reason,by,time\n"
LARGEST = """[[clause]]
id = "largest"
text = "No ball measures more than 40.60 mm."
quantity = "diameter"
ball = "max"
sample = "each"
upper = "40.60 mm"
"""


def slipped(rows: list[tuple[object, ...]], value: str) -> list[tuple[object, ...]]:
    """The rows with another value at ball 03, seam."""
    return [(*row[:5], value) if row[1] == "03" and row[3] == "seam" else row for row in rows]


def test_a_correction_turns_not_met_into_met_and_both_are_shown(bench: Any, diameters: Callable[..., Any]) -> None:
    """One reading mistyped by 1 mm makes a clause not met; corrected it is met, and the first result stands beside."""
    rows = diameters(balls=12)
    spec = bench.spec(LARGEST)
    bad = bench.readings(slipped(rows, "41.25"))
    assert bench.one(bad, spec)["decision"] == "not met"
    fix = bench.file("fix.csv", HEAD + "Curlew,03,diameter,seam,1,correct,40.25,one digit mistyped,E,\n")
    mended = bench.judge(bad, spec, corrections=fix)
    (product,) = mended["products"]
    assert product["decision"] == "met"
    assert product["corrected"] == 1
    assert product["without_corrections"]["decision"] == "not met"
    assert product["without_corrections"]["changed"] == ["largest: not met without corrections, met with them"]
    (line,) = mended["amendments"]
    assert "41.25" in line
    assert "40.25" in line
    assert "one digit mistyped" in line


def test_a_corrected_file_judges_as_if_it_had_been_right(bench: Any, diameters: Callable[..., Any]) -> None:
    """The clause's numbers after a correction are those of a file that never held the slip."""
    rows = diameters(balls=12)
    spec = bench.spec(LARGEST)
    right = bench.one(bench.readings(slipped(rows, "40.25")), spec)
    fix = bench.file("fix.csv", HEAD + "Curlew,03,diameter,seam,1,correct,40.25,one digit mistyped,E,\n")
    assert bench.one(bench.readings(slipped(rows, "40.52")), spec, corrections=fix) == right


def test_an_excluded_reading_is_counted_and_left_out(bench: Any, diameters: Callable[..., Any]) -> None:
    """An exclusion lowers the number of readings by one and is listed with its reason; the file is not changed."""
    path = bench.readings(diameters())
    before = path.read_bytes()
    fix = bench.file("fix.csv", HEAD + "Curlew,03,diameter,seam,1,exclude,,jaws on the seam's burr,M,\n")
    found = bench.judge(path, bench.spec(LARGEST), corrections=fix)
    (product,) = found["products"]
    assert (product["readings"], product["excluded"], product["balls"]) == (23, 1, 8)
    assert "jaws on the seam's burr" in found["amendments"][0]
    assert path.read_bytes() == before


def test_keeping_a_reading_answers_the_question(bench: Any, diameters: Callable[..., Any]) -> None:
    """A gross oddity stops the judgement; a line that keeps the reading with a reason lets it count as written."""
    path = bench.readings(slipped(diameters(balls=12), "402.5"))
    spec = bench.spec(LARGEST)
    with pytest.raises(BadReadings, match="lost decimal point"):
        bench.judge(path, spec)
    fix = bench.file("fix.csv", HEAD + "Curlew,03,diameter,seam,1,keep,,a training ball of ten times the size,E,\n")
    assert bench.one(path, spec, corrections=fix)["as_read"]["value"] == 402.5


def test_a_mild_oddity_is_asked_about_beside_the_result(bench: Any, diameters: Callable[..., Any]) -> None:
    """A reading far from its box but believable is judged as read, and the question stands with line and suggestion."""
    found = bench.judge(bench.readings(slipped(diameters(balls=12), "40.95")), bench.spec(LARGEST))
    (question,) = found["questions"]
    assert "line 8" in question
    assert "far from the other readings" in question
    assert found["products"][0]["decision"] == "not met"


@pytest.mark.parametrize(
    "line", ["Curlew,77,diameter,seam,1,exclude,,gone,E,", "Dunlin,03,diameter,seam,1,exclude,,gone,E,"]
)
def test_a_line_for_a_ball_that_does_not_exist_is_refused(bench: Any, diameters: Callable[..., Any], line: str) -> None:
    """Corrections for a ball or make without readings are refused, with what is nearest."""
    fix = bench.file("fix.csv", HEAD + line + "\n")
    with pytest.raises(BadCorrections, match="no such reading"):
        bench.judge(bench.readings(diameters()), bench.spec(LARGEST), corrections=fix)


def test_the_league_s_corrections_reach_their_makes_only(league_request: Callable[..., Any]) -> None:
    """Each amendment of the winter league counts for its own make, and only amended makes are judged twice."""
    products = {product.product: product for product in judge(league_request(draws=500)).products}
    assert {name: (p.corrected, p.excluded) for name, p in products.items()} == {
        "Curlew": (1, 0), "Dunlin": (0, 1), "Plover": (1, 0),
    }  # fmt: skip
    assert all(p.without_corrections is not None for p in products.values())
