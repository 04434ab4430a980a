"""What happened to the balls of a test before its readings, in other tests that had them too.

Acts are put in order by the numbers of their submissions: the order in which the notebook heard of them. What came
before the last reading of a ball in the test counts; what came later belongs to later tests. A ball that is not read
yet has had everything so far; in a finished test, what came before the test's last reading of any ball.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, Subquery, func, literal, or_, select

from ballbench.store.tables import attempt, ball_test, mark, place, reading, submission, test_ball, test_box

__all__ = ["Earlier", "earlier_of"]

_NEWEST = 2**31 - 1
"""Within its own transaction an act has no number yet, and is the newest of all."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """What one ball had in other tests.

    Parameters
    ----------
    impacts : int
        Those that were counted or noted.
    counted : bool
        False: the ball came with a file that says nothing of its impacts, so that there were others.
    opened : str or None
        When its can was opened, ISO 8601; None: not noted.
    """

    impacts: int = 0
    counted: bool = True
    opened: str | None = None


@dataclass(frozen=True, slots=True)
class _Before:
    """The balls of a test, its other tests, and until when acts count for each ball."""

    own: Select[tuple[int]]
    others: tuple[int, ...]
    until: Subquery
    rest: int

    def counts(self, of_ball: ColumnElement[Any], test: ColumnElement[Any]) -> tuple[ColumnElement[bool], ...]:
        """Say that an act of another test came soon enough; `until` is joined to it by the ball."""
        came = submission.c.id < func.coalesce(self.until.c.came, literal(self.rest))
        return (of_ball.in_(self.own), test.in_(self.others), came)


def earlier_of(
    connection: Connection, test_id: int, drops: Collection[str], ball_id: int | None = None
) -> dict[int, Earlier]:
    """Give what the balls of a test had in other tests; a ball that was in none is left out.

    Parameters
    ----------
    test_id : int
        Which test.
    drops : collection of str
        Quantities whose every reading, and every spoiled attempt, is an impact.
    ball_id : int or None
        The only ball that is asked about; None: all.
    """
    kinds = _other_tests(connection, test_id)
    if not kinds:
        return {}
    own = select(test_ball.c.ball_id).where(test_ball.c.test_id == test_id)
    if ball_id is not None:
        own = own.where(test_ball.c.ball_id == ball_id)
    until, rest = _until(connection, test_id)
    before = _Before(own, tuple(kinds), until, rest)
    measured = _Before(own, tuple(test for test, kind in kinds.items() if kind != "taken in"), until, rest)
    impacts = Counter(_drops(connection, measured, drops))
    noted: set[tuple[int, int]] = set()
    opened: dict[int, str] = {}
    for row in _marks(connection, before):
        if row.kind == "opened":
            opened[row.ball_id] = row.at
        else:
            noted.add((row.ball_id, row.test_id))
            impacts[row.ball_id] += round(row.value)
    chosen = select(test_ball.c.ball_id, test_ball.c.test_id)
    both = connection.execute(chosen.where(test_ball.c.ball_id.in_(own), test_ball.c.test_id.in_(kinds))).all()
    unknown = {one for one, test in both if kinds[test] == "taken in" and (one, test) not in noted}
    return {one: Earlier(impacts[one], one not in unknown, opened.get(one)) for one in {row.ball_id for row in both}}


def _other_tests(connection: Connection, test_id: int) -> dict[int, str]:
    """Give the tests that have a box in common with a test, each with its kind; a box brings all of its balls."""
    boxes = select(test_box.c.box_id).where(test_box.c.test_id == test_id)
    chosen = (
        select(ball_test.c.id, ball_test.c.kind)
        .join(test_box, test_box.c.test_id == ball_test.c.id)
        .where(test_box.c.box_id.in_(boxes), ball_test.c.id != test_id)
        .distinct()
        .order_by(ball_test.c.id)
    )
    return dict(connection.execute(chosen).all())


def _until(connection: Connection, test_id: int) -> tuple[Subquery, int]:
    """Give the act of each ball's last reading in a test, and what holds for the balls that were not read."""
    came = func.max(func.coalesce(submission.c.id, _NEWEST))
    read = select(reading.c.ball_id, came.label("came")).outerjoin(submission, submission.c.key == reading.c.key)
    until = read.where(reading.c.test_id == test_id, reading.c.ball_id.is_not(None)).group_by(reading.c.ball_id)
    finished = select(ball_test.c.finished).where(ball_test.c.id == test_id)
    if connection.execute(finished).scalar_one() is None:
        return until.subquery(), _NEWEST
    of_test = select(came).select_from(reading).outerjoin(submission, submission.c.key == reading.c.key)
    last = connection.execute(of_test.where(reading.c.test_id == test_id)).scalar_one()
    begun = select(func.min(submission.c.id)).where(submission.c.test_id == test_id)
    return until.subquery(), int(last or connection.execute(begun).scalar_one())


def _drops(connection: Connection, before: _Before, drops: Collection[str]) -> dict[int, int]:
    """Count readings and spoiled attempts of each ball that were drops."""
    read = (
        select(reading.c.ball_id, func.count())
        .join(submission, submission.c.key == reading.c.key)
        .outerjoin(before.until, before.until.c.ball_id == reading.c.ball_id)
        .where(reading.c.quantity.in_(drops), *before.counts(reading.c.ball_id, reading.c.test_id))
    )
    spoiled = (
        select(place.c.ball_id, func.count())
        .join(attempt, attempt.c.place_id == place.c.id)
        .join(submission, submission.c.key == attempt.c.key)
        .outerjoin(before.until, before.until.c.ball_id == place.c.ball_id)
        .where(place.c.quantity.in_(drops), attempt.c.kind == "spoiled")
        .where(*before.counts(place.c.ball_id, attempt.c.test_id))
    )
    counts: Counter[int] = Counter()
    for chosen, of_ball in ((read, reading.c.ball_id), (spoiled, place.c.ball_id)):
        counts.update(dict(connection.execute(chosen.group_by(of_ball)).all()))
    return counts


def _marks(connection: Connection, before: _Before) -> list[Any]:
    """Give what was noted of impacts and opened cans, a line a ball, oldest first."""
    own = (test_ball.c.test_id == mark.c.test_id) & or_(mark.c.ball_id.is_(None), mark.c.ball_id == test_ball.c.ball_id)
    chosen = (
        select(test_ball.c.ball_id, mark.c.test_id, mark.c.kind, mark.c.value, mark.c.at)
        .join(test_ball, own)
        .join(submission, submission.c.key == mark.c.key)
        .outerjoin(before.until, before.until.c.ball_id == test_ball.c.ball_id)
        .where(mark.c.kind.in_(("impact", "opened")), *before.counts(test_ball.c.ball_id, mark.c.test_id))
        .order_by(mark.c.id)
    )
    return list(connection.execute(chosen).all())
