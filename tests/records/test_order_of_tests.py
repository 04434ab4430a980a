from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ballbench.findings.cautions import cautions_for
from ballbench.quantities.kinds import KINDS
from ballbench.records.test_order import caution_for, order_of, step_of

STATED = (
    ("mass", "diameter", "circumference", "outline_form"),
    ("veer",),
    ("crack_inspection", "ring_fall", "holes"),
    ("rebound", "bounce_restitution", "resilience_23", "drop_test"),
    ("deformation", "deformation_forward", "stiffness"),
    ("hardness", "shore_d"),
)
"""Sizes and mass, rolling, what a requirement declares, drops, loads, hardness (common practice, no source)."""


@given(st.permutations([name for step in STATED for name in step]))
def test_however_they_are_given_the_harder_test_comes_later(names: list[str]) -> None:
    """Any two quantities of different steps stand in the stated order; those of one step keep the order given."""
    ordered = order_of(names)
    assert sorted(ordered) == sorted(names)
    for earlier, later in itertools.combinations(STATED, 2):
        assert max(ordered.index(name) for name in earlier) < min(ordered.index(name) for name in later)
    for step in STATED:
        assert [name for name in ordered if name in step] == [name for name in names if name in step]


def test_what_wears_or_tears_a_ball_comes_after_everything_else() -> None:
    """Readings after impacts or water follow the loads, and a seam is torn last."""
    names = ("seam_strength", "water_uptake", "roundness_after", "hardness", "roundness", "mass")
    assert order_of(names) == ("roundness", "mass", "hardness", "water_uptake", "roundness_after", "seam_strength")


@pytest.mark.parametrize("quantity", sorted(KINDS))
def test_every_quantity_of_the_trade_has_a_step_of_its_own(quantity: str) -> None:
    """None of the trade's own quantities is taken for a declared one."""
    assert step_of(quantity) != step_of("crack_inspection")


def test_cautions_name_the_danger() -> None:
    """Drops: a fixed stand and eye protection; loads: guards and fingers; sizes need none (house rule)."""
    for name in ("rebound", "bounce_restitution", "resilience_45"):
        assert "fixed stand, never from a chair" in caution_for(name)
        assert "eye protection" in caution_for(name)
    for name in ("hardness", "deformation", "stiffness", "shore_d", "seam_strength"):
        assert "guard them, eyes and fingers away" in caution_for(name)
    for name in ("pressure", "pressure_loss"):
        assert "no over-inflation" in caution_for(name)
    assert {caution_for(name) for name in ("mass", "diameter", "veer", "outline_form", "crack_inspection")} == {""}


def test_a_result_says_each_caution_once_and_in_the_words_of_the_bench() -> None:
    """What the bench says while a quantity is read stands with the result, once however many quantities share it."""
    told = cautions_for(None, ["diameter", "rebound", "bounce_restitution", "deformation", "hardness"])
    assert told[:2] == (caution_for("rebound"), caution_for("hardness"))
    assert len(set(told)) == len(told)
