from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pytest
from made_tests import RULE, a_set_up, new_test, put
from scipy import stats

from ballbench.records.bench_state import BenchState, Place
from ballbench.specs import catalogue_ids
from ballbench.store import Notebook
from ballbench.store.ball_tests import balls_of
from ballbench.workflows.bench import bench_state
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan, set_up_test
from ballbench.workflows.what_to_read import base_units, suggested_quantities, yes_no_quantities

SEEDS = 250


def order_of(state: BenchState) -> list[Place]:
    """The places in the order in which they are read."""
    return sorted(state.places, key=lambda place: place.order)


@pytest.mark.parametrize("blind", [True, False])
def test_every_planned_place_is_there_once(notebook: Notebook, *, blind: bool) -> None:
    """Two makes of three balls: two axes of diameter, mass, two rebounds and a crack each; the piece three times."""
    state = bench_state(notebook, new_test(notebook, blind=blind).id)
    wanted = Counter(
        (ball.id, None, quantity, axis, repeat)
        for ball in state.balls
        for quantity, axes, repeats in (("diameter", ("seam", "across"), 1), ("mass", ("",), 1), ("rebound", ("",), 2),
                                        ("crack", ("",), 1))
        for axis, repeat in itertools.product(axes, range(1, repeats + 1))
    )  # fmt: skip
    (piece,) = state.references
    wanted.update((None, piece.id, "diameter", moment, n) for n, moment in enumerate(("start", "middle", "end"), 1))
    found = Counter((one.ball, one.reference, one.quantity, one.axis, one.repeat) for one in state.places)
    assert found == wanted
    assert [one.order for one in order_of(state)] == list(range(1, len(state.places) + 1))
    assert sorted(one.sheet_order for one in state.places) == [one.order for one in order_of(state)]
    assert list(state.places) == order_of(state)


def test_the_order_at_the_bench(notebook: Notebook) -> None:
    """Gentle tests first whatever the order asked for; a ball stays in the hand for its axes; the piece around them."""
    wanted = (QuantityPlan("rebound", (), 2, "phone"), *a_set_up().quantities[:2], QuantityPlan("crack"))
    state = bench_state(notebook, new_test(notebook, quantities=wanted).id)
    places = order_of(state)
    assert [name for name, _ in itertools.groupby(one.quantity for one in places)] == [
        "diameter", "mass", "crack", "rebound",
    ]  # fmt: skip
    diameters = [one for one in places if one.quantity == "diameter"]
    assert [position for position, one in enumerate(diameters) if one.reference is not None] == [0, 7, 14]
    in_hand = [(one.ball, one.axis) for one in diameters if one.ball is not None]
    for seam, across in zip(in_hand[::2], in_hand[1::2], strict=True):
        assert seam[0] == across[0]
        assert (seam[1], across[1]) == ("seam", "across")
    rebounds = [one for one in places if one.quantity == "rebound"]
    assert [one.repeat for one in rebounds] == [1] * 6 + [2] * 6
    assert {one.ball for one in rebounds[:6]} == {one.ball for one in rebounds[6:]} == {ball.id for ball in state.balls}


STEPS = (("diameter", "mass", "circumference"), ("rebound", "bounce_restitution"), ("deformation", "hardness"))
"""Sizes and mass, then drops, then loads (common practice, no source)."""


def test_what_can_harm_a_ball_comes_last(notebook: Notebook) -> None:
    """All the trade's quantities, and those of every requirement of the catalogue, asked for the other way round."""
    own = [name for step in STEPS for name in step]
    wanted = {RULE: own, **{identity: [] for identity in catalogue_ids()}}
    for identity, given in wanted.items():
        requirement, _ = requirement_of(identity)
        units, yes_no = base_units(requirement), yes_no_quantities(requirement)
        names = given or [name for name, _, _ in suggested_quantities(requirement)]
        if not names:
            continue
        plans = tuple(QuantityPlan(name, (), 1, "" if name in yes_no else name) for name in reversed(names))
        tools = tuple(InstrumentPlan(name, name, units[name], 0.01) for name in names if name not in yes_no)
        made = new_test(notebook, requirement=identity, quantities=plans, instruments=tools, references=())
        order = [one.name for one in made.quantities]
        assert sorted(order) == sorted(names)
        assert [one.rank for one in made.quantities] == list(range(1, len(names) + 1))
        steps = [step for name in order for step, known in enumerate(STEPS) if name in known]
        assert steps == sorted(steps), identity


