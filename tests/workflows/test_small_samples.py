"""Samples at the edge: one ball, one reading a ball, answers, extremes found by turning, coarse displays, no bench."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

FOUR = """[[clause]]
id = "largest"
text = "At most 40.60 mm anywhere."
quantity = "diameter"
ball = "max"
sample = "each"
upper = "40.60 mm"
[[clause]]
id = "variation"
text = "A ball's diameters differ by at most 0.25 mm."
quantity = "diameter"
ball = "range"
sample = "each"
upper = "0.25 mm"
[[clause]]
id = "mean"
text = "The mean is 40.00 to 40.50 mm."
quantity = "diameter"
ball = "mean"
sample = "mean"
lower = "40.00 mm"
upper = "40.50 mm"
[[clause]]
id = "spread"
text = "The SD of the balls is at most 0.06 mm."
quantity = "diameter"
ball = "mean"
sample = "sd"
upper = "0.06 mm"
"""


def by_id(findings: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The clauses of the only product."""
    (product,) = findings["products"]
    return {clause["id"]: clause for clause in product["clauses"]}


def test_one_ball_with_three_places(bench: Any, diameters: Callable[..., Any]) -> None:
    """One ball: what speaks of it is judged, a spread between balls is not tested, nothing is said of others."""
    found = by_id(bench.judge(bench.readings(diameters(balls=1)), bench.spec(FOUR)))
    assert {name: clause["decision"] for name, clause in found.items()} == {
        "largest": "met", "variation": "met", "mean": "met", "spread": "not tested",
    }  # fmt: skip
    assert found["largest"]["population"] is None
    assert "one ball was read" in found["spread"]["notes"][0]


def test_one_reading_a_ball(bench: Any, diameters: Callable[..., Any]) -> None:
    """One place a ball: a variation is not tested, a largest diameter is never met, means and spreads are judged."""
    found = by_id(bench.judge(bench.readings(diameters(balls=12, axes=1)), bench.spec(FOUR)))
    assert {name: clause["decision"] for name, clause in found.items()} == {
        "largest": "undecided", "variation": "not tested", "mean": "met", "spread": "met",
    }  # fmt: skip
    assert any("one place of each ball" in note for note in found["largest"]["notes"])


def test_one_ball_one_reading(bench: Any) -> None:
    """A single reading is judged with the instrument's own uncertainty, and no more is read into it.

    Oracle: reading less offset and noise, u = sqrt(0.008^2 + 0.005^2), noise with 20 degrees of freedom.
    """
    path = bench.readings([("Curlew", 1, "diameter", "", 1, "40.25")])
    found = by_id(bench.judge(path, bench.spec(FOUR), draws=20_000))
    truth = found["mean"]["truth"]
    half = (truth["high"] - truth["low"]) / 2
    assert truth["median"] == pytest.approx(40.25, abs=0.0005)
    assert half == pytest.approx(2.03 * np.hypot(0.008, 0.005), rel=0.05)
    assert found["mean"]["decision"] == "met"
    assert found["largest"]["decision"] != "met"


def test_every_ball_far_outside_is_not_met_with_one_reading(bench: Any) -> None:
    """What is plainly outside is not met even with one place a ball: another place could only be worse."""
    rows = [("Curlew", ball, "diameter", "", 1, "40.90") for ball in range(1, 5)]
    assert by_id(bench.judge(bench.readings(rows), bench.spec(FOUR)))["largest"]["decision"] == "not met"


ANSWERS = """[[clause]]
id = "crack"
text = "No ball is cracked."
quantity = "crack"
count = { answer = "no" }
[[clause]]
id = "ring"
text = "In 10 drops through the ring a ball passes at most 4 times."
quantity = "ring"
count = { answer = "passed", at_most = 4, out_of = 10 }
"""


