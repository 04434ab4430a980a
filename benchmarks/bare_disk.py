"""The least that keeping a reading can cost: its bytes on the disk, and one row in a bare database."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

__all__ = ["bare_insert", "bare_sync"]


@contextmanager
def bare_sync(folder: Path, size: int) -> Iterator[Callable[[], None]]:
    """Give what appends so many bytes to a file and brings them to the disk.

    Parameters
    ----------
    folder : Path
        Where; of the disk that is measured.
    size : int
        Bytes each time.
    """
    data = os.urandom(size)
    with (folder / "bare").open("wb", buffering=0) as out:

        def keep() -> None:
            out.write(data)
            os.fsync(out.fileno())

        yield keep


@contextmanager
def bare_insert(folder: Path, text: str) -> Iterator[Callable[[], None]]:
    """Give what inserts one row a transaction, journal and synchronisation as the notebook has them.

    Parameters
    ----------
    folder : Path
        Where; of the disk that is measured.
    text : str
        What a row holds.
    """
    with closing(sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)) as database:
        for statement in ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL"):
            database.execute(statement)
        database.execute("CREATE TABLE kept (id INTEGER PRIMARY KEY, text TEXT NOT NULL)")
        rows = 0

        def keep() -> None:
            nonlocal rows
            database.execute("INSERT INTO kept (text) VALUES (?)", (text,))
            rows += 1

        yield keep
        assert database.execute("SELECT count(*) FROM kept").fetchone() == (rows,)
