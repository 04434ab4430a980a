"""Find tests, and count how far each has come."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, func, or_, select

from ballbench.store.amended import STRUCK
from ballbench.store.doubt import count_in_doubt
from ballbench.store.tables import (
    amendment,
    ball_test,
    box,
    instrument,
    make,
    place,
    reading,
    sitting,
    test_ball,
    test_box,
)

__all__ = [
    "Count",
    "count_of",
    "count_tests",
    "find_tests",
    "last_quick_requirement",
    "latest_instruments",
    "people_of",
    "read_by_ball",
    "readings_by_sitting",
]


@dataclass(frozen=True, slots=True)
class Count:
    """How far a test has come.

    Parameters
    ----------
    balls, planned, read : int
        Balls, places to read, and places that hold a reading which stands.
    in_doubt : int
        Readings that stand and that a failed instrument check throws doubt on.
    last_at, last_by : str
        When and by whom the last reading came; empty: none yet.
    """

    balls: int
    planned: int
    read: int
    in_doubt: int
    last_at: str
    last_by: str


def count_tests(connection: Connection) -> int:
    """Give how many tests the notebook holds, quick checks left out."""
    return connection.execute(select(func.count()).where(ball_test.c.kind != "quick")).scalar_one()


def find_tests(
    connection: Connection,
    search: str = "",
    *,
    finished: bool | None = None,
    purpose: str | None = None,
    most: int = 200,
) -> tuple[int, ...]:
    """Give the numbers of tests, the newest first, quick checks left out.

    Parameters
    ----------
    search : str
        In title, requirement, make or person, in any capitals; empty: everything. Makes of blind tests that are under
        way are not looked at.
    finished : bool or None
        None: whether or not.
    purpose : str or None
        As in `ball_test`; None: whatever it is.
    most : int
        At most so many.
    """
    chosen = select(ball_test.c.id).where(ball_test.c.kind != "quick").order_by(ball_test.c.id.desc()).limit(most)
    if finished is not None:
        chosen = chosen.where(ball_test.c.finished.is_not(None) if finished else ball_test.c.finished.is_(None))
    if purpose is not None:
        chosen = chosen.where(ball_test.c.purpose == purpose)
    if search.strip():
        chosen = chosen.where(_holds(search.strip().lower()))
    return tuple(connection.execute(chosen).scalars())


def _holds(text: str) -> ColumnElement[bool]:
    """Say that a test has a text in one of its names."""
    own = [ball_test.c.title, ball_test.c.requirement, ball_test.c.requirement_title, ball_test.c.set_up_by]
    makes = (
        select(make.c.id)
        .join(box, box.c.make_id == make.c.id)
        .join(test_box, test_box.c.box_id == box.c.id)
        .where(test_box.c.test_id == ball_test.c.id, _like(make.c.name, text))
    )
    shown = or_(~ball_test.c.blind, ball_test.c.finished.is_not(None))
    people = select(reading.c.id).where(reading.c.test_id == ball_test.c.id, _like(reading.c.by, text))
    return or_(*(_like(column, text) for column in own), shown & makes.exists(), people.exists())


def _like(column: ColumnElement[str], text: str) -> ColumnElement[bool]:
    return func.lower(column).contains(text, autoescape=True)


def count_of(connection: Connection, test_id: int) -> Count:
    """Count a test."""
    struck = _struck(test_id)
    mine = (reading.c.test_id == test_id) & reading.c.id.not_in(struck)
    places = select(func.count(reading.c.place_id.distinct())).where(mine)
    last = select(reading.c.at, reading.c.by).where(reading.c.test_id == test_id).order_by(reading.c.id.desc()).limit(1)
    newest = connection.execute(last).one_or_none()
    return Count(
        balls=_number(connection, select(func.count()).where(test_ball.c.test_id == test_id)),
        planned=_number(connection, select(func.count()).where(place.c.test_id == test_id)),
        read=_number(connection, places),
        in_doubt=count_in_doubt(connection, test_id),
        last_at="" if newest is None else newest.at,
        last_by="" if newest is None else newest.by,
    )


def _struck(test_id: int) -> Select[int]:
    """Choose the readings of a test that were taken back or excluded, by the last that was said of each."""
    last = select(func.max(amendment.c.id)).where(amendment.c.test_id == test_id).group_by(amendment.c.reading_id)
    return select(amendment.c.reading_id).where(amendment.c.id.in_(last), amendment.c.action.in_(STRUCK))


def _number(connection: Connection, chosen: object) -> int:
    return int(connection.execute(chosen).scalar_one())  # type: ignore[call-overload]


def people_of(connection: Connection, test_id: int) -> tuple[str, ...]:
    """Give who took readings in a test, or began its sittings, by name."""
    read = select(reading.c.by).where(reading.c.test_id == test_id)
    began = select(sitting.c.begun_by).where(sitting.c.test_id == test_id)
    return tuple(sorted(name for name in connection.execute(read.union(began)).scalars() if name))


def read_by_ball(connection: Connection, test_id: int) -> dict[int, tuple[int, int]]:
    """Give for each ball how many of its places are read, and how many there are."""
    standing = reading.c.id.not_in(_struck(test_id))
    read = (
        select(reading.c.ball_id, func.count(reading.c.place_id.distinct()))
        .where(reading.c.test_id == test_id, reading.c.ball_id.is_not(None), standing)
        .group_by(reading.c.ball_id)
    )
    planned = (
        select(place.c.ball_id, func.count())
        .where(place.c.test_id == test_id, place.c.ball_id.is_not(None))
        .group_by(place.c.ball_id)
    )
    done: dict[int, int] = dict(connection.execute(read).all())
    return {ball: (done.get(ball, 0), count) for ball, count in connection.execute(planned)}


def readings_by_sitting(connection: Connection, test_id: int) -> dict[int, int]:
    """Give how many readings were kept in each sitting, taken-back ones counted."""
    chosen = select(reading.c.sitting_id, func.count()).where(reading.c.test_id == test_id)
    return dict(connection.execute(chosen.group_by(reading.c.sitting_id)).all())


def latest_instruments(connection: Connection) -> tuple[Row[Any], ...]:
    """Give the instruments of earlier set-ups, each name and quantity as it was last."""
    newest = (
        select(func.max(instrument.c.id))
        .join(ball_test, ball_test.c.id == instrument.c.test_id)
        .where(ball_test.c.kind == "whole")
        .group_by(instrument.c.name, instrument.c.quantity)
    )
    chosen = select(instrument).where(instrument.c.id.in_(newest)).order_by(instrument.c.id.desc()).limit(_MOST_OFFERED)
    return tuple(connection.execute(chosen).all())


def last_quick_requirement(connection: Connection) -> str:
    """Give the requirement of the last quick check; empty: there was none."""
    chosen = select(ball_test.c.requirement).where(ball_test.c.kind == "quick").order_by(ball_test.c.id.desc()).limit(1)
    return connection.execute(chosen).scalar_one_or_none() or ""


_MOST_OFFERED = 50
