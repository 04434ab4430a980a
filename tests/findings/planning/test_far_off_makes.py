"""A make that any test sees through is questioned, for it is most often a slip of the unit or of the decimal point."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.presentation.example_bench import plan

from ballbench.findings.plan_words import FAR_OFF, plan_sentences
from ballbench.findings.planning import TruthAt
from ballbench.findings.plans import Plan

OUTSIDE = "Its mean lies far outside the limits of a single ball"
WIDE = "Its SD is larger than all the room between the limits of a single ball"
ASK = "so nearly any test answers that: check the numbers and their unit."


def said(made: Plan, mean: float, sd: float, lower: float | None = 40.0, upper: float | None = 40.6) -> str:
    """Give the sentences of a plan for another make, held against other limits."""
    truth = TruthAt(mean, sd, made.truth.form_sd, made.truth.form_spread)
    return " ".join(plan_sentences(replace(made, truth=truth, lower=lower, upper=upper)))


@pytest.fixture(scope="module")
def made() -> Plan:
    return plan()


@pytest.mark.parametrize(("mean", "asked"), [(40.3, False), (40.6 + 0.49, False), (40.6 + 0.51, True),
                                             (40.0 - 0.49, False), (40.0 - 0.51, True), (1.58, True)])  # fmt: skip
def test_a_mean_ten_sds_beyond_a_limit_is_questioned(made: Plan, mean: float, asked: bool) -> None:
    """With an SD of 0.05 mm ten of them are 0.5 mm, on either side; 1.58 is 40.2 mm in inches."""
    assert FAR_OFF == 10.0
    text = said(made, mean, 0.05)
    assert (f"{OUTSIDE}, {ASK}" in text) is asked
    assert WIDE not in text


def test_a_limit_that_is_not_there_is_not_passed(made: Plan) -> None:
    """With an upper limit alone a small mean is no slip, and with a lower one alone a large mean is none."""
    assert ASK not in said(made, 1.58, 0.05, lower=None)
    assert ASK not in said(made, 60.0, 0.05, upper=None)
    assert OUTSIDE in said(made, 60.0, 0.05, lower=None)


def test_balls_all_alike_are_held_against_the_display(made: Plan) -> None:
    """With no spread ten steps of the 0.01 mm display, 0.1 mm, stand for ten SDs."""
    assert ASK not in said(made, 40.69, 0.0)
    assert OUTSIDE in said(made, 40.71, 0.0)


def test_an_sd_beyond_all_the_room_is_questioned(made: Plan) -> None:
    """Between 40.0 and 40.6 there is room of 0.6 mm; with one limit there is no end to it."""
    assert ASK not in said(made, 40.3, 0.59)
    assert f"{WIDE}, {ASK}" in said(made, 40.3, 0.61)
    assert ASK not in said(made, 40.3, 61.0, lower=None)
