"""A table as it was found: a header, and cells that are still text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import polars as pl

from ballbench.records.readings import SAYS_INVENTED

__all__ = ["EXTRA", "LINE", "Grid", "column", "invented_notes", "plain_name"]

EXTRA = "extra"
"""Column of a grid's cells that holds what stands beyond the last named column."""

LINE = "line"
"""Column of a grid's cells that holds the line in the file, or the row in the sheet."""


@dataclass(frozen=True, slots=True)
class Grid:
    """One table of a file.

    Parameters
    ----------
    where : str
        How a message names it: ``"box.csv"``, ``"box.xlsx, sheet Curlew"``.
    sheet : str
        The sheet's name; empty for a text file.
    number : int
        Which sheet of the file, from 0.
    header : tuple of str, length m
        Names of the columns as written, without blanks around them; empty where a column has no name.
    header_line : int
        Its line or row, from 1.
    cells : polars.DataFrame
        Columns ``"0"`` to ``str(m - 1)`` and ``"extra"``, all text without null and without blanks around it, and
        ``"line"``; rows that are blank throughout are left out.
    separator : str
        What stands between cells; empty for a sheet.
    notes : tuple of str
        How it was read.
    overlong : bool
        Most of the first rows have more cells than the header, be they empty.
    """

    where: str
    sheet: str
    number: int
    header: tuple[str, ...]
    header_line: int
    cells: pl.DataFrame
    separator: str = ""
    notes: tuple[str, ...] = ()
    overlong: bool = False


def plain_name(text: str) -> str:
    """Give a name without a byte order mark, in lower case, with single blanks: what headers are compared by."""
    return " ".join(text.replace("\ufeff", "").split()).casefold()


def column(grid: Grid, name: str) -> str | None:
    """Give the key of the column with that plain name, or None."""
    for index, head in enumerate(grid.header):
        if plain_name(head) == name:
            return str(index)
    return None


def invented_notes(above: Iterable[str]) -> tuple[str, ...]:
    """Note that a file calls its own data invented: a cell above the header begins with "invented data"."""
    return (SAYS_INVENTED,) if any(plain_name(text).startswith("invented data") for text in above) else ()
