from __future__ import annotations

from dataclasses import replace

import pytest
from scipy import stats
from tests.findings.made_samples import clause_of, reading_of, requirement_of
from tests.findings.planning.planned import FINE_STEP, setting_of

from ballbench.errors import BadRequest
from ballbench.findings.planning.blocks import Place
from ballbench.findings.planning.designs import Design, TruthAt
from ballbench.findings.planning.worth import smallest_design, what_it_would_buy

HERE = Place(1)
MEAN = requirement_of(clause_of(reading_of("mean", "mean", upper=40.5), identity="mean"))
DESIGNS = [Design(12, 2, 2), Design(4, 2), Design(12, 2)]


def test_where_the_calibration_dominates_only_the_calibration_helps() -> None:
    """Mean 0.04 mm inside, offset known to 0.04 mm: no repeat, ball or finer caliper helps (exact: normal)."""
    setting = setting_of(TruthAt(40.46, 0.005), 6, 2, tool=replace(FINE_STEP, offset_sd=0.04), requirement=MEAN)
    gains = {row.change: row.chances for row in what_it_would_buy(setting, 200, place=HERE)}
    planned = gains.pop("as planned")
    assert planned.met.value == pytest.approx(0.26, abs=0.11)  # Phi(1 - 1.645) = 0.26
    calibrated = gains.pop("a quarter of the calibration's uncertainty")
    assert calibrated.met.value > 0.95
    assert len(gains) == 4
    for change, row in gains.items():
        assert row.met.value == pytest.approx(planned.met.value, abs=0.16), change
    assert gains["one more repeat"].minutes == 2 * planned.minutes
    assert gains["twice the balls"].minutes == 2 * planned.minutes
    assert gains["an hour more: every place read 20 times more"].minutes == planned.minutes + 60.0


def test_where_the_noise_dominates_noise_and_repeats_help() -> None:
    """A noise of 0.2 mm on six round balls: a quarter of it, or an hour of repeats, decides; a calibration does not."""
    tool = replace(FINE_STEP, sd=0.2, dof=200.0, offset_sd=0.001)
    setting = setting_of(TruthAt(40.4, 0.005), 6, 2, tool=tool, requirement=MEAN)
    gains = [row.chances.met.value for row in what_it_would_buy(setting, 200, place=HERE)]
    planned, finer, calibrated, _, _, longer = gains
    assert finer > planned + 0.3
    assert longer > planned + 0.3
    assert calibrated == pytest.approx(planned, abs=0.16)


def test_the_design_of_least_work_that_is_enough_is_chosen() -> None:
    """Balls far inside: the smallest of three designs already answers rightly, whatever their order (definition)."""
    setting = setting_of(TruthAt(40.3, 0.01, 0.01), requirement=MEAN)
    found = smallest_design(setting.terms, DESIGNS, setting.truth, tests=60, place=HERE)
    assert [row.design for row in found.tried] == [Design(4, 2), Design(12, 2), Design(12, 2, 2)]
    assert found.chosen is not None
    assert found.chosen.design == Design(4, 2)
    assert (found.sure, found.limited_by) == (True, "")


def test_more_balls_are_chosen_where_fewer_do_not_do() -> None:
    """Balls alike, 0.07 mm inside, noise 0.1 mm: 4 x 2 readings decide 0.64 of tests, Phi(2.0 - 1.645); 12 x 2 do."""
    setting = setting_of(
        TruthAt(40.43, 0.0), tool=replace(FINE_STEP, sd=0.1, dof=200.0, offset_sd=0.0), requirement=MEAN
    )
    found = smallest_design(setting.terms, DESIGNS, setting.truth, 0.8, 300, place=HERE)
    rights = [row.right.value for row in found.tried]
    assert rights[0] < 0.8 <= rights[-1]
    assert found.chosen is not None
    assert found.chosen.right.value >= 0.8
    assert found.chosen.design != Design(4, 2)


