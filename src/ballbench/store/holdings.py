"""What a test holds of each sort, asked without reading any of it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, Select, exists, or_, select

from ballbench.store.amended import stands
from ballbench.store.tables import (
    amendment,
    attempt,
    instrument_check,
    place,
    reading,
    recording_picks,
    test_ball,
    test_recording,
)

__all__ = ["Holdings", "holdings_of"]

_NOTHING = "[]"
"""How picks of a recording in which nobody marked anything are written."""


@dataclass(frozen=True, slots=True)
class Holdings:
    """Whether a test holds something of a sort.

    Parameters
    ----------
    readings : bool
        Readings of balls, or spoiled attempts to take one.
    amendments : bool
        Something was said later of a reading of a ball.
    balls : bool
        Balls.
    checks : bool
        Instrument checks that stand.
    recordings : bool
        Recordings.
    picks : bool
        Readings that came out of a sound.
    marks : bool
        Places that a person marked in a film, as it was kept last.
    """

    readings: bool
    amendments: bool
    balls: bool
    checks: bool
    recordings: bool
    picks: bool
    marks: bool


def holdings_of(connection: Connection, test_id: int) -> Holdings:
    """Say of what sorts a test holds something."""
    own = (reading.c.test_id == test_id, reading.c.ball_id.is_not(None))
    spoiled = (
        select(attempt.c.id)
        .outerjoin(place, place.c.id == attempt.c.place_id)
        .where(attempt.c.test_id == test_id, attempt.c.kind == "spoiled")
        .where(or_(attempt.c.place_id.is_(None), place.c.ball_id.is_not(None)))
    )
    said = select(amendment.c.id).join(reading, reading.c.id == amendment.c.reading_id)
    checks = select(instrument_check.c.id).where(
        instrument_check.c.test_id == test_id, stands(instrument_check.c.reading_id)
    )
    return Holdings(
        readings=_some(connection, select(reading.c.id).where(*own)) or _some(connection, spoiled),
        amendments=_some(connection, said.where(amendment.c.test_id == test_id, *own)),
        balls=_some(connection, select(test_ball.c.ball_id).where(test_ball.c.test_id == test_id)),
        checks=_some(connection, checks),
        recordings=_some(connection, select(test_recording.c.id).where(test_recording.c.test_id == test_id)),
        picks=_some(connection, _worked_out(test_id, "listen")),
        marks=_some(connection, _worked_out(test_id, "watch").where(recording_picks.c.picks != _NOTHING, ~_later())),
    )


def _worked_out(test_id: int, method: str) -> Select[tuple[int]]:
    """Choose readings that came out of recordings by a method."""
    own = recording_picks.c.test_id == test_id, recording_picks.c.method == method
    return select(recording_picks.c.id).where(*own)


def _later() -> ColumnElement[bool]:
    """Ask whether the same recording of the same test was kept again later by the same method."""
    again, own = recording_picks.alias(), recording_picks.c
    same = (again.c.test_id == own.test_id, again.c.digest == own.digest, again.c.method == own.method)
    return exists().where(*same, again.c.id > own.id)


def _some(connection: Connection, chosen: Select[tuple[int]]) -> bool:
    return connection.execute(chosen.limit(1)).first() is not None
