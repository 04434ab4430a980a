"""Plans: what is asked is answered from simulated tests, what limits them is named, what is wrong is said."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.errors import BadInput
from ballbench.findings.plan_form_words import form_sentences
from ballbench.findings.plans import Plan
from ballbench.presentation.plan_wording import verdict
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
        "spec": spec, "true_mean": "40.3", "true_sd": "0.05", "true_form_sd": "0.03",
        "balls": (6,), "axes": (2,), "tests": 40, "processes": 1,
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
    assert found.how_many.with_calibration is not None
    (said,) = [sentence for sentence in found.sentences if "mend first" in sentence]
    assert said.startswith("With a quarter of the calibration's uncertainty the answer is right in")
    assert f"{100 * found.how_many.with_calibration.right.value:.0f} %" in said
    assert "ore balls do not" not in " ".join(found.sentences), "more balls were not tried"


def test_enough_is_said_of_the_make_that_was_simulated_and_of_the_balls_asked_for(spec: str, tmp_path: Path) -> None:
    """Three of the six balls asked for are right far inside the limits; the sentence names the make, and the part."""
    found = planned(spec, bench=bench(tmp_path), balls=(3, 6))
    assert found.chosen.design.balls == 3
    assert "are enough for the make that was assumed" in found.sentence
    assert found.sentence.endswith("; the requirement asks for 6 balls.")
    assert found.sentences[0].startswith("The make that was assumed: mean diameter 40.3 mm, SD 0.05 mm between balls,")
    assert "The requirement asks for 6 balls; with 3 the answer is for a part of them." in found.sentences
    short, whole = found.settings
    assert verdict(short, found) == "enough, 6 asked for"
    assert verdict(whole, found) == "enough too"
    alone = planned(spec, bench=bench(tmp_path), balls=(6,))
    assert "asks for 6" not in " ".join([alone.sentence, *alone.sentences])


def test_where_none_is_enough_the_best_is_named_not_the_largest(spec: str, tmp_path: Path) -> None:
    """The requirement is about the first six: 24 balls find others outside, and are right less often (exact algebra).

    A ball lies inside 39.90 to 40.70 mm with p = 2 Phi(0.4/0.2) - 1 = 0.954. Well read, 24 balls are right in
    p^24 + 1 - p^6 = 0.57 of tests, six in nearly all.
    """
    found = planned(spec, bench=bench(tmp_path, 0.0), true_sd="0.2", balls=(6, 24), wanted=0.999)
    six, more = found.settings
    assert found.how_many.chosen is None
    assert six.right.value > more.right.value + 0.1
    assert found.chosen is six
    assert "the best of them, 6 balls, 2 places each, read once, does in" in found.sentence


def test_a_wrong_met_beyond_the_risk_is_said_where_balls_stay_unread(spec: str, tmp_path: Path) -> None:
    """Two of six balls: both inside and another outside in p^2 - p^6 = 0.29 of tests, p = 0.890 (algebra); risk 5 %."""
    part = planned(spec, bench=bench(tmp_path), true_sd="0.25", balls=(2,))
    assert part.settings[0].false_met.low > 0.05
    assert "more than the risk of 5 %: it covers the balls that are read" in " ".join(part.sentences)
    whole = planned(spec, bench=bench(tmp_path), true_sd="0.25", balls=(6,))
    assert "more than the risk" not in " ".join(whole.sentences)


def test_one_place_is_named_where_it_decides_nothing(tmp_path: Path) -> None:
    """A clause on the largest diameter with one place read never ends met; no finer caliper can change that."""
    path = tmp_path / "largest.toml"
    text = SPEC.replace('id = "each-diameter"', 'id = "largest"').replace(
        '"mean"\nsample = "each"', '"max"\nsample = "each"'
    )
    path.write_text(text, encoding="utf-8")
    found = planned(str(path), bench=bench(tmp_path), axes=(1,), tests=20)
    assert found.how_many.limited_by == "make"
    said = " ".join(found.sentences)
    assert "Neither a better calibration nor a quieter instrument changed it beyond what chance may do" in said
    assert "One place cannot decide a clause on the largest or smallest diameter" in said
    assert "largest cannot end met" in said
    two = planned(str(path), bench=bench(tmp_path), axes=(2,), tests=20)
    assert "One place" not in " ".join(two.sentences)


SITTING = """
[sitting.1.temperature]
value = 25.0
sd = 1.0
reference = 23.0
[material]
expansion = { value = 9e-5, relative_sd = 0.2 }
"""
SQUEEZE = '[squeeze."{}"]\nvalue = {}\nsd = {}\nunit = "mm"\n'


def test_the_only_squeeze_of_the_bench_is_used(spec: str, tmp_path: Path) -> None:
    """Its SD of 0.2 mm, unlike that of the caliper, leaves undecided what is else clear; of two makes none is used."""
    path = bench(tmp_path)
    clear = planned(spec, bench=path)
    stated = path.read_text(encoding="utf-8")
    path.write_text(stated + SQUEEZE.format("Curlew", 0.05, 0.2), encoding="utf-8")
    one = planned(spec, bench=path)
    path.write_text(path.read_text(encoding="utf-8") + SQUEEZE.format("Dunlin", 0.02, 0.2), encoding="utf-8")
    two = planned(spec, bench=path)
    assert clear.settings[0].undecided.value == two.settings[0].undecided.value == 0.0
    assert one.settings[0].undecided.value > 0.5
    assert any("gives way as Curlew" in note or "give way as Curlew does" in note for note in one.footing.notes)
    assert any("several makes (Curlew, Dunlin)" in note for note in two.footing.notes)
    assert not any("squeeze" in note for note in clear.footing.notes)


def test_temperatures_of_sittings_are_said_to_be_left_out(spec: str, tmp_path: Path) -> None:
    """A bench that states one has a note; the same bench without has none."""
    path = bench(tmp_path)
    path.write_text(path.read_text(encoding="utf-8") + SITTING, encoding="utf-8")
    apart = planned(spec, bench=path).footing.notes
    assert any("temperatures of single sittings are not part" in note for note in apart)
    assert not any("sitting" in note for note in planned(spec, bench=bench(tmp_path)).footing.notes)


def test_the_mean_left_out_is_the_middle_between_the_limits(spec: str, tmp_path: Path) -> None:
    """The middle of 39.90 and 40.70 mm is 40.30 mm."""
    assert planned(spec, bench=bench(tmp_path), true_mean="").truth.mean == pytest.approx(40.3, abs=1e-12)


def test_amounts_may_have_a_unit(spec: str, tmp_path: Path) -> None:
    """0.002 in are 0.0508 mm: an inch is 25.4 mm by definition."""
    assert planned(spec, bench=bench(tmp_path), true_sd="0.002 in").truth.sd == pytest.approx(0.0508, rel=1e-12)


def test_the_same_plan_wherever_it_runs(spec: str, tmp_path: Path) -> None:
    """In this process and in two, every chance is the same to the last bit."""
    here, there = (planned(spec, bench=bench(tmp_path), balls=(3, 6), processes=n) for n in (1, 2))
    assert repr(here) == repr(there)


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
    assert any("No instrument is stated for diameter" in text for text in found.footing.assumptions)
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


def test_the_axes_of_the_chosen_design_and_two_more_are_looked_at(spec: str, tmp_path: Path) -> None:
    """Three axes: 3, 4 and 5; one place has no variation, so 2 and 3, and that is said. 0.008 mm shows d2 times it."""
    three = planned(spec, bench=bench(tmp_path), axes=(3,))
    assert [one.axes for one in three.round_ball] == [3, 4, 5]
    assert three.round_ball[0].mean == pytest.approx(1.693 * 0.008, abs=1e-5)  # d2: ASTM control chart constants
    assert {one.axes for one in three.caught} == {3, 4, 5}
    alone = planned(spec, bench=bench(tmp_path), axes=(1,))
    assert [one.axes for one in alone.round_ball] == [2, 3]
    assert form_sentences(alone)[0].startswith("One place of a ball shows nothing")


def test_a_plan_for_anything_but_diameters_says_nothing_of_form(tmp_path: Path) -> None:
    """A mass has no axes."""
    path = tmp_path / "mass.toml"
    text = SPEC.replace('"diameter"', '"mass"').replace(' mm"', ' g"')
    path.write_text(text, encoding="utf-8")
    found = planned(str(path), axes=(1,))
    assert (found.caught, found.round_ball, form_sentences(found)) == ((), (), [])