def test_nothing_would_where_the_calibration_dominates() -> None:
    """Offset known to 0.04 mm, mean 0.04 mm inside: no design answers, and it is the calibration that is in the way."""
    setting = setting_of(TruthAt(40.46, 0.005), tool=replace(FINE_STEP, offset_sd=0.04), requirement=MEAN)
    found = smallest_design(setting.terms, DESIGNS, setting.truth, tests=100, place=HERE)
    assert found.chosen is None
    assert found.limited_by == "calibration"
    assert found.with_calibration is not None
    assert found.with_calibration.right.value > 0.9


def test_nothing_would_where_the_make_lies_at_its_limit() -> None:
    """Mean at the limit: no caliper can tell on which side, so that it is the make itself (guarded rule)."""
    setting = setting_of(TruthAt(40.5, 0.0), tool=replace(FINE_STEP, offset_sd=0.01), requirement=MEAN)
    found = smallest_design(setting.terms, [Design(4, 2)], setting.truth, tests=100, place=HERE)
    assert found.chosen is None
    assert found.limited_by == "make"


SHARP = replace(FINE_STEP, resolution=1e-5, sd=1e-5, dof=1e6, offset_sd=0.0)
EACH = requirement_of(clause_of(reading_of("mean", "each", upper=40.5), identity="each"))


@pytest.mark.parametrize("size", [None, 24])
def test_a_right_answer_is_about_the_same_balls_for_every_design(size: int | None) -> None:
    """Each of 24 balls inside with p = Phi(2); n of them read without error are right in p^24 + 1 - p^n (algebra).

    So it is where the requirement asks for 24, and where 24 is the largest number among the designs: two balls are
    right in 0.62 of tests, not in all.
    """
    terms = replace(setting_of(TruthAt(40.4, 0.05), tool=SHARP).terms, requirement=replace(EACH, sample_size=size))
    found = smallest_design(terms, [Design(2, 1), Design(24, 1)], TruthAt(40.4, 0.05), 0.95, 300, place=HERE)
    inside = stats.norm.cdf(2.0)
    for one in found.tried:
        exact = inside**24 + 1.0 - inside**one.design.balls
        assert one.right.value == pytest.approx(exact, abs=0.1), one.design
        assert one.in_question == 24
    few, _ = found.tried
    assert few.false_met.value == pytest.approx(inside**2 - inside**24, abs=0.1)
    assert few.clauses[0].right.value == few.right.value
    assert found.best.design == Design(24, 1)


def test_a_change_of_the_plan_does_not_change_the_question() -> None:
    """Twice the balls are still asked about the plan's own, or about those that the terms name (definition)."""
    base = setting_of(TruthAt(40.4, 0.05), 4, 1, tool=SHARP, requirement=EACH)
    named = replace(base, terms=replace(base.terms, in_question=9))
    for setting, asked in ((base, 4), (named, 9)):
        assert {one.chances.in_question for one in what_it_would_buy(setting, 10, place=HERE)} == {asked}


def test_where_none_is_enough_the_best_is_looked_into() -> None:
    """About two balls in question, two are right more often than forty, which find others (p^40 + 1 - p^2, algebra)."""
    tool = replace(SHARP, offset_sd=0.01)
    setting = setting_of(TruthAt(40.4, 0.05), tool=tool, requirement=replace(EACH, sample_size=2))
    found = smallest_design(setting.terms, [Design(40, 1), Design(2, 1)], setting.truth, 0.9999, 100, place=HERE)
    assert found.chosen is None
    assert found.with_calibration is not None
    assert found.with_noise is not None
    assert {one.design for one in (found.best, found.with_calibration, found.with_noise)} == {Design(2, 1)}


def test_no_design_or_no_chance_is_refused() -> None:
    """An empty list and a chance of 1 (rule of this project)."""
    setting = setting_of(TruthAt(40.3, 0.01), requirement=MEAN)
    for designs, wanted in (([], 0.9), (DESIGNS, 1.0)):
        with pytest.raises(BadRequest):
            smallest_design(setting.terms, designs, setting.truth, wanted)
