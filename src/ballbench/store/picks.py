"""Write and read how readings came out of recordings: what was picked there, by whom and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from ballbench.store.inserting import inserted
from ballbench.store.tables import recording_picks

__all__ = ["PicksRow", "picks_of", "write_picks"]


@dataclass(frozen=True, slots=True)
class PicksRow:
    """How one reading came out of a recording.

    Parameters
    ----------
    id : int
        In the notebook.
    digest : str
        SHA-256 of the recording's bytes.
    reading_id : int
        The reading.
    method : str
        ``listen``, ``trace`` or ``watch``.
    asked, picks, told : str
        What was stated, what was picked or marked, and what came out, each as JSON.
    by, at : str
        Who kept it, and when (ISO 8601 with zone).
    """

    id: int
    digest: str
    reading_id: int
    method: str
    asked: str
    picks: str
    told: str
    by: str
    at: str


_COLUMNS = tuple(recording_picks.c[name] for name in PicksRow.__slots__)


def write_picks(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write a row, as the columns of its table, and give its number."""
    return inserted(connection, recording_picks, row)


def picks_of(connection: Connection, test_id: int) -> tuple[PicksRow, ...]:
    """Give how the readings of a test came out of its recordings, the oldest first."""
    chosen = select(*_COLUMNS).where(recording_picks.c.test_id == test_id).order_by(recording_picks.c.id)
    return tuple(PicksRow(*row) for row in connection.execute(chosen))
