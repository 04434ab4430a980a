"""Read and write the bench: sittings, places, marks and instrument checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, func, select, update

from ballbench.errors import Fault, NotFound
from ballbench.records.ball_test import Sitting
from ballbench.records.bench_state import CheckResult, Place
from ballbench.store.amended import LATER, STRUCK, readings_as_amended, stands
from ballbench.store.doubt import doubts_of, touched_by
from ballbench.store.inserting import inserted
from ballbench.store.moments import seconds_of
from ballbench.store.tables import (
    attempt,
    ball_test,
    identity,
    instrument,
    instrument_check,
    mark,
    place,
    planned_quantity,
    reading,
    reference_piece,
    sitting,
    submission,
    test_ball,
)

__all__ = [
    "add_place",
    "begin_sitting",
    "checks_of",
    "end_sitting",
    "finish_test",
    "last_revision",
    "marks_of",
    "notebook_name",
    "open_sitting",
    "place_of",
    "places_of",
    "put_off",
    "sitting_spans",
    "sittings_of",
    "write_check",
    "write_mark",
    "written_place",
]


def place_of(connection: Connection, test_id: int, place_id: int) -> Row[Any]:
    """Give the row of one place of a test.

    Raises
    ------
    NotFound
        The test has none of that number.
    """
    row = connection.execute(select(place).where(place.c.id == place_id, place.c.test_id == test_id)).one_or_none()
    if row is None:
        missing = f"no place {place_id} in this test"
        raise NotFound(Fault("place", missing, "a place of this test", "load the page again"))
    return row


def places_of(connection: Connection, test_id: int) -> tuple[Place, ...]:
    """Give the places of a test in their shuffled order."""
    return _places(connection, test_id, place.c.test_id == test_id, _filled(connection, reading.c.test_id == test_id))


def written_place(connection: Connection, test_id: int, place_id: int) -> Place:
    """Give one place as it stands now."""
    filled = _filled(connection, reading.c.place_id == place_id)
    return _places(connection, test_id, place.c.id == place_id, filled)[0]


def _places(connection: Connection, test_id: int, which: ColumnElement[bool], filled: set[int]) -> tuple[Place, ...]:
    tried = select(attempt.c.place_id, func.count()).where(attempt.c.test_id == test_id, attempt.c.kind == "spoiled")
    spoiled: dict[int | None, int] = dict(connection.execute(tried.group_by(attempt.c.place_id)).all())
    chosen = select(place).where(which, place.c.test_id == test_id).order_by(place.c.position, place.c.id)
    return tuple(
        Place(
            id=row.id, ball=row.ball_id, reference=row.reference_id, quantity=row.quantity, axis=row.axis,
            repeat=row.repeat, order=row.position, sheet_order=row.sheet_position, put_off=row.put_off,
            filled=row.id in filled, spoiled=spoiled.get(row.id, 0), why=row.why,
            person=row.person,
        )
        for row in connection.execute(chosen)
    )  # fmt: skip


def _filled(connection: Connection, which: ColumnElement[bool]) -> set[int]:
    """Give the places that hold a reading which stands."""
    rows = connection.execute(
        select(reading.c.place_id, LATER.c.action).select_from(readings_as_amended()).where(which)
    )
    return {place_id for place_id, action in rows if action not in STRUCK}


def put_off(connection: Connection, place_id: int) -> None:
    """Leave a place for later: it goes behind all others."""
    connection.execute(update(place).where(place.c.id == place_id).values(put_off=place.c.put_off + 1))


def add_place(connection: Connection, row: Mapping[str, Any]) -> int:
    """Add a place of a ball behind all others of the test and give its number.

    Raises
    ------
    NotFound
        The ball is none of the test.
    """
    test, ball = row["test_id"], row["ball_id"]
    on_bench = select(test_ball.c.ball_id).where(test_ball.c.test_id == test, test_ball.c.ball_id == ball)
    if connection.execute(on_bench).one_or_none() is None:
        raise NotFound(Fault("ball", f"no ball {ball} in this test", "a ball of this test", "load the page again"))
    last = connection.execute(
        select(func.max(place.c.position), func.max(place.c.sheet_position)).where(place.c.test_id == test)
    ).one()
    planned = select(func.max(place.c.repeat)).where(
        place.c.test_id == test, place.c.ball_id == ball, place.c.quantity == row["quantity"],
        place.c.axis == row["axis"],
    )  # fmt: skip
    repeat = (connection.execute(planned).scalar_one() or 0) + 1
    new = {**row, "repeat": repeat, "position": (last[0] or 0) + 1, "sheet_position": (last[1] or 0) + 1}
    return inserted(connection, place, new)


def open_sitting(connection: Connection, test_id: int) -> Row[Any] | None:
    """Give the row of the sitting that goes on; None: there is none."""
    chosen = (
        select(sitting).where(sitting.c.test_id == test_id, sitting.c.ended.is_(None)).order_by(sitting.c.id.desc())
    )
    return connection.execute(chosen.limit(1)).one_or_none()


def sitting_spans(connection: Connection, test_id: int) -> Sequence[Row[Any]]:
    """Give the rows of the sittings of a test in the order in which they came to be."""
    chosen: Select[Any] = select(sitting).where(sitting.c.test_id == test_id).order_by(sitting.c.id)
    return connection.execute(chosen).all()


def begin_sitting(connection: Connection, test_id: int, kind: str, label: str, by: str, at: str) -> int:
    """Begin a sitting and give its number; an empty label is the next counting number."""
    labels = set(connection.execute(select(sitting.c.label).where(sitting.c.test_id == test_id)).scalars())
    number = len(labels) + 1
    while not label:
        label = str(number) if str(number) not in labels else ""
        number += 1
    row = {"test_id": test_id, "label": label, "kind": kind, "begun_by": by, "begun": at}
    return inserted(connection, sitting, row)


def end_sitting(connection: Connection, sitting_id: int, at: str) -> None:
    """End a sitting."""
    connection.execute(update(sitting).where(sitting.c.id == sitting_id).values(ended=at))


def sittings_of(connection: Connection, test_id: int) -> tuple[Sitting, ...]:
    """Give the sittings of a test, oldest first, with who read in them and the last temperatures."""
    people: dict[int, list[str]] = {}
    first = func.min(reading.c.id)
    for sitting_id, by, _ in connection.execute(
        select(reading.c.sitting_id, reading.c.by, first)
        .where(reading.c.test_id == test_id)
        .group_by(reading.c.sitting_id, reading.c.by)
        .order_by(first)
    ):
        people.setdefault(sitting_id, []).append(by)
    felt: dict[tuple[int, str], float] = {}
    for row in marks_of(connection, test_id):
        if row.sitting_id is not None and row.kind in {"air temperature", "ball temperature"}:
            felt[row.sitting_id, row.kind] = row.value
    chosen = select(sitting).where(sitting.c.test_id == test_id).order_by(sitting.c.id)
    return tuple(
        Sitting(
            id=row.id, label=row.label, kind=row.kind, by=tuple(people.get(row.id, [row.begun_by])), begun=row.begun,
            ended=row.ended, air_c=felt.get((row.id, "air temperature")),
            ball_c=felt.get((row.id, "ball temperature")),
        )
        for row in connection.execute(chosen)
    )  # fmt: skip


def write_mark(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write what else happened."""
    return inserted(connection, mark, row)