@pytest.mark.parametrize(("cracked", "passes", "expected"), [
    (0, 4, ("met", "met")), (1, 4, ("not met", "met")), (0, 5, ("met", "not met")), (6, 10, ("not met", "not met")),
])  # fmt: skip
def test_answers_are_counted_as_they_are(bench: Any, cracked: int, passes: int, expected: tuple[str, str]) -> None:
    """Yes/no results: with the rule's own number of trials the count decides, without any model of noise."""
    rows: list[tuple[object, ...]] = [
        ("Curlew", ball, "crack", "", 1, "yes" if ball <= cracked else "no") for ball in range(1, 7)
    ]
    rows += [
        ("Curlew", ball, "ring", "", trial, "passed" if trial <= (passes if ball == 1 else 2) else "failed")
        for ball in range(1, 7)
        for trial in range(1, 11)
    ]
    found = by_id(bench.judge(bench.readings(rows), bench.spec(ANSWERS)))
    assert tuple(found[name]["decision"] for name in ("crack", "ring")) == expected
    assert found["crack"]["as_read"]["value"] == cracked
    assert found["ring"]["as_read"]["value"] == max(passes, 2)


def test_six_good_of_six_still_allow_a_share_of_bad_ones(bench: Any) -> None:
    """None cracked of 6: up to 39 % of such balls may be, 1 - 0.05^(1/6) (exact binomial bound)."""
    rows = [("Curlew", ball, "crack", "", 1, "no") for ball in range(1, 7)]
    found = by_id(bench.judge(bench.readings(rows), bench.spec(ANSWERS)))
    assert any(f"{100 * (1 - 0.05 ** (1 / 6)):.0f} %" in note for note in found["crack"]["notes"])


def turned(balls: int, largest: float, smallest: float, seed: int = 3) -> list[tuple[object, ...]]:
    """Balls turned in the jaws, the largest and the smallest written down."""
    rng = np.random.default_rng(seed)
    rows: list[tuple[object, ...]] = []
    for ball in range(1, balls + 1):
        shift = 0.01 * rng.standard_normal()
        rows.append(("Curlew", ball, "diameter", "largest found", 1, f"{largest + shift:.2f}"))
        rows.append(("Curlew", ball, "diameter", "smallest found", 1, f"{smallest + shift:.2f}"))
    return rows


def test_extremes_found_by_turning_are_judged_as_such(bench: Any) -> None:
    """Largest and smallest found: the number of looks is said, and the largest found is no mean of places."""
    found = by_id(bench.judge(bench.readings(turned(8, 40.32, 40.22)), bench.spec(FOUR), draws=None))
    assert found["largest"]["decision"] == "met"
    assert found["largest"]["truth"]["median"] < 40.36
    assert found["mean"]["truth"]["median"] == pytest.approx(40.27, abs=0.02)
    text = bench.text(bench.readings(turned(8, 40.32, 40.22)), bench.spec(FOUR), draws=None)
    assert "12 directions are taken as looked at" in text


def test_extremes_beyond_the_limit_are_not_met(bench: Any) -> None:
    """Largest found 0.1 mm beyond the limit on every ball: not met."""
    found = by_id(bench.judge(bench.readings(turned(8, 40.70, 40.20)), bench.spec(FOUR), draws=None))
    assert found["largest"]["decision"] == "not met"
    assert found["variation"]["decision"] == "not met"


COARSE = """[instrument.rule]
quantity = "diameter"
unit = "mm"
resolution = 0.1
repeatability = { sd = 0.03, dof = 20, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.01, scale_sd = 0.0 }
"""


def test_a_coarse_display_is_said_and_widens_the_answer(bench: Any) -> None:
    """All balls read 40.2 on a display of 0.1 mm: the truth is known to the step at best, and the clause says so."""
    rows = [("Curlew", ball, "diameter", axis, 1, "40.2") for ball in range(1, 7) for axis in ("a", "b", "c")]
    found = bench.judge(bench.readings(rows), bench.spec(FOUR), COARSE, draws=None)
    clauses = by_id(found)
    assert any("coarse" in note for note in found["products"][0]["notes"])
    truth = clauses["largest"]["truth"]
    assert 0.02 < truth["high"] - truth["low"] < 0.3
    assert truth["low"] < 40.25
    assert clauses["mean"]["truth"]["median"] == pytest.approx(40.2, abs=0.02)


@pytest.mark.parametrize("balls", [6, 24])
def test_masses_shown_alike_by_a_coarse_scale_are_judged(bench: Any, balls: int) -> None:
    """Every ball shows 2.7 g on a display of 0.1 g: the mean is known to the step, and the judgement ends."""
    rows = [("Curlew", ball, "mass", "", 1, "2.7") for ball in range(1, balls + 1)]
    text = FOUR[FOUR.index('[[clause]]\nid = "mean"') : FOUR.index('[[clause]]\nid = "spread"')]
    spec = bench.spec(text.replace("diameter", "mass").replace("40.00 mm", "2.6 g").replace("40.50 mm", "2.8 g"))
    scale = COARSE.replace("rule]", "scale]").replace("diameter", "mass").replace('"mm"', '"g"')
    clause = bench.one(bench.readings(rows), spec, scale, draws=None)
    assert clause["truth"]["median"] == pytest.approx(2.7, abs=0.02)
    assert clause["decision"] == "met"


