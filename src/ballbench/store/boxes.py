"""Boxes over all their tests: which there are, in which tests each was, and what was read of its balls.

A blind test that is under way is left out throughout, and so is a box that no other test knows: neither is to tell
whose balls are on the bench. Quick checks are left out too: their ball has no box.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, Select, case, func, or_, select

from ballbench.records.ball_test import Box, Stage
from ballbench.store.amended import LATER, STRUCK, readings_as_amended
from ballbench.store.tables import (
    ball,
    ball_test,
    box,
    make,
    planned_quantity,
    reading,
    submission,
    test_ball,
    test_box,
)

__all__ = [
    "BallNumber",
    "BoxRow",
    "BoxTest",
    "LabelledBall",
    "PlannedInTest",
    "ReadOfBall",
    "balls_of_boxes",
    "box_revisions",
    "box_tests",
    "boxes_known",
    "numbers_in_box",
    "planned_in_box",
    "read_in_box",
]


@dataclass(frozen=True, slots=True)
class BoxRow:
    """A box, and how many balls it has."""

    box: Box
    balls: int


@dataclass(frozen=True, slots=True)
class BoxTest:
    """A test that a box was in.

    Parameters
    ----------
    box, test : int
        Their numbers.
    title, requirement_title, kind : str
        As set up.
    stage : {"set up", "under way", "finished"}
        Where it stands.
    set_up, last_at : str
        When it was set up, and when its last reading was taken as that reading says; empty: none, or not said.
    invented : bool
        Its data are invented.
    """

    box: int
    test: int
    title: str
    requirement_title: str
    kind: str
    stage: Stage
    set_up: str
    last_at: str
    invented: bool


@dataclass(frozen=True, slots=True)
class LabelledBall:
    """A ball by its number in the notebook, with the box it belongs to and its name there."""

    id: int
    box: int
    label: str


@dataclass(frozen=True, slots=True)
class BallNumber:
    """The number that a ball carries in one test."""

    ball: int
    test: int
    number: str


@dataclass(frozen=True, slots=True)
class PlannedInTest:
    """What a test reads: its number, the quantity's name, words, unit, decimals, and whether it is yes or no."""

    test: int
    name: str
    words: str
    unit: str
    decimals: int
    yes_no: bool


@dataclass(frozen=True, slots=True)
class ReadOfBall:
    """What stands of a ball in one test for one quantity.

    Parameters
    ----------
    ball, test : int
        Which.
    quantity : str
        Canonical name.
    readings, yes : int
        How many stand, and how many of those are the answer yes.
    mean : float or None
        Of the numbers, in the base unit; None: the results are answers.
    """

    ball: int
    test: int
    quantity: str
    readings: int
    yes: int
    mean: float | None


def _shown() -> ColumnElement[bool]:
    """Say that a test is one that the pages of boxes may speak of."""
    return (ball_test.c.kind != "quick") & or_(~ball_test.c.blind, ball_test.c.finished.is_not(None))


def _in_shown_tests() -> Select[tuple[int]]:
    chosen: Select[tuple[int]] = select(test_box.c.box_id).join(ball_test, ball_test.c.id == test_box.c.test_id)
    return chosen.where(_shown())


def boxes_known(connection: Connection, only: Collection[int] | None = None) -> tuple[BoxRow, ...]:
    """Give the boxes of the notebook, the newest first.

    Parameters
    ----------
    only : collection of int or None
        Those of these numbers that there are; None: all.
    """
    counts = select(ball.c.box_id, func.count().label("balls")).group_by(ball.c.box_id).subquery()
    chosen = (
        select(box, make.c.name.label("make"), counts.c.balls)
        .join(make, make.c.id == box.c.make_id)
        .join(counts, counts.c.box_id == box.c.id)
        .where(box.c.id.in_(_in_shown_tests()))
        .order_by(box.c.id.desc())
    )
    if only is not None:
        chosen = chosen.where(box.c.id.in_(only))
    return tuple(
        BoxRow(Box(row.id, row.make, row.label, row.bought, row.bought_where, row.price, row.given_by), row.balls)
        for row in connection.execute(chosen)
    )


