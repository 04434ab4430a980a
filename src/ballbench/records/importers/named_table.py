"""Small tables with columns of known names: corrections, facts of balls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import polars as pl

from ballbench.errors import BadInput, Fault
from ballbench.records.fault_list import FaultList, nearest, quoted
from ballbench.records.importers.csv_text import text_grid
from ballbench.records.importers.file_intake import take_in
from ballbench.records.importers.grid import EXTRA, LINE, Grid, column, plain_name
from ballbench.records.importers.xlsx import workbook_grids

__all__ = ["NamedTable", "read_named_table"]


@dataclass(frozen=True, slots=True)
class NamedTable:
    """A table whose columns are known.

    Parameters
    ----------
    where : str
        How a message names it.
    cells : polars.DataFrame
        One text column a known name, empty where the table has none, and ``line``.
    notes : tuple of str
        How it was read.
    digest : str
        ``"sha256:..."`` of the file's bytes.
    present : tuple of str
        Which of the known columns the table has.
    """

    where: str
    cells: pl.DataFrame
    notes: tuple[str, ...]
    digest: str
    present: tuple[str, ...]


def read_named_table(
    path: Path, columns: Sequence[str], required: Sequence[str], error: type[BadInput]
) -> tuple[NamedTable, FaultList]:
    """Read a table with known columns.

    Parameters
    ----------
    path : Path
        CSV, or a workbook with one sheet of that kind.
    columns : sequence of str
        Names it may have.
    required : sequence of str
        Names it must have.
    error : type of BadInput
        What to raise.

    Returns
    -------
    NamedTable, FaultList
        The cells, and what was found wrong with single rows so far.

    Raises
    ------
    BadInput
        Of the class that was given: the file cannot be read, or its header is not right.
    """
    path = Path(path)
    known, wanted = partial(_rate, columns=tuple(columns)), ", ".join(required)
    intake = take_in(path, error)
    if intake.kind == "workbook":
        grids = workbook_grids(path, intake, known, wanted, error)
        if len(grids) > 1:
            found = f"tables in the sheets {', '.join(grid.sheet for grid in grids)}"
            raise error(Fault(intake.name, found, "one sheet with such a table", "keep the one that is meant"))
        grid = grids[0]
    else:
        grid = text_grid(intake, known, wanted, error)
    faults = FaultList()
    kept_out = _check_header(grid, columns, required, faults)
    faults.raise_if_any(error)
    for extra, line in grid.cells.filter(pl.col(EXTRA) != "").select(EXTRA, LINE).iter_rows():
        found, allowed = f"{quoted(extra)} beyond the last named column", f"{len(grid.header)} cells, as the header has"
        todo = f"name the column, or take the cell out; the columns are {', '.join(columns)}"
        faults.add(Fault(f"{grid.where}, line {line}", found, allowed, todo), 0, line)
    cells = grid.cells.select(*(_text(grid, name).alias(name) for name in columns), pl.col(LINE).alias("at line"))
    notes = grid.notes if not kept_out else (*grid.notes, f"columns kept out: {', '.join(map(quoted, kept_out))}")
    present = tuple(name for name in columns if column(grid, name) is not None)
    return NamedTable(grid.where, cells, notes, intake.digest, present), faults


def _rate(cell: str, columns: tuple[str, ...]) -> float:
    name = plain_name(cell)
    if name in columns:
        return 1.0
    return 0.6 if nearest(name, columns) else 0.0


def _text(grid: Grid, name: str) -> pl.Expr:
    key = column(grid, name)
    return pl.lit("") if key is None else pl.col(key)


def _check_header(grid: Grid, columns: Sequence[str], required: Sequence[str], faults: FaultList) -> list[str]:
    """Note repeated, misspelt and missing names; give the names that are no columns of such a table."""
    where = f"{grid.where}, line {grid.header_line}"
    plain = [plain_name(name) for name in grid.header if name]
    for name in dict.fromkeys(name for name in plain if plain.count(name) > 1):
        faults.add(Fault(where, f"the column {quoted(name)} {plain.count(name)} times", "each name once", "remove one"))
    missing = [name for name in required if name not in plain]
    kept_out = []
    for name in dict.fromkeys(name for name in plain if name not in columns):
        meant = nearest(name, columns)
        if meant is None or meant in plain:
            kept_out.append(name)
            continue
        missing = [other for other in missing if other != meant]
        faults.add(Fault(where, f"the column {quoted(name)}", f'"{meant}"', f'write "{meant}", or rename it clearly'))
    if missing:
        found = f"no column {' and no column '.join(missing)} among {', '.join(map(quoted, grid.header[:20]))}"
        faults.add(Fault(where, found, f"the columns {', '.join(required)}", "add what is missing"))
    return kept_out
