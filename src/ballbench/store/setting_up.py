"""Write a test as it is set up: its balls, its instruments, and every place to read."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, insert, select
from sqlalchemy.exc import IntegrityError

from ballbench.store.inserting import inserted
from ballbench.store.tables import (
    ball,
    ball_test,
    box,
    instrument,
    make,
    place,
    planned_quantity,
    reference_piece,
    test_ball,
    test_box,
)

__all__ = ["NewBall", "NewPlace", "NewTest", "take_box", "write_balls", "write_box", "write_places", "write_test"]


@dataclass(frozen=True, slots=True)
class NewTest:
    """A test with its instruments, quantities and reference pieces, each as the columns of its table.

    Parameters
    ----------
    test : mapping
        Columns of `ball_test`.
    instruments, references : sequence of mapping
        Columns of `instrument` and `reference_piece`; a piece names its instrument under ``instrument``.
    quantities : sequence of mapping
        Columns of `planned_quantity`; ``axes`` is a sequence and ``instrument`` a name, empty for none.
    """

    test: Mapping[str, Any]
    instruments: Sequence[Mapping[str, Any]]
    quantities: Sequence[Mapping[str, Any]]
    references: Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class NewBall:
    """A ball of a test.

    Parameters
    ----------
    box : int
        Number of its box in the notebook.
    label, number : str
        Its name in the box, and its number in the test.
    id : int or None
        Its own number, where the notebook knows it; None: it is new.
    """

    box: int
    label: str
    number: str
    id: int | None = None


@dataclass(frozen=True, slots=True)
class NewPlace:
    """A place to read; `ball` and `reference` are numbers of rows, one of them None; `person`: who is to read it."""

    ball: int | None
    reference: int | None
    quantity: str
    axis: str
    repeat: int
    position: int
    sheet_position: int
    why: str = ""
    person: str = ""


def write_test(connection: Connection, new: NewTest) -> tuple[int, tuple[int, ...]]:
    """Write a test and give its number and those of its reference pieces."""
    test = inserted(connection, ball_test, dict(new.test))
    instruments = {
        (row["name"], row["quantity"]): inserted(connection, instrument, {**row, "test_id": test})
        for row in new.instruments
    }
    for row in new.quantities:
        columns = {key: value for key, value in row.items() if key != "instrument"}
        columns |= {"test_id": test, "axes": json.dumps(list(row["axes"]), ensure_ascii=False)}
        columns["instrument_id"] = instruments.get((row["instrument"], row["name"]))
        inserted(connection, planned_quantity, columns)
    references = []
    for row in new.references:
        columns = {key: value for key, value in row.items() if key != "instrument"}
        columns |= {"test_id": test, "instrument_id": instruments[row["instrument"], row["quantity"]]}
        references.append(inserted(connection, reference_piece, columns))
    return test, tuple(references)


def write_box(connection: Connection, test: int, name: str, position: int, facts: Mapping[str, str]) -> int:
    """Write a box of a make into a test, the make too where it is new, and give the box's number."""
    box_id = inserted(connection, box, {**facts, "make_id": _make(connection, name)})
    take_box(connection, test, box_id, position)
    return box_id


def take_box(connection: Connection, test: int, box_id: int, position: int) -> None:
    """Put a box that the notebook knows into a test."""
    connection.execute(insert(test_box).values(test_id=test, box_id=box_id, position=position))


def _make(connection: Connection, name: str) -> int:
    """Give the number of a make, written first where it is new."""
    known = select(make.c.id).where(make.c.name == name)
    found = connection.execute(known).scalar_one_or_none()
    if found is not None:
        return int(found)
    try:
        with connection.begin_nested():
            return inserted(connection, make, {"name": name})
    except IntegrityError:  # another process wrote it meanwhile
        return int(connection.execute(known).scalar_one())


def write_balls(connection: Connection, test: int, balls: Iterable[NewBall]) -> tuple[int, ...]:
    """Put balls into a test, new ones written first, and give their numbers in the notebook in their order."""
    ids = []
    for new in balls:
        known = new.id or inserted(connection, ball, {"box_id": new.box, "label": new.label})
        ids.append(known)
        connection.execute(insert(test_ball).values(test_id=test, ball_id=ids[-1], number=new.number))
    return tuple(ids)


def write_places(connection: Connection, test: int, places: Iterable[NewPlace]) -> None:
    """Write places to read."""
    rows = [
        {
            "test_id": test, "ball_id": new.ball, "reference_id": new.reference, "quantity": new.quantity,
            "axis": new.axis, "repeat": new.repeat, "position": new.position, "sheet_position": new.sheet_position,
            "put_off": 0, "why": new.why, "person": new.person,
        }
        for new in places
    ]  # fmt: skip
    if rows:
        connection.execute(insert(place), rows)
