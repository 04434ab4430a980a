"""Plans: what is asked is answered from simulated tests, what limits them is named, what is wrong is said."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.errors import BadInput
from ballbench.findings.plans import Plan
from ballbench.workflows.plan import PlanRequest, plan

SPEC = """
id = "example-40"
sport = "any"
title = "40 mm ball, example"
edition = "2026"
source = { document = "own example", clause = "1", seen = "own" }
sample_size = 6
[[clause]]
id = "mean-diameter"
text = "The mean of the balls lies between 40.00 and 40.60 mm."
quantity = "diameter"
ball = "mean"
sample = "mean"
lower = "40.00 mm"
upper = "40.60 mm"
[[clause]]
id = "each-diameter"
text = "No ball lies outside 39.90 to 40.70 mm."
quantity = "diameter"
ball = "mean"
sample = "each"
lower = "39.90 mm"
upper = "40.70 mm"
"""
BENCH = """
[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
repeatability = {{ sd = 0.008, dof = 20, includes_rounding = true }}
calibration = {{ offset = 0.0, offset_sd = {offset_sd} }}
"""


@pytest.fixture
def spec(tmp_path: Path) -> str:
    path = tmp_path / "own.toml"
    path.write_text(SPEC, encoding="utf-8")
    return str(path)


def bench(folder: Path, offset_sd: float = 0.005) -> Path:
    path = folder / "bench.toml"
    path.write_text(BENCH.format(offset_sd=offset_sd), encoding="utf-8")
    return path


def planned(spec: str, **changes: object) -> Plan:
    asked: dict[str, object] = {
        "spec": spec, "true_mean": "40.3", "true_sd": "0.05", "true_form_sd": "0.03", "balls": (6,), "axes": (2,), "tests": 40, "processes": 1,
    }  # fmt: skip
    return plan(PlanRequest(**{**asked, **changes}))  # type: ignore[arg-type]


def test_a_make_in_the_middle_is_met_and_one_far_outside_is_not(spec: str, tmp_path: Path) -> None:
    """Six SDs inside every limit all tests end met; ten SDs outside all end not met: both right."""
    inside = planned(spec, bench=bench(tmp_path))
    outside = planned(spec, bench=bench(tmp_path), true_mean="41.2")
    assert inside.settings[0].met.value == 1.0
    assert outside.settings[0].not_met.value == 1.0
    for one in (inside, outside):
        assert one.how_many.chosen is not None
        assert one.settings[0].right.value == 1.0
        assert one.sentence.startswith("6 balls, 2 places each, read once")


def test_a_poor_calibration_is_named_as_what_limits(spec: str, tmp_path: Path) -> None:
    """A make 0.02 mm inside the limit of the mean, an offset known to 0.03 mm: no number of balls tells."""
    found = planned(spec, bench=bench(tmp_path, 0.03), true_mean="40.02", true_sd="0.02", balls=(6, 24))
    assert found.how_many.chosen is None
    assert found.how_many.limited_by == "calibration"
    assert any(sentence.startswith("More balls do not help") for sentence in found.sentences)


def test_the_mean_left_out_is_the_middle_between_the_limits(spec: str, tmp_path: Path) -> None:
    """The middle of 39.90 and 40.70 mm is 40.30 mm."""
    assert planned(spec, bench=bench(tmp_path), true_mean="").truth.mean == pytest.approx(40.3, abs=1e-12)


def test_amounts_may_have_a_unit(spec: str, tmp_path: Path) -> None:
    """0.002 in are 0.0508 mm: an inch is 25.4 mm by definition."""
    assert planned(spec, bench=bench(tmp_path), true_sd="0.002 in").truth.sd == pytest.approx(0.0508, rel=1e-12)


def test_the_same_plan_wherever_it_runs(spec: str, tmp_path: Path) -> None:
    """In this process and in two, every chance is the same to the last bit."""
    assert repr(planned(spec, bench=bench(tmp_path))) == repr(planned(spec, bench=bench(tmp_path), processes=2))


def test_boxes_are_planned_with_their_size(spec: str, tmp_path: Path) -> None:
    """The chance to miss both bad balls of 20 is C(18, n)/C(20, n): the smallest n under 5 % is planned."""
    found = planned(spec, bench=bench(tmp_path), boxes=(20, 0), bad_share=0.1)
    in_box, many = found.boxes
    n = in_box.balls
    miss = math.comb(18, n) / math.comb(20, n)
    assert miss <= 0.05 < math.comb(18, n - 1) / math.comb(20, n - 1)
    assert many.balls == 29, "0.9^29 = 0.047, 0.9^28 = 0.052"
    assert found.sentences[-1].startswith("Of very many balls look at 29")


def test_what_was_assumed_is_said(spec: str) -> None:
    """Without a bench file the usual caliper is taken and said; nothing else may pass unsaid."""
    found = planned(spec)
    assert any("No instrument is stated for diameter" in text for text in found.assumptions)
    assert found.instrument.assumed


def test_a_comparison_and_changes_are_told(spec: str, tmp_path: Path) -> None:
    """A difference of twenty standard errors is always told apart; the changes start with the plan itself."""
    found = planned(spec, bench=bench(tmp_path), difference="0.4", gains=True, tests=20)
    assert found.telling is not None
    assert found.telling.told[-1].value == 1.0
    assert 0.0 < found.telling.smallest < 0.4
    assert found.gains[0].change == "as planned"
    assert len(found.gains) >= 4


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"balls": (0,)}, "option --balls"),
        ({"axes": ()}, "option --axes"),
        ({"balls": tuple(range(1, 62))}, "designs"),
        ({"tests": 3}, "option --tests"),
        ({"risk": 0.7}, "option --risk"),
        ({"rule": "loose"}, "option --rule"),
        ({"wanted": 1.0}, "option --wanted"),
        ({"true_mean": "forty"}, "option --true-mean"),
        ({"true_sd": "-1"}, "option --true-sd"),
        ({"true_sd": "0.1 g"}, "option --true-sd"),
        ({"difference": "x"}, "option --difference"),
        ({"quantity": "mass"}, "option --quantity"),
        ({"boxes": (10,), "bad_share": 2.0}, "option --bad-share"),
        ({"seed": -1}, "option --seed"),
        ({"form_spread": 9.0}, "option --form-spread"),
        ({"processes": 0}, "option --processes"),
        ({"workers": "nowhere:1"}, "scheduler"),
    ],
)
def test_a_request_that_cannot_be_answered(spec: str, changes: dict[str, object], says: str) -> None:
    """Each gets one clear message."""
    with pytest.raises(BadInput, match=says):
        planned(spec, **changes)


def test_all_faults_are_told_at_once(spec: str) -> None:
    """Three wrong options, three faults."""
    with pytest.raises(BadInput) as caught:
        planned(spec, tests=1, true_sd="x", risk=0.0)
    assert len(caught.value.faults) == 3
