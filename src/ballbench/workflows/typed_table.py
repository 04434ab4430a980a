"""A table that was typed into a page, laid out as the file that it would be, so that one reader reads both."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["NAME", "typed_table"]

NAME = "entries.csv"
"""What messages call it."""


@contextmanager
def typed_table(csv: str) -> Iterator[Path]:
    """Write a table into a folder that goes away with the block.

    Parameters
    ----------
    csv : str
        As the file would hold it.

    Yields
    ------
    Path
        Its place.
    """
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        path = Path(folder) / NAME
        path.write_text(csv, encoding="utf-8", newline="")
        yield path
