"""What failed instrument checks throw doubt on.

A failed check throws doubt on all that the instrument read from the check that it passed last before to the one that
it passed first after, by the time at which each was taken: a reading that waited in a browser comes late and is none
the later for that. A check whose own reading was taken back or excluded is none. What somebody said of a reading after
the failed check came answers the doubt.

The few checks of a test are put in order here and not by the database, which has times as text of several zones.
"""

from __future__ import annotations

from bisect import bisect
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, ScalarSelect, func, select

from ballbench.store.amended import LATER, STRUCK, readings_as_amended, stands
from ballbench.store.moments import seconds_of
from ballbench.store.tables import instrument_check, reading, submission

__all__ = ["Doubts", "Looked", "count_in_doubt", "doubts_of", "in_doubt", "touched_by"]

Taken = tuple[float, int]
"""When a reading was taken, seconds, and its number: what was taken at one moment is in the order of coming."""

Looked = int | None
"""The number of the act that said something of a reading last; None: nobody did since it was entered."""

_NEWEST = 2**31 - 1


@dataclass(frozen=True, slots=True)
class Doubts:
    """The checks of a test, by instrument.

    Parameters
    ----------
    passed : dict of int to list of (float, int)
        When each instrument passed a check, in order: they part its readings into stretches, numbered from 0.
    failed : dict of (int, int) to int
        By instrument and stretch, the number of the last act that found it failing there.
    """

    passed: dict[int, list[Taken]]
    failed: dict[tuple[int, int], int]

    @property
    def instruments(self) -> tuple[int, ...]:
        """Those that failed a check."""
        return tuple(sorted({tool for tool, _ in self.failed}))

    def stretch(self, tool: int, at: str, number: int) -> tuple[int, int]:
        """Give the instrument and its stretch in which a reading was taken."""
        return tool, bisect(self.passed.get(tool, []), (seconds_of(at), number))

    def touch(self, tool: int, at: str, number: int, said: Looked) -> bool:
        """Say whether a reading of a ball is in doubt.

        Parameters
        ----------
        tool : int
            With which instrument it was taken.
        at, number : str, int
            When, and its number.
        said : int or None
            What was said of it last.
        """
        found = self.failed.get(self.stretch(tool, at, number))
        return found is not None and (said is None or said < found)


def doubts_of(connection: Connection, test_id: int) -> Doubts:
    """Give the checks of a test that stand."""
    chosen = (
        select(
            instrument_check.c.instrument_id, instrument_check.c.passed, reading.c.id, reading.c.at,
            _came(reading.c.key).label("came"),
        )
        .join(reading, reading.c.id == instrument_check.c.reading_id)
        .where(instrument_check.c.test_id == test_id, stands(instrument_check.c.reading_id))
    )  # fmt: skip
    rows = connection.execute(chosen).all()
    passed: dict[int, list[Taken]] = {}
    for row in rows:
        if row.passed:
            passed.setdefault(row.instrument_id, []).append((seconds_of(row.at), row.id))
    doubts = Doubts({tool: sorted(own) for tool, own in passed.items()}, {})
    for row in rows:
        if not row.passed:
            where = doubts.stretch(row.instrument_id, row.at, row.id)
            doubts.failed[where] = max(row.came, doubts.failed.get(where, 0))
    return doubts


def _came(key: ColumnElement[str]) -> ColumnElement[int]:
    """Give the number of an act by its key; within its own transaction it is not written yet, and is the newest."""
    act = submission.alias()
    number: ScalarSelect[int] = select(act.c.id).where(act.c.key == key).scalar_subquery()
    return func.coalesce(number, _NEWEST)


def count_in_doubt(connection: Connection, test_id: int) -> int:
    """Count the readings of a test that stand and are in doubt."""
    return sum(row.action not in STRUCK for row in _in_doubt(connection, test_id, reading.c.test_id == test_id))


def in_doubt(connection: Connection, test_id: int, which: ColumnElement[bool]) -> frozenset[int]:
    """Give the numbers of those of a test's readings that are in doubt."""
    return frozenset(row.id for row in _in_doubt(connection, test_id, which))


def _in_doubt(connection: Connection, test_id: int, which: ColumnElement[bool]) -> Iterator[Row[Any]]:
    doubts = doubts_of(connection, test_id)
    if not doubts.failed:
        return
    chosen = (
        select(
            reading.c.instrument_id, reading.c.at, reading.c.id, reading.c.key, LATER.c.key.label("later"),
            LATER.c.action, _came(LATER.c.key).label("said"),
        )
        .select_from(readings_as_amended())
        .where(which, *_of_balls(test_id, doubts.instruments))
    )  # fmt: skip
    for row in connection.execute(chosen):
        said = None if row.later in {None, row.key} else row.said  # what confirmed it came with it
        if doubts.touch(row.instrument_id, row.at, row.id, said):
            yield row


def touched_by(connection: Connection, test_id: int, doubts: Doubts) -> dict[tuple[int, int], int]:
    """Count the readings of balls that stand, by instrument and stretch; of instruments that failed a check only."""
    if not doubts.failed:
        return {}
    chosen = select(reading.c.instrument_id, reading.c.at, reading.c.id).where(
        *_of_balls(test_id, doubts.instruments), stands(reading.c.id)
    )
    return Counter(doubts.stretch(*row) for row in connection.execute(chosen))


def _of_balls(test_id: int, tools: Iterable[int]) -> tuple[ColumnElement[bool], ...]:
    return reading.c.test_id == test_id, reading.c.ball_id.is_not(None), reading.c.instrument_id.in_(list(tools))
