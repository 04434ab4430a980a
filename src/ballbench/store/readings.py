"""Write and read readings, what was tried and is none, and what was said of readings later."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, func, select

from ballbench.errors import Fault, NotFound
from ballbench.records.bench_state import KeptReading, OpenQuestion, Standing
from ballbench.store.amended import LATER, STRUCK, readings_as_amended
from ballbench.store.doubt import in_doubt
from ballbench.store.inserting import inserted
from ballbench.store.tables import (
    amendment,
    attempt,
    ball,
    box,
    instrument,
    place,
    reading,
    submission,
    test_ball,
)

__all__ = [
    "Fellow",
    "Taken",
    "amendments_of",
    "asked_of",
    "attempts_of",
    "fellows_of",
    "last_entry",
    "next_repeat",
    "open_questions",
    "reading_of",
    "readings_of",
    "spoiled_balls",
    "standing_at",
    "taken_of",
    "write_amendment",
    "write_attempt",
    "write_reading",
]

_STANDING: dict[str | None, Standing] = {
    "take back": "taken back",
    "exclude": "excluded",
    "correct": "corrected",
    "keep": "kept",
}


def write_reading(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write a reading, as the columns of `reading`, and give its number."""
    return inserted(connection, reading, row)


def write_attempt(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write an attempt that gave no reading."""
    return inserted(connection, attempt, row)


def write_amendment(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write what was said of a reading later."""
    return inserted(connection, amendment, row)


def next_repeat(connection: Connection, place: Row[Any]) -> int:
    """Give the number that the next reading of a place's ball and axis has, from 1."""
    last = connection.execute(
        select(func.max(reading.c.repeat)).where(
            reading.c.test_id == place.test_id,
            reading.c.ball_id == place.ball_id if place.ball_id is not None else reading.c.ball_id.is_(None),
            reading.c.reference_id == place.reference_id
            if place.reference_id is not None
            else reading.c.reference_id.is_(None),
            reading.c.quantity == place.quantity,
            reading.c.axis == place.axis,
        )
    ).scalar_one_or_none()
    return (last or 0) + 1


@dataclass(frozen=True, slots=True)
class Fellow:
    """A number that stands: whose it is, and the value that holds, in the base unit."""

    ball: int | None
    reference: int | None
    axis: str
    value: float


def fellows_of(connection: Connection, at: Row[Any], most: int) -> tuple[Fellow, ...]:
    """Give the latest numbers that stand beside a place: of the same make, or of the same reference piece.

    Parameters
    ----------
    at : Row
        The place.
    most : int
        At most so many, the latest of them.
    """
    chosen = (
        select(
            reading.c.ball_id, reading.c.reference_id, reading.c.axis, reading.c.value, LATER.c.action, LATER.c.value
        )
        .select_from(readings_as_amended())
        .where(reading.c.test_id == at.test_id, reading.c.quantity == at.quantity, reading.c.value.is_not(None))
        .order_by(reading.c.id.desc())
        .limit(most)
    )
    if at.ball_id is None:
        chosen = chosen.where(reading.c.reference_id == at.reference_id)
    else:
        own = select(box.c.make_id).join(ball, ball.c.box_id == box.c.id).where(ball.c.id == at.ball_id)
        alike = select(ball.c.id).join(box, box.c.id == ball.c.box_id)
        alike = alike.join(test_ball, test_ball.c.ball_id == ball.c.id).where(test_ball.c.test_id == at.test_id)
        chosen = chosen.where(reading.c.ball_id.in_(alike.where(box.c.make_id == own.scalar_subquery())))
    return tuple(
        Fellow(of_ball, piece, axis, right if action == "correct" and right is not None else value)
        for of_ball, piece, axis, value, action, right in connection.execute(chosen)
        if action not in STRUCK
    )


def readings_of(connection: Connection, test_id: int) -> tuple[KeptReading, ...]:
    """Give every reading of a test in the order in which they came."""
    return tuple(_kept(connection, test_id, reading.c.test_id == test_id))


@dataclass(frozen=True, slots=True)
class Taken:
    """That a reading was taken: of which ball, None for a reference piece, of what, and when."""

    ball: int | None
    quantity: str
    at: str


def taken_of(connection: Connection, test_id: int, ball_id: int | None = None) -> tuple[Taken, ...]:
    """Give that readings were taken, those of one ball or all, in the order in which they came."""
    chosen = select(reading.c.ball_id, reading.c.quantity, reading.c.at).where(reading.c.test_id == test_id)
    if ball_id is not None:
        chosen = chosen.where(reading.c.ball_id == ball_id)
    return tuple(Taken(*row) for row in connection.execute(chosen.order_by(reading.c.id)))


def reading_of(connection: Connection, test_id: int, reading_id: int) -> KeptReading:
    """Give one reading of a test.

    Raises
    ------
    NotFound
        The test has none of that number.
    """
    found = next(_kept(connection, test_id, (reading.c.id == reading_id) & (reading.c.test_id == test_id)), None)
    if found is None:
        missing = f"no reading {reading_id} in this test"
        raise NotFound(Fault("reading", missing, "a reading of this test", "load the page again"))
    return found


def standing_at(connection: Connection, test_id: int, place_id: int) -> tuple[KeptReading, ...]:
    """Give the readings of a place of a test that were neither taken back nor excluded."""
    found = _kept(connection, test_id, reading.c.place_id == place_id)
    return tuple(one for one in found if one.stands)


def last_entry(connection: Connection, test_id: int, client: str) -> tuple[str, str] | None:
    """Give text and time of the test's last reading where a client sent it; None: another did, or there is none."""
    chosen = select(reading.c.text, reading.c.at, reading.c.client).where(reading.c.test_id == test_id)
    row = connection.execute(chosen.order_by(reading.c.id.desc()).limit(1)).one_or_none()
    return (row.text, row.at) if row is not None and row.client == client else None


def _kept(connection: Connection, test_id: int, which: ColumnElement[bool]) -> Iterator[KeptReading]:
    chosen = (
        select(
            reading, LATER.c.action, LATER.c.value.label("right"),
            LATER.c.text.label("right_text"), LATER.c.unit.label("right_unit"), LATER.c.reason,
            instrument.c.name.label("instrument"),
        )
        .select_from(readings_as_amended().outerjoin(instrument, instrument.c.id == reading.c.instrument_id))
        .where(which)
        .order_by(reading.c.id)
    )  # fmt: skip
    rows = connection.execute(chosen).all()
    if not rows:
        return
    doubted = in_doubt(connection, test_id, which)
    for row in rows:
        yield KeptReading(
            id=row.id, place=row.place_id, ball=row.ball_id, reference=row.reference_id, quantity=row.quantity,
            axis=row.axis, repeat=row.repeat, text=row.text, value=row.value, answer=row.answer, unit=row.unit,
            sitting=row.sitting_id, by=row.by, at=row.at, standing=_STANDING.get(row.action, "kept"),
            corrected=row.right, corrected_text=row.right_text or "", corrected_unit=row.right_unit or "",
            reason=row.reason or "", confirmed=row.confirmed, touched=row.id in doubted,
            instrument=row.instrument or "", note=row.note,
        )  # fmt: skip


def asked_of(connection: Connection, test_id: int, key: str) -> Row[Any] | None:
    """Give the attempt that the gate asked about under a key; None: there is none."""
    chosen = select(attempt).where(attempt.c.key == key, attempt.c.test_id == test_id, attempt.c.kind == "asked")
    return connection.execute(chosen).one_or_none()


def attempts_of(connection: Connection, test_id: int) -> tuple[Row[Any], ...]:
    """Give every attempt of a test that gave no reading."""
    return tuple(connection.execute(select(attempt).where(attempt.c.test_id == test_id).order_by(attempt.c.id)).all())


def spoiled_balls(connection: Connection, test_id: int) -> tuple[tuple[int, str], ...]:
    """Give ball and quantity of every spoiled attempt of a test at a place of its own."""
    chosen = (
        select(place.c.ball_id, place.c.quantity)
        .join(attempt, attempt.c.place_id == place.c.id)
        .where(attempt.c.test_id == test_id, attempt.c.kind == "spoiled", place.c.ball_id.is_not(None))
    )
    return tuple((ball_id, quantity) for ball_id, quantity in connection.execute(chosen))


def open_questions(connection: Connection, test_id: int) -> tuple[OpenQuestion, ...]:
    """Give the entries that were asked about and that nothing came after at their place."""
    tried = (
        select(attempt, submission.c.id.label("came"))
        .join(submission, submission.c.key == attempt.c.key)
        .where(attempt.c.test_id == test_id)
        .order_by(attempt.c.id)
    )
    last = {row.place_id: row for row in connection.execute(tried)}
    if not last:
        return ()
    later = select(submission.c.id).where(submission.c.key == reading.c.key).scalar_subquery()
    places = select(attempt.c.place_id).where(attempt.c.test_id == test_id)
    read = select(reading.c.place_id, func.max(later)).where(reading.c.place_id.in_(places))
    answered: dict[int, int] = dict(connection.execute(read.group_by(reading.c.place_id)).all())
    return tuple(
        OpenQuestion(row.key, row.place_id, row.text, row.unit, row.why, row.by, row.at)
        for row in last.values()
        if row.kind == "asked" and answered.get(row.place_id, 0) < row.came
    )


def amendments_of(connection: Connection, test_id: int) -> tuple[Row[Any], ...]:
    """Give everything that was said of the readings of a test, oldest first."""
    chosen = select(amendment).where(amendment.c.test_id == test_id).order_by(amendment.c.id)
    return tuple(connection.execute(chosen).all())