def test_the_seed_is_kept_and_makes_the_order(notebook: Notebook) -> None:
    """The same seed gives the same order and numbers, another seed another; without one a seed is drawn and kept."""

    def shape(seed: int | None) -> tuple[int, list[tuple[str, str, int]], list[str]]:
        made = new_test(notebook, seed=seed, blind=True)
        state = bench_state(notebook, made.id)
        numbers = {ball.id: ball.number for ball in state.balls}
        with notebook.read() as tx:
            boxed = [(row.number, row.make, row.label) for row in balls_of(tx, made.id)]
        turns = [(numbers.get(one.ball or 0, ""), one.quantity, one.repeat) for one in order_of(state)]
        return made.seed, turns, sorted(map(str, boxed))

    assert shape(5) == shape(5)
    assert shape(5)[1:] != shape(6)[1:]
    drawn = [shape(None)[0] for _ in range(3)]
    assert len(set(drawn)) == 3
    assert all(0 <= seed < 2**31 for seed in drawn)
    assert shape(drawn[0]) == shape(drawn[0])


def test_no_number_and_no_place_of_a_blind_test_tells_the_box(notebook: Notebook) -> None:
    """Over 250 seeds: numbers, row numbers and places of the first make's balls are spread evenly, p above 0.001."""
    makes = tuple(MakePlan(name, (BoxPlan("1", 3),)) for name in ("Curlew", "Dunlin"))
    told: dict[str, Counter[int]] = {"number": Counter(), "row": Counter(), "place": Counter()}
    for seed in range(SEEDS):
        request = a_set_up(
            makes=makes, quantities=(QuantityPlan("crack"),), instruments=(), references=(), blind=True, seed=seed
        )
        test = set_up_test(notebook, request).id
        state = bench_state(notebook, test)
        assert state.test.boxes == ()
        assert not any(ball.make or ball.box or ball.label != ball.number for ball in state.balls)
        with notebook.read() as tx:
            first = {row.id for row in balls_of(tx, test) if row.make == "Curlew"}
        by_row = sorted(ball.id for ball in state.balls)
        for ball in state.balls:
            if ball.id in first:
                told["number"][int(ball.number)] += 1
                told["row"][by_row.index(ball.id)] += 1
        told["place"].update(position for position, one in enumerate(order_of(state)) if one.ball in first)
    for name, counts in told.items():
        assert sum(counts.values()) == 3 * SEEDS
        # Three of six are drawn without putting back, so that counts scatter less than those of a die: 3 SEEDS times
        # the usual sum of squares, times (6 - 1) / (6 - 3), is chi-squared with 5 degrees of freedom.
        mean = SEEDS / 2
        statistic = sum((counts[key] - mean) ** 2 for key in counts) / mean * (5 / 3) if len(counts) == 6 else np.inf
        assert stats.chi2.sf(statistic, 5) > 0.001, name


def test_a_test_keeps_what_was_asked_for(notebook: Notebook) -> None:
    """Title, requirement with its text, rule, risk, boxes with where they come from, and pieces, years later too."""
    makes = (
        MakePlan(
            "Curlew",
            (BoxPlan("C-1", 2, ("x", "y"), "2026-11-01", "a shop", "12.50", ""), BoxPlan("C-2", 1, given_by="M")),
        ),
    )
    made = new_test(notebook, makes=makes, rule="simple", risk=0.1, title=" Evening ", blind=False)
    assert (made.title, made.rule, made.risk, made.stage, made.kind) == ("Evening", "simple", 0.1, "set up", "whole")
    assert [(one.label, one.bought, one.where, one.price, one.given_by) for one in made.boxes] == [
        ("C-1", "2026-11-01", "a shop", "12.50", ""), ("C-2", "", "", "", "M"),
    ]  # fmt: skip
    with notebook.read() as tx:
        kept = tx.exec_driver_sql("SELECT requirement_text FROM ball_test").scalar()
    assert kept == RULE
    assert new_test(notebook, title="").title == "Match ball of the winter league (invented)"


def test_a_box_of_the_same_make_is_another_box_in_another_test(notebook: Notebook) -> None:
    """The make is one; its boxes and balls are those of each test, and readings of one are none of the other."""
    first, second = (new_test(notebook).id for _ in range(2))
    put(notebook, first, next(one.id for one in bench_state(notebook, first).places if one.quantity == "crack"), "no")
    one, other = (bench_state(notebook, test) for test in (first, second))
    assert not {ball.id for ball in one.balls} & {ball.id for ball in other.balls}
    assert (len(one.readings), len(other.readings)) == (1, 0)
