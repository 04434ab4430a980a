"""The long form: one row a reading."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from ballbench.errors import Fault
from ballbench.records.importers.draft import DRAFT_TEXTS, SHEET, SOURCE, Draft
from ballbench.records.importers.grid import LINE, Grid, column, plain_name

__all__ = ["decimal_comma_doubt", "long_draft", "shared_columns", "sheet_note"]

_NEVER_DIGITS = ("unit", "time", "note")
"""Columns that bare digits never belong in; places, balls and people may well be numbered."""

_MOST = 0.5  # the share of rows from which digits beside whole numbers are doubtful (own choice)


def long_draft(grid: Grid) -> Draft:
    """Turn a table in the long form into a draft.

    Parameters
    ----------
    grid : Grid
        With the columns product (or a sheet), ball, quantity and value.

    Returns
    -------
    Draft
        Its rows in the order of the file.
    """
    texts = {**shared_columns(grid), "quantity": _text(grid, "quantity"), "value": _text(grid, "value")}
    rows = grid.cells.select(
        *(texts[name].alias(name) for name in DRAFT_TEXTS),
        pl.col(LINE),
        pl.lit(0, dtype=pl.UInt32).alias(SHEET),
        pl.lit(0, dtype=pl.UInt32).alias(SOURCE),
    )
    return Draft(rows, (grid.where,), ("value",), (*grid.notes, *sheet_note(grid), "long form: one row a reading"))


def shared_columns(grid: Grid) -> Mapping[str, pl.Expr]:
    """Give the columns that both forms share; the sheet stands for the product where the table names none."""
    texts = {name: _text(grid, name) for name in DRAFT_TEXTS if name not in {"quantity", "value"}}
    if column(grid, "product") is None and grid.sheet:
        texts["product"] = pl.lit(grid.sheet.strip())
    return texts


def decimal_comma_doubt(grid: Grid) -> Fault | None:
    """Notice decimal commas without quotes in a comma-separated file, where they look like one more column.

    Parameters
    ----------
    grid : Grid
        A table in the long form.

    Returns
    -------
    Fault or None
        Set when every value is a whole number and the column to its right holds digits that do not belong there.
    """
    key = column(grid, "value")
    if grid.separator != "," or key is None or int(key) + 1 >= len(grid.header):
        return None
    beside, name = str(int(key) + 1), plain_name(grid.header[int(key) + 1])
    rows = grid.cells.filter((pl.col(key) != "") & ~pl.col(key).str.contains(r"^[A-Za-z]+$"))
    if name not in DRAFT_TEXTS or rows.is_empty() or not rows.get_column(key).str.contains(r"^[+-]?\d+$").all():
        return None
    if not _stray_digits(rows.get_column(beside), name, overlong=grid.overlong):
        return None
    row = rows.row(0, named=True)
    return Fault(
        f"{grid.where}, line {row[LINE]}",
        f"whole numbers in column value and digits in column {name} beside it, such as {row[key]},{row[beside]}",
        "decimal commas only inside quotes, or with semicolons between the cells",
        "save with semicolons between the cells, or write decimal points",
    )


def _stray_digits(cells: pl.Series, name: str, *, overlong: bool) -> bool:
    """Say whether most of a column's cells are digits that look like the fraction of the number beside them."""
    if name == "repeat":
        counted = cells.cast(pl.Int64, strict=False).drop_nulls().unique().sort().to_list()
        fractions = cells.str.contains(r"^0\d*$|^[1-9]\d+$")
        return bool(fractions.sum() > _MOST * cells.len()) and counted != list(range(1, len(counted) + 1))
    if name in _NEVER_DIGITS or overlong:
        return bool(cells.str.contains(r"^\d{1,4}$").sum() > _MOST * cells.len())
    return False


def _text(grid: Grid, name: str) -> pl.Expr:
    """Give a column by its plain name, empty texts where the table has none."""
    key = column(grid, name)
    return pl.lit("") if key is None else pl.col(key)


def sheet_note(grid: Grid) -> tuple[str, ...]:
    """Say that the sheet's name is the product, where it is."""
    if column(grid, "product") is None and grid.sheet:
        return (f"sheet {grid.sheet}: no column product, so the sheet's name is the product",)
    return ()
