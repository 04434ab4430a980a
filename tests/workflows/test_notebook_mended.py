from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

import pytest
from made_tests import RULE, a_set_up, fill, new_test, places, put, sent
from recorded_values import keep, marked

from ballbench.errors import BadBench, BadRequest, BadRequirement, NotFound
from ballbench.records.bench_file import read_bench
from ballbench.records.cells import guarded, unguarded
from ballbench.specs.loading import parse_requirement
from ballbench.store import Notebook
from ballbench.workflows import exchange
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Mark, Spoil
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.exchange import FILES, export_file
from ballbench.workflows.keep import one_test
from ballbench.workflows.measure import spoil
from ballbench.workflows.recordings import NewRecording, keep_recording
from ballbench.workflows.set_up import QuantityPlan, ReferencePlan, set_up_test
from ballbench.workflows.set_up_check import MOST_PLACES
from ballbench.workflows.sittings import note
from ballbench.workflows.take_in_test import TakeIn, take_in_test


@pytest.mark.parametrize("link", [".a", '."\u2028"'])
def test_a_key_of_thousands_of_dots_is_refused_before_it_is_read(tmp_path: Path, link: str) -> None:
    """A bench file and a requirement with a key nested 40 000 deep are refused, whatever the quoted keys hold."""
    text = f"a{link * 40_000} = 1\n"
    file = tmp_path / "bench.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadBench, match="more than 200 dots"):
        read_bench(file)
    with pytest.raises(BadRequirement, match="more than 200 dots"):
        parse_requirement(text.encode(), "requirement.toml")


def test_a_price_does_not_grow_on_a_round_trip(notebook: Notebook, tmp_path: Path) -> None:
    """A price that a spreadsheet would run is the same in the balls file after it was taken in and written again."""
    readings, balls = tmp_path / "readings.csv", tmp_path / "balls.csv"
    readings.write_text("product,box,ball,quantity,value\nCurlew,C-1,1,diameter,40.01\n", encoding="utf-8")
    cells = ["2026-11-20", guarded("-3")]
    balls.write_text(f"product,ball,box,bought,price\nCurlew,1,C-1,{cells[0]},{cells[1]}\n", encoding="utf-8")
    test = take_in_test(notebook, TakeIn(**sent(requirement=RULE, readings=readings, balls=balls, title="Two cells")))
    assert (test.boxes[0].bought, test.boxes[0].price) == tuple(map(unguarded, cells)) == ("2026-11-20", "-3")
    assert export_file(notebook, test.id, "balls.csv").decode().splitlines()[1].split(",")[-2:] == cells


def test_a_reference_piece_counts_three_places(notebook: Notebook) -> None:
    """A test of as many places as are allowed is refused with one reference piece more, which adds three."""
    few = a_set_up(quantities=(QuantityPlan("diameter", (), 1, "caliper"),), references=())
    pieces = tuple(
        ReferencePlan(f"piece {n}", "diameter", 40.0, 0.001, "mm", "caliper") for n in range(MOST_PLACES // 3 + 1)
    )
    with pytest.raises(BadRequest, match=f"{6 + 3 * len(pieces)} readings"):
        set_up_test(notebook, replace(few, references=pieces))


def offered(notebook: Notebook, test: int) -> list[str]:
    """Names of the files on the page of a test, which are those that can be had."""
    names = [line.name for line in one_test(notebook, test).files]
    for name in FILES:
        if name in names:
            assert export_file(notebook, test, name)
        else:
            with pytest.raises(NotFound):
                export_file(notebook, test, name)
    return names


def test_the_page_of_a_test_names_its_files_as_things_come(notebook: Notebook) -> None:
    """None at first and after the check of a piece; readings from a spoiled attempt on, corrections with the first."""
    test = new_test(notebook).id
    assert offered(notebook, test) == []
    piece = next(one for one in bench_state(notebook, test).places if one.reference is not None)
    put(notebook, test, piece.id, "40.00")
    assert offered(notebook, test) == []
    spoil(notebook, test, Spoil(**sent(place=places(notebook, test, "mass")[0].id, reason="dropped")))
    recorded = {"recordings.csv", "picks.csv", "marks.csv"}
    usual = [name for name in FILES if name not in {"corrections.csv", *recorded}]
    assert offered(notebook, test) == usual
    reading = put(notebook, test, places(notebook, test, "crack")[0].id, "no")["reading"]["id"]
    amend_readings(notebook, test, Amend(**sent(readings=(reading,), action="exclude", reason="wrong ball")))
    assert offered(notebook, test) == [name for name in FILES if name not in recorded]
    keep_recording(notebook, test, NewRecording(**sent(name="drop.wav", media_type="audio/wav")), [b"sound"])
    assert offered(notebook, test) == [name for name in FILES if name not in {"picks.csv", "marks.csv"}]
    keep(notebook, test, hashlib.sha256(b"sound").hexdigest())
    assert offered(notebook, test) == [name for name in FILES if name != "marks.csv"]
    film = keep_recording(notebook, test, NewRecording(**sent(name="drop.mp4", media_type="video/mp4")), [b"film"])
    marked(notebook, test, str(film["digest"]), ((0.4,),))
    assert offered(notebook, test) == list(FILES)


def test_the_page_of_a_test_writes_no_file(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
    """Names of files are found without reading a single row of them."""
    test = new_test(notebook).id
    list(fill(notebook, test))
    monkeypatch.delattr(exchange, "tables_of")
    assert "readings.csv" in {line.name for line in one_test(notebook, test).files}


@pytest.mark.parametrize("blind", [False, True])
def test_a_mark_is_answered_with_the_balls_that_it_concerns(notebook: Notebook, *, blind: bool) -> None:
    """One ball for its impact, all for conditioning, none for the room; each as the whole bench has it."""
    test = new_test(notebook, blind=blind).id
    list(fill(notebook, test))
    chosen = bench_state(notebook, test).balls[2].id
    for kind, value, ball in (("impact", 3.0, chosen), ("impact", 2.0, None), ("humidity", 45.0, None)):
        told = note(notebook, test, Mark(**sent(kind=kind, value=value, ball=ball)))["balls"]
        known = {one.id: one for one in bench_state(notebook, test).balls}
        wanted = [] if kind == "humidity" else [chosen] if ball else list(known)
        assert [(one["id"], one["impacts"], one["label"]) for one in told] == [
            (number, known[number].impacts, known[number].label) for number in wanted
        ]
    for kind in ("zeroed", "air temperature", "air pressure"):
        value = {"zeroed": None, "air temperature": 20.0, "air pressure": 1010.0}[kind]
        assert note(notebook, test, Mark(**sent(kind=kind, value=value)))["balls"] == []
