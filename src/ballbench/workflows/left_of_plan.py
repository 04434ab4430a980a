"""What a test planned and did not take: said by whatever ends it early."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.wording import plural
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of
from ballbench.workflows.how_far import how_far

__all__ = ["LeftOfPlan", "left_of_plan", "left_of_test"]

_STUDY = "What a repeat study tells rests on its repeats; with few of them it tells little."
_TEST = "What was read is judged."


@dataclass(frozen=True, slots=True)
class LeftOfPlan:
    """What of a plan was not taken.

    Parameters
    ----------
    readings, checks : int
        Places of balls, and of reference pieces, that hold no standing reading.
    said : str
        The same in words, and what that means; empty: everything planned is read.
    """

    readings: int
    checks: int
    said: str


def left_of_plan(tx: Tx, test: BallTest) -> LeftOfPlan:
    """Give what a test planned and did not take."""
    far = how_far(tx, test.id)
    readings, checks = max(far.planned - far.read, 0), max(far.checks_planned - far.checks_read, 0)
    parts = (plural(readings, "reading") if readings else "", plural(checks, "instrument check") if checks else "")
    words = " and ".join(filter(None, parts))
    return LeftOfPlan(
        readings, checks, f"Not taken of the plan: {words}. {_STUDY if test.purpose else _TEST}" if words else ""
    )


def left_of_test(notebook: Notebook, test_id: int) -> LeftOfPlan:
    """Give the same of a test by its number.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        return left_of_plan(tx, ball_test_of(tx, test_id))
