"""The bench at one moment: everything that the measuring page needs to go on, after a crash too."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ballbench.errors import NotFound
from ballbench.records.ball_test import BallTest, PlannedQuantity
from ballbench.records.bench_state import BenchState, KeptReading
from ballbench.records.fellows import fellows_of_one
from ballbench.records.written_units import exact_factor
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of, instruments_of, references_of
from ballbench.store.bench import checks_of, last_revision, notebook_name, place_of, places_of, sittings_of
from ballbench.store.readings import open_questions, readings_of
from ballbench.workflows.balls_on_bench import balls_on_bench
from ballbench.workflows.blind import as_shown
from ballbench.workflows.measure import SPOILED_REASONS

__all__ = ["bench_state", "piece_of_place"]


def bench_state(notebook: Notebook, test_id: int) -> BenchState:
    """Give the bench of a test as it stands.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        readings = readings_of(tx, test_id)
        sittings = sittings_of(tx, test_id)
        return BenchState(
            test=_with_believable(tx, as_shown(test), test, readings),
            sitting=next((one for one in reversed(sittings) if one.ended is None), None),
            revision=last_revision(tx, test_id),
            balls=balls_on_bench(tx, test),
            references=references_of(tx, test_id),
            places=places_of(tx, test_id),
            readings=readings,
            questions=open_questions(tx, test_id),
            checks=checks_of(tx, test_id),
            reasons=SPOILED_REASONS,
            notebook=notebook_name(tx),
        )


def piece_of_place(notebook: Notebook, test_id: int, place_id: int) -> str:
    """Name the ball or reference piece that a place is of, ``"ball 7"``; empty: the test has no such place."""
    with notebook.read() as tx:
        try:
            row = place_of(tx, test_id, place_id)
        except NotFound:
            return ""
    return f"ball {row.ball_id}" if row.reference_id is None else f"piece {row.reference_id}"


def _with_believable(tx: Tx, shown: BallTest, test: BallTest, readings: Sequence[KeptReading]) -> BallTest:
    """Add between what a reading raises no question, for a page that has lost its connection."""
    steps = {row.name: (row.resolution, row.unit) for row in instruments_of(tx, test.id)}
    quantities = []
    for bare, whole in zip(shown.quantities, test.quantities, strict=True):
        own = [one for one in readings if one.quantity == whole.name and one.ball is not None and one.stands]
        values = [one.holds for one in own if one.holds is not None]
        step = _step(whole, steps)
        quantities.append(replace(bare, believable=_believable(values, bare, step)))
    return replace(shown, quantities=tuple(quantities))


def _step(quantity: PlannedQuantity, steps: dict[str, tuple[float, str]]) -> float:
    resolution, unit = steps.get(quantity.instrument, (1.0, quantity.unit))
    return resolution * exact_factor(unit, quantity.unit)


def _believable(values: Sequence[float], quantity: PlannedQuantity, step: float) -> tuple[float, float] | None:
    """Give where the readings so far lie, widened as the gate does; else what is allowed, its width on either side.

    Before there are enough readings a blind test has none: it would tell the limits.
    """
    if values:
        median = float(np.median(values))
        fellows = fellows_of_one(median, tuple(values), tuple(values), step, None)
        reach = float(fellows.limit[0] * fellows.spread[0])
        if math.isfinite(reach):
            return float(fellows.centre[0]) - reach, float(fellows.centre[0]) + reach
    lower, upper = quantity.limits
    return None if lower is None or upper is None else (2.0 * lower - upper, 2.0 * upper - lower)
