"""Text files: comma, semicolon or tab between cells, a header somewhere near the top.

The quick way reads the whole table with polars. Where quotes hold line breaks, or a row has many more cells than the
header, a row-by-row reader takes over that knows the line of every row.
"""

from __future__ import annotations

import contextlib
import csv
import io
from collections.abc import Iterator

import polars as pl

from ballbench.errors import BadInput, Fault
from ballbench.records.fault_list import quoted
from ballbench.records.importers.file_intake import Intake
from ballbench.records.importers.grid import EXTRA, LINE, Grid, invented_notes
from ballbench.records.importers.header_search import (
    SEARCHED,
    SEPARATORS,
    WIDEST,
    HeaderPlace,
    Recogniser,
    find_text_header,
)

__all__ = ["text_grid"]

_SPARE = 4  # cells beyond the header that the quick way can hold
_CHUNK = 20_000
_PEEKED = 4096  # bytes of rows that are looked at for their width


def text_grid(intake: Intake, known: Recogniser, wanted: str, error: type[BadInput]) -> Grid:
    """Read a text file's table.

    Parameters
    ----------
    intake : Intake
        The text.
    known : Recogniser
        How well a cell is known as a column name.
    wanted : str
        The columns that a header must have, for the message.
    error : type of BadInput
        What to raise.

    Returns
    -------
    Grid
        Header and cells.

    Raises
    ------
    BadInput
        No header was found, the table is too wide, or a quote mark is out of place.
    """
    place = find_text_header(intake.data, known)
    if place is None:
        first = intake.data[:200].decode("utf-8", errors="ignore").strip().partition("\n")[0]
        found = f"no header in the first {SEARCHED} lines, which begin with {quoted(first)}"
        raise error(Fault(intake.name, found, f"a header with the columns {wanted}", "add the header above the rows"))
    if len(place.names) > WIDEST:
        found = f"{len(place.names)} columns"
        raise error(
            Fault(f"{intake.name}, line {place.first_line}", found, f"at most {WIDEST} columns", "split the table")
        )
    start = _start_of_line(intake.data, place.last_line + 1)
    cells = _quick(intake.data, start, place)
    if cells is None:
        cells = _row_by_row(intake.data[start:], place, intake.name, error)
    notes = [*intake.notes, f"cells separated by {SEPARATORS[place.separator]}"]
    if place.first_line > 1:
        notes.append(f"header found in line {place.first_line}; what stands above it is not read")
        above = intake.data[:start].decode("utf-8", errors="ignore").splitlines()[: place.first_line - 1]
        notes += invented_notes(line.strip(" \t\"';,") for line in above)
    return Grid(
        intake.name,
        "",
        0,
        place.names,
        place.first_line,
        _tidy(cells),
        place.separator,
        tuple(notes),
        _overlong(intake.data, start, place),
    )


def _overlong(data: bytes, start: int, place: HeaderPlace) -> bool:
    """Say whether most of the first rows have more cells than the header, empty ones counted on both sides."""
    head = data[:start].split(b"\n")[place.first_line - 1 : place.last_line]
    width = _widths(b"\n".join(head), place.separator)
    rows = _widths(data[start : start + _PEEKED], place.separator)[:-1]
    return bool(width and rows) and sum(row > width[0] for row in rows) > len(rows) / 2


def _widths(text: bytes, separator: str) -> list[int]:
    """Count the cells of each row, up to a quote that never closes."""
    widths = []
    with contextlib.suppress(csv.Error):
        for row in csv.reader(io.StringIO(text.decode("utf-8", errors="ignore"), newline="\n"), delimiter=separator):
            widths.append(len(row))  # noqa: PERF401 - rows before an error still count
    return widths


def _start_of_line(data: bytes, line: int) -> int:
    """Give the position of a line's first byte, from line 1; the end where there is no such line."""
    position = 0
    for _ in range(line - 1):
        found = data.find(b"\n", position)
        if found < 0:
            return len(data)
        position = found + 1
    return position


def _quick(data: bytes, start: int, place: HeaderPlace) -> pl.DataFrame | None:
    """Read with polars; None where there is no row, rows and lines do not match, or a row is too wide."""
    if start == len(data):
        return None
    width = len(place.names)
    columns = [str(index) for index in range(width + _SPARE)]
    first_line = place.separator.join(columns).encode() + b"\n"
    try:
        table = pl.read_csv(
            io.BytesIO(b"".join((first_line, memoryview(data)[start:]))),
            separator=place.separator,
            infer_schema=False,
            quote_char='"' if data.find(b'"', start) >= 0 else None,
        )
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException):
        return None
    if table.height != data.count(b"\n", start) + (not data.endswith(b"\n")):
        return None
    spare = table.select(columns[width:])
    extra = pl.lit("").alias(EXTRA)
    if any(spare.get_column(name).null_count() < spare.height for name in spare.columns):
        extra = pl.concat_str(columns[width:], separator=" ", ignore_nulls=True).alias(EXTRA)
    lines = pl.int_range(place.last_line + 1, place.last_line + 1 + pl.len(), dtype=pl.Int64).alias(LINE)
    return table.select(*columns[:width], extra, lines)


def _row_by_row(body: bytes, place: HeaderPlace, name: str, error: type[BadInput]) -> pl.DataFrame:
    """Read with a reader that keeps the line of each row."""
    width = len(place.names)
    columns = [str(index) for index in range(width)]
    schema = {**dict.fromkeys([*columns, EXTRA], pl.String), LINE: pl.Int64}
    parts = [pl.DataFrame(schema=schema)]
    chunk: list[list[str | int]] = []
    for line, row in _strict_rows(body, place, name, error):
        cells: list[str | int] = [*row[:width], *[""] * (width - len(row))]
        chunk.append([*cells, " ".join(cell for cell in row[width:] if cell), line])
        if len(chunk) == _CHUNK:
            parts.append(pl.DataFrame(chunk, schema=schema, orient="row"))
            chunk = []
    if chunk:
        parts.append(pl.DataFrame(chunk, schema=schema, orient="row"))
    return pl.concat(parts)


def _strict_rows(body: bytes, place: HeaderPlace, name: str, error: type[BadInput]) -> Iterator[tuple[int, list[str]]]:
    """Give each row with the line on which it begins."""
    text = io.StringIO(body.decode("utf-8"), newline="\n")
    reader = csv.reader(text, delimiter=place.separator, strict=True)
    begins = 1
    try:
        for row in reader:
            yield place.last_line + begins, row
            begins = reader.line_num + 1
    except csv.Error as failure:
        where = f"{name}, line {place.last_line + begins}"
        allowed = "cells with a quote mark at both ends or at none, and at most 128 kB long"
        todo = "take the stray quote mark out, or write it twice inside a quoted cell"
        raise error(Fault(where, f"a quote mark out of place or never closed ({failure})", allowed, todo)) from failure


def _tidy(cells: pl.DataFrame) -> pl.DataFrame:
    """Take blanks off the cells, make null an empty text, and leave blank rows out."""
    texts = [name for name in cells.columns if name != LINE]
    tidy = cells.with_columns(pl.col(texts).fill_null("").str.strip_chars())
    return tidy.filter(pl.any_horizontal(pl.col(texts) != ""))
