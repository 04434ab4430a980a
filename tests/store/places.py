"""Where a notebook lies, and the way past ballbench to its tables."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
from database_server import Server

__all__ = ["REFUSED", "NotebookPlace"]

REFUSED = (sqlite3.IntegrityError, psycopg.errors.RaiseException)
"""What the drivers raise when a trigger refuses."""


@dataclass(frozen=True, slots=True)
class NotebookPlace:
    """A folder, or a database of a server.

    Parameters
    ----------
    address : str
        What `open_notebook` takes.
    server : Server or None
        None: a folder.
    database : str
        Its name on the server.
    """

    address: str
    server: Server | None = None
    database: str = ""

    @property
    def file(self) -> Path:
        """The SQLite file of a folder."""
        return Path(self.address) / "notebook.sqlite3"

    @property
    def broken(self) -> type[Exception]:
        """What the driver raises when a row does not fit the others."""
        return sqlite3.IntegrityError if self.server is None else psycopg.IntegrityError

    @contextmanager
    def raw(self) -> Iterator[Any]:
        """Give a connection of the bare driver; each statement is kept at once."""
        line = sqlite3.connect(self.file, isolation_level=None) if self.server is None else self.connect()
        with closing(line):
            yield line

    def connect(self) -> psycopg.Connection[tuple[object, ...]]:
        """Connect to the database of a server."""
        assert self.server is not None
        return self.server.connect(self.database)

    def rows(self, table: str) -> list[tuple[Any, ...]]:
        """Give every row of a table, as the bare driver sees them."""
        with self.raw() as line:
            found = line.execute(f'SELECT * FROM "{table}"').fetchall()  # noqa: S608 - names of tables from the code
        return sorted(found, key=repr)