def box_tests(connection: Connection, only: Collection[int] | None = None) -> tuple[BoxTest, ...]:
    """Give every test of every box, or of these boxes, oldest first."""
    newest = select(func.max(reading.c.id)).where(reading.c.test_id == ball_test.c.id).correlate(ball_test)
    chosen = (
        select(test_box.c.box_id, ball_test, reading.c.id.label("last"), reading.c.at)
        .join(ball_test, ball_test.c.id == test_box.c.test_id)
        .outerjoin(reading, reading.c.id == newest.scalar_subquery())
        .where(_shown())
        .order_by(ball_test.c.id)
    )
    if only is not None:
        chosen = chosen.where(test_box.c.box_id.in_(only))
    return tuple(
        BoxTest(
            box=row.box_id, test=row.id, title=row.title, requirement_title=row.requirement_title, kind=row.kind,
            stage="finished" if row.finished else "under way" if row.last else "set up", set_up=row.set_up,
            last_at=row.at or "", invented=row.invented,
        )
        for row in connection.execute(chosen)
    )  # fmt: skip


def balls_of_boxes(connection: Connection, only: Collection[int]) -> tuple[LabelledBall, ...]:
    """Give the balls of boxes, in the order in which they were written down."""
    chosen = select(ball.c.id, ball.c.box_id, ball.c.label).where(ball.c.box_id.in_(only)).order_by(ball.c.id)
    return tuple(LabelledBall(*row) for row in connection.execute(chosen))


def numbers_in_box(connection: Connection, box_id: int) -> tuple[BallNumber, ...]:
    """Give the number of every ball of a box in every test of it, oldest first."""
    chosen = (
        select(test_ball.c.ball_id, test_ball.c.test_id, test_ball.c.number)
        .join(test_box, test_box.c.test_id == test_ball.c.test_id)
        .join(ball, ball.c.id == test_ball.c.ball_id)
        .join(ball_test, ball_test.c.id == test_ball.c.test_id)
        .where(test_box.c.box_id == box_id, ball.c.box_id == box_id, _shown())
        .order_by(test_ball.c.test_id, test_ball.c.ball_id)
    )
    return tuple(BallNumber(*row) for row in connection.execute(chosen))


def planned_in_box(connection: Connection, box_id: int) -> tuple[PlannedInTest, ...]:
    """Give everything that was planned to be read of a box, oldest first."""
    told = (planned_quantity.c[name] for name in ("test_id", "name", "words", "unit", "decimals", "yes_no"))
    chosen = (
        select(*told)
        .join(test_box, test_box.c.test_id == planned_quantity.c.test_id)
        .join(ball_test, ball_test.c.id == planned_quantity.c.test_id)
        .where(test_box.c.box_id == box_id, _shown())
        .order_by(planned_quantity.c.test_id, planned_quantity.c.rank)
    )
    return tuple(PlannedInTest(*row) for row in connection.execute(chosen))


def box_revisions(connection: Connection, box_id: int) -> tuple[tuple[int, int], ...]:
    """Give every test of a box, hidden ones too, with the number of the last thing that happened in it."""
    chosen = (
        select(test_box.c.test_id, func.max(submission.c.id))
        .join(submission, submission.c.test_id == test_box.c.test_id)
        .where(test_box.c.box_id == box_id)
        .group_by(test_box.c.test_id)
        .order_by(test_box.c.test_id)
    )
    return tuple((test, last) for test, last in connection.execute(chosen))


def read_in_box(connection: Connection, box_id: int) -> tuple[ReadOfBall, ...]:
    """Give what stands of every ball of a box, test by test and quantity by quantity, corrections put in."""
    corrected = LATER.c.action == "correct"
    value = case((corrected & LATER.c.value.is_not(None), LATER.c.value), else_=reading.c.value)
    answer = case((corrected & LATER.c.answer.is_not(None), LATER.c.answer), else_=reading.c.answer)
    own = select(ball.c.id).where(ball.c.box_id == box_id)
    shown = select(ball_test.c.id).join(test_box, test_box.c.test_id == ball_test.c.id)
    chosen = (
        select(
            reading.c.ball_id, reading.c.test_id, reading.c.quantity, func.count(),
            func.sum(case((answer, 1), else_=0)), func.avg(value),
        )
        .select_from(readings_as_amended())
        .where(reading.c.ball_id.in_(own), reading.c.test_id.in_(shown.where(test_box.c.box_id == box_id, _shown())))
        .where(or_(LATER.c.action.is_(None), LATER.c.action.not_in(STRUCK)))
        .group_by(reading.c.ball_id, reading.c.test_id, reading.c.quantity)
        .order_by(reading.c.test_id, reading.c.ball_id, reading.c.quantity)
    )  # fmt: skip
    return tuple(
        ReadOfBall(one, test, quantity, int(count), int(yes), None if mean is None else float(mean))
        for one, test, quantity, count, yes, mean in connection.execute(chosen)
    )
