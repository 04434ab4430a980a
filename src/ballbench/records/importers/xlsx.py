"""Workbooks: every sheet that holds a table of readings, one sheet a product if the table names no product."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import fastexcel
import polars as pl

from ballbench.errors import BadInput, Fault
from ballbench.records.importers.file_intake import Intake
from ballbench.records.importers.grid import EXTRA, LINE, Grid, invented_notes
from ballbench.records.importers.header_search import SEARCHED, WIDEST, HeaderPlace, Recogniser, find_header

__all__ = ["workbook_grids"]

LARGEST_UNPACKED = 1024 * 1024 * 1024
"""Largest workbook that is read, in bytes after unpacking (own choice): a small archive may hold far more."""

_LONG_NUMBER = 15  # a spreadsheet computes with 15 significant digits; more of them are noise of its arithmetic
_SAVE = "open it in the spreadsheet, save it again as XLSX, or save the sheet as CSV UTF-8"


def workbook_grids(path: Path, intake: Intake, known: Recogniser, wanted: str, error: type[BadInput]) -> list[Grid]:
    """Read every sheet of a workbook that has a header near its top.

    Parameters
    ----------
    path : Path
        The workbook.
    intake : Intake
        Its name and digest.
    known : Recogniser
        How well a cell is known as a column name.
    wanted : str
        The columns that a header must have, for the message.
    error : type of BadInput
        What to raise.

    Returns
    -------
    list of Grid
        One a sheet, in the order of the workbook; sheets without a header are named in the first grid's notes.

    Raises
    ------
    BadInput
        The archive is damaged or no workbook, unpacks to too much, or no sheet has a header.
    """
    _check_archive(path, intake.name, error)
    try:
        sheets = list(_sheets(path))
    except BaseException as failure:
        # A damaged workbook can make the reader panic, and a panic is no Exception.
        if isinstance(failure, Exception) or type(failure).__name__ == "PanicException":
            raise error(_damaged(intake.name)) from None
        raise
    grids, left_out = [], []
    for number, (sheet, table) in enumerate(sheets):
        grid = _grid(intake.name, sheet, number, table, known)
        if grid is None:
            left_out += [sheet] if table.height else []
        else:
            grids.append(grid)
    if not grids:
        found = f"no header in the first {SEARCHED} rows of any sheet"
        raise error(Fault(intake.name, found, f"a header with the columns {wanted}", "add the header above the rows"))
    if too_wide := [grid for grid in grids if len(grid.header) > WIDEST]:
        found = f"{len(too_wide[0].header)} columns"
        raise error(Fault(too_wide[0].where, found, f"at most {WIDEST} columns", "split the table"))
    return grids if not left_out else [_with_note(grids[0], left_out), *grids[1:]]


def _check_archive(path: Path, name: str, error: type[BadInput]) -> None:
    """Refuse an archive that is damaged, holds no workbook or unpacks to too much."""
    try:
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
    except Exception as failure:  # a damaged directory raises errors of many kinds
        raise error(_damaged(name)) from failure
    if not any(entry.filename.lower().lstrip("/") == "xl/workbook.xml" for entry in entries):
        raise error(Fault(name, "a zip archive that holds no XLSX workbook", "CSV or XLSX", "save the sheet as XLSX"))
    if sum(entry.file_size for entry in entries) > LARGEST_UNPACKED:
        found = "a workbook that unpacks to more than 1 GB"
        raise error(Fault(name, found, "at most 1 GB unpacked", "save only the sheets with readings, or use CSV"))


def _damaged(name: str) -> Fault:
    """Say that the workbook cannot be read."""
    return Fault(name, "a damaged or protected XLSX workbook", "a whole workbook without a password", _SAVE)


def _sheets(path: Path) -> Iterator[tuple[str, pl.DataFrame]]:
    """Give each worksheet's name and its cells as text, rows counted from the sheet's first."""
    workbook = fastexcel.read_excel(path)
    for name in workbook.sheet_names:
        sheet = workbook.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")
        table = sheet.to_polars() if sheet.width and sheet.height else pl.DataFrame()
        yield name, table.rename({old: str(index) for index, old in enumerate(table.columns)})


def _grid(file: str, sheet: str, number: int, table: pl.DataFrame, known: Recogniser) -> Grid | None:
    """Make a grid of a sheet; None where it has no header."""
    top = table.head(SEARCHED).rows()
    rows = ((index + 1, index + 1, ["" if cell is None else cell for cell in row]) for index, row in enumerate(top))
    rated = find_header(rows, known)
    if not rated:
        return None
    place = max(rated, key=lambda found: found[0])[1]
    notes: tuple[str, ...] = (f"sheet {sheet}: header found in row {place.first_line}",) if place.first_line > 1 else ()
    notes += invented_notes(cell for row in top[: place.first_line - 1] for cell in row if cell)
    cells = _tidy(table, place)
    return Grid(f"{file}, sheet {sheet}", sheet, number, place.names, place.first_line, cells, "", notes)


def _tidy(table: pl.DataFrame, place: HeaderPlace) -> pl.DataFrame:
    """Give the rows below the header as text without blanks around it, blank rows left out."""
    width = len(place.names)
    texts = [str(index) for index in range(table.width)]
    lines = pl.int_range(1, pl.len() + 1, dtype=pl.Int64).alias(LINE)
    below = table.with_columns(lines).slice(place.last_line)
    below = below.with_columns(pl.col(texts).cast(pl.String).fill_null("").str.strip_chars())
    below = below.filter(pl.any_horizontal(pl.col(texts) != ""))
    below = below.with_columns(pl.col(texts).map_batches(_short_numbers, return_dtype=pl.String))
    spare = texts[width:]
    extra = pl.concat_str(spare, separator=" ").str.strip_chars() if spare else pl.lit("")
    return below.select(*texts[:width], extra.alias(EXTRA), LINE)


def _short_numbers(cells: pl.Series) -> pl.Series:
    """Cut numbers that a formula left with more than 15 significant digits back to 15."""
    long = cells.str.len_bytes() > _LONG_NUMBER
    if not long.any():
        return cells
    return pl.Series(
        cells.name,
        [_short_number(cell) if is_long else cell for cell, is_long in zip(cells, long, strict=True)],
        dtype=pl.String,
    )


def _short_number(cell: str) -> str:
    """Cut one cell back, if it is a number with a fraction."""
    if not cell.lstrip("-").replace(".", "", 1).isdigit() or "." not in cell:
        return cell
    short = f"{float(cell):.{_LONG_NUMBER}g}"
    return cell if "e" in short else short


def _with_note(grid: Grid, left_out: list[str]) -> Grid:
    """Add which sheets were not read."""
    named = ", ".join(left_out)
    note = f"not read, for they hold no table of readings: sheets {named}"
    return Grid(grid.where, grid.sheet, grid.number, grid.header, grid.header_line, grid.cells, "", (*grid.notes, note))
