"""Read a test as it was set up."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, select

from ballbench.errors import Fault, NotFound
from ballbench.records.ball_test import BallTest, Box, PlannedQuantity, ReferencePiece
from ballbench.store.tables import (
    ball,
    ball_test,
    box,
    instrument,
    make,
    planned_quantity,
    reading,
    reference_piece,
    test_ball,
    test_box,
)

__all__ = [
    "BallRow",
    "ball_test_of",
    "balls_of",
    "instrument_of",
    "instruments_of",
    "piece_of",
    "quantities_of",
    "quantity_of",
    "references_of",
    "written_of",
]


@dataclass(frozen=True, slots=True)
class BallRow:
    """A ball of a test, with the make and box that a blind test hides."""

    id: int
    number: str
    label: str
    make: str
    box: str
    box_id: int


def ball_test_of(connection: Connection, test_id: int) -> BallTest:
    """Give a test.

    Raises
    ------
    NotFound
        There is none of that number.
    """
    row = written_of(connection, test_id)
    begun = connection.execute(select(reading.c.id).where(reading.c.test_id == test_id).limit(1)).first()
    return BallTest(
        id=row.id, title=row.title, requirement=row.requirement, requirement_title=row.requirement_title,
        requirement_digest=row.requirement_digest, set_up=row.set_up, set_up_by=row.set_up_by, blind=row.blind,
        stage="finished" if row.finished else "under way" if begun else "set up", rule=row.rule, risk=row.risk,
        seed=row.seed, invented=row.invented, quantities=quantities_of(connection, test_id),
        boxes=_boxes(connection, test_id), kind=row.kind, purpose=row.purpose,
    )  # fmt: skip


def written_of(connection: Connection, test_id: int) -> Row[Any]:
    """Give the row of a test in `ball_test`, the text of its requirement among it.

    Raises
    ------
    NotFound
        There is none of that number.
    """
    row = connection.execute(select(ball_test).where(ball_test.c.id == test_id)).one_or_none()
    if row is None:
        raise NotFound(Fault("notebook", f"no test {test_id}", "a test of this notebook", "choose one from the list"))
    return row


def quantity_of(connection: Connection, test_id: int, name: str) -> PlannedQuantity:
    """Give one quantity of a test.

    Raises
    ------
    NotFound
        The test does not read it.
    """
    found = _planned(connection, (planned_quantity.c.test_id == test_id) & (planned_quantity.c.name == name))
    if not found:
        allowed = ", ".join(one.name for one in quantities_of(connection, test_id))
        raise NotFound(Fault("quantity", name or "nothing", allowed, "choose one of them"))
    return found[0]


def quantities_of(connection: Connection, test_id: int) -> tuple[PlannedQuantity, ...]:
    """Give what is read of every ball, in the order in which it is read."""
    return _planned(connection, planned_quantity.c.test_id == test_id)


def _planned(connection: Connection, which: ColumnElement[bool]) -> tuple[PlannedQuantity, ...]:
    chosen = (
        select(planned_quantity, instrument.c.name.label("instrument"))
        .outerjoin(instrument, instrument.c.id == planned_quantity.c.instrument_id)
        .where(which)
        .order_by(planned_quantity.c.rank)
    )
    return tuple(
        PlannedQuantity(
            name=row.name, words=row.words, unit=row.unit, axes=tuple(json.loads(row.axes)), repeats=row.repeats,
            instrument=row.instrument or "", yes_no=row.yes_no, signed=row.signed, rank=row.rank,
            decimals=row.decimals, limits=(row.lower, row.upper), caution=row.caution,
        )
        for row in connection.execute(chosen)
    )  # fmt: skip


def _boxes(connection: Connection, test_id: int) -> tuple[Box, ...]:
    chosen = (
        select(box, make.c.name.label("make"))
        .join(make, make.c.id == box.c.make_id)
        .join(test_box, test_box.c.box_id == box.c.id)
        .where(test_box.c.test_id == test_id)
        .order_by(test_box.c.position)
    )
    return tuple(
        Box(row.id, row.make, row.label, row.bought, row.bought_where, row.price, row.given_by)
        for row in connection.execute(chosen)
    )


def balls_of(connection: Connection, test_id: int) -> tuple[BallRow, ...]:
    """Give the balls of a test in the order of their boxes and of the boxes' own names."""
    chosen = (
        select(ball.c.id, test_ball.c.number, ball.c.label, make.c.name, box.c.label.label("box"), box.c.id.label("of"))
        .join(ball, ball.c.id == test_ball.c.ball_id)
        .join(box, box.c.id == ball.c.box_id)
        .join(make, make.c.id == box.c.make_id)
        .join(test_box, (test_box.c.box_id == box.c.id) & (test_box.c.test_id == test_ball.c.test_id))
        .where(test_ball.c.test_id == test_id)
        .order_by(test_box.c.position, ball.c.id)
    )
    return tuple(BallRow(*row) for row in connection.execute(chosen))


def references_of(connection: Connection, test_id: int) -> tuple[ReferencePiece, ...]:
    """Give the reference pieces of a test."""
    chosen = (
        select(reference_piece, instrument.c.name.label("instrument"))
        .join(instrument, instrument.c.id == reference_piece.c.instrument_id)
        .where(reference_piece.c.test_id == test_id)
        .order_by(reference_piece.c.id)
    )
    return tuple(
        ReferencePiece(row.id, row.name, row.quantity, row.unit, row.value, row.u, row.instrument)
        for row in connection.execute(chosen)
    )


def instruments_of(connection: Connection, test_id: int) -> tuple[Row[Any], ...]:
    """Give the rows of `instrument` of a test."""
    chosen = select(instrument).where(instrument.c.test_id == test_id).order_by(instrument.c.id)
    return tuple(connection.execute(chosen).all())


def instrument_of(connection: Connection, test_id: int, name: str, quantity: str) -> Row[Any] | None:
    """Give the row of one instrument of a test; None: there is none of that name for the quantity."""
    chosen = select(instrument).where(
        instrument.c.test_id == test_id, instrument.c.name == name, instrument.c.quantity == quantity
    )
    return connection.execute(chosen).one_or_none()


def piece_of(connection: Connection, piece_id: int) -> Row[Any]:
    """Give the row of one reference piece."""
    return connection.execute(select(reference_piece).where(reference_piece.c.id == piece_id)).one()
