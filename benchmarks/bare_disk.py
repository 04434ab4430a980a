"""The least that keeping a reading can cost: its bytes on the disk, and one row in a bare database."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

__all__ = ["bare_inserts", "bare_syncs", "seconds_each"]


def bare_syncs(folder: Path, size: int, count: int) -> list[float]:
    """Append bytes to a file and bring them to the disk, again and again.

    Parameters
    ----------
    folder : Path
        Where; of the disk that is measured.
    size, count : int
        Bytes each time, and how often.

    Returns
    -------
    list of float
        Seconds each.
    """
    data = os.urandom(size)
    with (folder / "bare").open("wb", buffering=0) as out:

        def keep() -> None:
            out.write(data)
            os.fsync(out.fileno())

        return seconds_each(keep, count)


def bare_inserts(folder: Path, text: str, count: int) -> list[float]:
    """Insert one row a transaction, journal and synchronisation as the notebook has them.

    Parameters
    ----------
    folder : Path
        Where; of the disk that is measured.
    text : str
        What a row holds.
    count : int
        How many rows.

    Returns
    -------
    list of float
        Seconds each.
    """
    with closing(sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)) as database:
        for statement in ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL"):
            database.execute(statement)
        database.execute("CREATE TABLE kept (id INTEGER PRIMARY KEY, text TEXT NOT NULL)")
        spent = seconds_each(lambda: database.execute("INSERT INTO kept (text) VALUES (?)", (text,)), count)
        assert database.execute("SELECT count(*) FROM kept").fetchone() == (count,)
    return spent


def seconds_each(work: Callable[[], object], count: int) -> list[float]:
    """Do something so often, and give the seconds of each time."""
    spent = []
    for _ in range(count):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return spent
