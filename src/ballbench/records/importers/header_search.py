"""Where the header stands and what separates the cells: the row whose cells are best known wins."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

__all__ = ["SEPARATORS", "HeaderPlace", "Recogniser", "find_header", "find_text_header"]

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
"""What may separate cells in a text file."""

SEARCHED = 60
"""How many rows from the top are searched for the header (own choice)."""

WIDEST = 200
"""How many columns a table has at most (own choice)."""

_HEAD = 256 * 1024

Recogniser = Callable[[str], float]
"""Gives 1 for a cell that is a known column name, less for one that is nearly so, 0 otherwise."""


@dataclass(frozen=True, slots=True)
class HeaderPlace:
    """Where a header was found.

    Parameters
    ----------
    names : tuple of str
        Its cells, blanks around them taken off, empty cells at the end left out.
    first_line, last_line : int
        Lines from 1; they differ where a quoted name runs over several lines.
    separator : str
        Empty for a sheet.
    """

    names: tuple[str, ...]
    first_line: int
    last_line: int
    separator: str


def find_header(
    rows: Iterable[tuple[int, int, Sequence[str]]], known: Recogniser, separator: str = ""
) -> list[tuple[tuple[float, ...], HeaderPlace]]:
    """Rate rows as headers.

    Parameters
    ----------
    rows : iterable of (int, int, sequence of str)
        First line, last line and cells.
    known : Recogniser
        How well a cell is known as a column name.
    separator : str
        Kept in the result.

    Returns
    -------
    list of (tuple of float, HeaderPlace)
        Rating (the larger the better) and place of every row with at least two known cells, or with one that is all.
    """
    rated: list[tuple[tuple[float, ...], HeaderPlace]] = []
    for first, last, cells in rows:
        names = [cell.replace("\ufeff", "").strip() for cell in cells]
        while names and not names[-1]:
            names.pop()
        filled = [name for name in names if name]
        score = sum(known(name) for name in filled)
        if score >= min(1.5, max(len(filled), 1)):
            rating = (score, -(len(filled) - score), -sum(map(len, filled)), -first)
            rated.append((rating, HeaderPlace(tuple(names), first, last, separator)))
    return rated


def find_text_header(data: bytes, known: Recogniser) -> HeaderPlace | None:
    """Find the header of a text file and its separator.

    Parameters
    ----------
    data : bytes
        UTF-8 with line feeds.
    known : Recogniser
        How well a cell is known as a column name.

    Returns
    -------
    HeaderPlace or None
        None when no row near the top is a header under any separator.
    """
    lines = data[:_HEAD].decode("utf-8", errors="ignore").split("\n")[: SEARCHED + 1]
    rated = []
    for separator in SEPARATORS:
        rated += find_header(_rows(lines, separator), known, separator)
    return max(rated, key=lambda found: found[0])[1] if rated else None


def _rows(lines: list[str], separator: str) -> Iterable[tuple[int, int, list[str]]]:
    """Split the first lines into cells, each with its lines; a quote that never closes ends the search."""
    reader = csv.reader((line + "\n" for line in lines), delimiter=separator)
    last = 0
    while True:
        try:
            cells = next(reader, None)
        except csv.Error:
            return
        if cells is None:
            return
        yield last + 1, reader.line_num, cells
        last = reader.line_num