def marks_of(connection: Connection, test_id: int) -> tuple[Row[Any], ...]:
    """Give the marks of a test, oldest first."""
    return tuple(connection.execute(select(mark).where(mark.c.test_id == test_id).order_by(mark.c.id)).all())


def write_check(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write the result of an instrument check."""
    return inserted(connection, instrument_check, row)


def checks_of(connection: Connection, test_id: int) -> tuple[CheckResult, ...]:
    """Give the instrument checks of a test that stand, by the time of each; one taken back or excluded is none."""
    chosen = (
        select(
            instrument_check, reference_piece.c.name.label("piece"), planned_quantity.c.unit, reading.c.at,
            instrument.c.name.label("instrument"),
        )
        .join(reference_piece, reference_piece.c.id == instrument_check.c.reference_id)
        .join(
            planned_quantity,
            (planned_quantity.c.test_id == reference_piece.c.test_id)
            & (planned_quantity.c.name == reference_piece.c.quantity),
        )
        .join(instrument, instrument.c.id == instrument_check.c.instrument_id)
        .join(reading, reading.c.id == instrument_check.c.reading_id)
        .where(instrument_check.c.test_id == test_id, stands(instrument_check.c.reading_id))
    )  # fmt: skip
    rows = sorted(connection.execute(chosen), key=lambda row: (seconds_of(row.at), row.reading_id))
    doubts = doubts_of(connection, test_id)
    beside = touched_by(connection, test_id, doubts)
    return tuple(
        CheckResult(
            id=row.id, reading=row.reading_id, reference=row.piece, instrument=row.instrument, value=row.value,
            known=row.known, allowed=row.allowed, unit=row.unit, passed=row.passed,
            touched=0 if row.passed else beside.get(doubts.stretch(row.instrument_id, row.at, row.reading_id), 0),
            at=row.at,
        )
        for row in rows
    )  # fmt: skip


def finish_test(connection: Connection, test_id: int, at: str | None) -> None:
    """Finish a test, or take it up again with None."""
    connection.execute(update(ball_test).where(ball_test.c.id == test_id).values(finished=at))


def last_revision(connection: Connection, test_id: int) -> int:
    """Give the number of the last thing that happened in a test; 0: nothing did."""
    chosen = select(func.max(submission.c.id)).where(submission.c.test_id == test_id)
    return connection.execute(chosen).scalar_one_or_none() or 0


def notebook_name(connection: Connection) -> str:
    """Give the random name of the notebook, made when its tables were."""
    return str(connection.execute(select(identity.c.notebook)).scalar_one())
