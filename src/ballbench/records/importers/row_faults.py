"""Faults of single rows, found all at once in a column and told row by row."""

from __future__ import annotations

from collections.abc import Callable

import polars as pl

from ballbench.errors import Fault
from ballbench.records.fault_list import KEPT, FaultList
from ballbench.records.importers.draft import SHEET, SOURCE, Draft, place

__all__ = ["add_row_faults", "where_of"]

Row = dict[str, object]


def where_of(draft: Draft, row: Row, column: str = "") -> str:
    """Say where a draft's row stands; the column ``"value"`` is the one that its value was read from.

    Parameters
    ----------
    draft : Draft
        Where the row comes from.
    row : dict
        With line, sheet and source.
    column : str
        Which column the fault is in; empty: the row as a whole.

    Returns
    -------
    str
        ``"box.csv, line 7, column value"``.
    """
    sheet, line, source = (int(str(row[name])) for name in (SHEET, "line", SOURCE))
    return place(draft, sheet, line, draft.sources[source] if column == "value" else column)


def add_row_faults(faults: FaultList, bad: pl.DataFrame, make: Callable[[Row], Fault]) -> None:
    """Note a fault for every row of a frame.

    Parameters
    ----------
    faults : FaultList
        Takes them in.
    bad : polars.DataFrame
        Rows of a draft that break one rule.
    make : callable
        Gives the fault of one row.
    """
    first = bad.head(KEPT).iter_rows(named=True)
    faults.add_all([((int(row[SHEET]), int(row["line"])), make(row)) for row in first], bad.height)