def test_without_a_bench_file_every_assumption_is_said(bench: Any, diameters: Callable[..., Any]) -> None:
    """No bench file: what each instrument is taken to be is said with numbers and its source, or that there is none."""
    rows = [
        *diameters(),
        *(("Curlew", f"{ball:02d}", "mass", "", 1, f"{2.7 + ball / 100:.2f}") for ball in range(1, 9)),
    ]
    found = bench.judge(bench.readings(rows), bench.spec(FOUR), None)
    said = [text for text in found["assumptions"] if text.startswith("No bench file")]
    assert len(said) == 2
    assert all("common practice, no source" in text for text in said)
    assert any("0.01 mm steps" in text for text in said)
    assert any("temperature" in text for text in found["assumptions"])
    assert any("squeeze" in text for text in found["assumptions"])


def test_with_a_bench_file_less_is_assumed(bench: Any, diameters: Callable[..., Any]) -> None:
    """With the instrument told, nothing is assumed of it."""
    found = bench.judge(bench.readings(diameters()), bench.spec(FOUR))
    assert not any("No bench file" in text or "repeatability" in text for text in found["assumptions"])


def test_fewer_balls_than_the_rule_asks_for_are_said(bench: Any, diameters: Callable[..., Any]) -> None:
    """8 balls under a rule of 24: judged, and the first sentence says so."""
    found = bench.judge(bench.readings(diameters()), bench.spec(FOUR, "sample_size = 24\n"))
    assert "8 of the 24 balls asked for" in found["products"][0]["headline"][0]


def test_spoiled_attempts_are_counted_and_are_no_readings(bench: Any) -> None:
    """A drop that hit the tube counts as spoiled, and the mean is that of the others."""
    columns = ("product", "ball", "quantity", "repeat", "value", "note")
    rows = [("Curlew", 1, "rebound", r, 250, "") for r in (1, 2)] + [
        ("Curlew", 1, "rebound", 3, "", "spoiled: hit the tube")
    ]
    spec = bench.spec(
        FOUR.replace('"diameter"', '"rebound"').replace("40.00 mm", "240 mm").replace("40.50 mm", "260 mm")
    )
    (product,) = bench.judge(bench.readings(rows, columns), spec, None)["products"]
    assert (product["readings"], product["spoiled"]) == (2, 1)
    assert any("spoiled" in note for note in product["notes"])


def test_declared_quantities_keep_their_units(bench: Any) -> None:
    """Pressure read in bar, limits in kPa, a gauge told in bar: the same answer as with everything in kPa."""
    spec = bench.spec(
        """[[clause]]
id = "pressure"
text = "60 to 110 kPa."
quantity = "pressure"
ball = "mean"
sample = "each"
lower = "60 kPa"
upper = "110 kPa"
""",
        '[quantity.pressure]\nunit = "kPa"\n',
    )
    gauge = (
        '[instrument.gauge]\nquantity = "pressure"\nunit = "{}"\nresolution = {}\nrepeatability = {{ sd = {}, '
        "dof = 20, includes_rounding = true }}\ncalibration = {{ offset = 0.0, offset_sd = {}, scale_sd = 0.0 }}\n"
    )
    columns = ("product", "ball", "quantity", "repeat", "value", "unit")
    bar = [("Curlew", b, "pressure", 1, f"{0.80 + b / 100:.2f}", "bar") for b in range(1, 9)]
    kpa = [(*row[:4], f"{100 * float(row[4]):.0f}", "kPa") for row in bar]
    a = bench.one(bench.readings(bar, columns), spec, gauge.format("bar", 0.01, 0.012, 0.01))
    b = bench.one(bench.readings(kpa, columns), spec, gauge.format("kPa", 1.0, 1.2, 1.0))
    assert a["truth"] == pytest.approx(b["truth"], rel=1e-6)
    assert (a["decision"], a["unit"]) == ("met", "kPa")
