"""A readings file, of whatever format and layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl

from ballbench.errors import BadReadings, Fault
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.assembly import assemble
from ballbench.records.importers.csv_text import text_grid
from ballbench.records.importers.draft import Draft, combined
from ballbench.records.importers.file_intake import take_in
from ballbench.records.importers.grid import EXTRA, LINE, Grid
from ballbench.records.importers.layout import REQUIRED, all_quantities, header_faults, is_wide, recogniser
from ballbench.records.importers.long_form import decimal_comma_doubt, long_draft
from ballbench.records.importers.row_faults import add_row_faults
from ballbench.records.importers.wide_form import wide_draft, wide_faults
from ballbench.records.importers.xlsx import workbook_grids
from ballbench.records.readings import Readings

__all__ = ["read_readings"]


def read_readings(path: Path, declared: Mapping[str, str] | None = None) -> Readings:
    """Read a readings file: CSV with any usual separator, or XLSX; long form or wide form.

    Parameters
    ----------
    path : Path
        The file.
    declared : mapping of str to str, or None
        Further quantities with their base unit, from the requirement.

    Returns
    -------
    Readings
        Every reading in the base unit of its quantity, with its line; how the file was read stands in the notes.

    Raises
    ------
    BadReadings
        Anything is wrong with the file; all faults at once, at most 1000 of them kept.
    """
    path = Path(path)
    quantities = all_quantities(declared)
    known, wanted = recogniser(quantities), ", ".join(REQUIRED)
    intake = take_in(path, BadReadings)
    if intake.kind == "workbook":
        grids = workbook_grids(path, intake, known, wanted, BadReadings)
    else:
        grids = [text_grid(intake, known, wanted, BadReadings)]
    faults = FaultList()
    drafts = [draft for grid in grids if (draft := _draft(grid, list(quantities), faults)) is not None]
    digest = intake.digest
    del intake, grids
    if not drafts:
        faults.raise_if_any(BadReadings)
    draft = combined(drafts)
    del drafts
    return assemble(draft, quantities, digest, faults)


def _draft(grid: Grid, quantities: Sequence[str], faults: FaultList) -> Draft | None:
    """Make a draft of one table; None where its columns do not allow it."""
    found, kept_out = header_faults(grid, quantities)
    wide = is_wide(grid, quantities)
    if wide and not found:
        found = wide_faults(grid, quantities)
    for fault in found:
        faults.add(fault, grid.number, grid.header_line)
    if grid.cells.is_empty():
        where = f"{grid.where}, line {grid.header_line}"
        fault = Fault(where, "a header with no row below it", "one row a reading", "check which file was meant")
        faults.add(fault, grid.number, grid.header_line)
        return None
    _extra_cells(grid, faults)
    doubt = None if wide or found else decimal_comma_doubt(grid)
    if doubt is not None:
        faults.add(doubt, grid.number, grid.header_line)
    if found or doubt is not None:
        return None
    draft = wide_draft(grid, quantities) if wide else long_draft(grid)
    return Draft(draft.rows, draft.wheres, draft.sources, (*draft.notes, *_kept_out(grid, kept_out)))


def _extra_cells(grid: Grid, faults: FaultList) -> None:
    """Find rows with more in them than the header has names for."""
    bad = grid.cells.filter(pl.col(EXTRA) != "")
    if bad.is_empty():
        return
    todo = "name the column, or take the cell out"
    if grid.separator == "," and bad.get_column(EXTRA).str.contains(r"^\S*\d").any():
        todo = "if the numbers have decimal commas, save with semicolons between the cells; otherwise name the column"
    bad = bad.with_columns(pl.lit(grid.number).alias("sheet"))
    add_row_faults(
        faults,
        bad,
        lambda row: Fault(
            f"{grid.where}, line {row[LINE]}",
            f"{quoted(row[EXTRA])} beyond the last named column",
            f"{len(grid.header)} cells, as the header has",
            todo,
        ),
    )


def _kept_out(grid: Grid, names: Sequence[str]) -> tuple[str, ...]:
    """Say which columns were not read."""
    if not names:
        return ()
    listed = ", ".join(quoted(name) if name else "one without a name" for name in names)
    return (f"{grid.where}: columns kept out, for they are no columns of a readings file: {listed}",)
