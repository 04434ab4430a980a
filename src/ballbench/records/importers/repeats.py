"""Repeat numbers: as written, or counted from 1 in the order of the file."""

from __future__ import annotations

import numpy as np
import polars as pl

from ballbench.errors import Fault
from ballbench.records.coding import Ints, rank_in_group
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.draft import Draft
from ballbench.records.importers.row_faults import add_row_faults, where_of

__all__ = ["with_repeats"]

_MOST = 10**6  # no one repeats a reading so often (own choice)


def with_repeats(draft: Draft, rows: pl.DataFrame, cell: Ints, faults: FaultList) -> pl.DataFrame:
    """Give every reading its repeat number.

    Parameters
    ----------
    draft : Draft
        Where the rows come from.
    rows : polars.DataFrame
        With ``repeat`` as written.
    cell : (N,) int64
        Which product, box, ball, quantity and axis a row belongs to.
    faults : FaultList
        Takes in repeats that are no counting number.

    Returns
    -------
    polars.DataFrame
        With ``repeat`` as int64: the written one, or the next that is free in the cell.
    """
    written = rows.get_column("repeat")
    if not (written != "").any():
        return rows.with_columns(pl.Series("repeat", rank_in_group(cell)))
    given = written.str.replace(r"\.0+$", "").cast(pl.Int64, strict=False)
    wrong = (written != "") & (given.is_null() | (given < 1) | (given > _MOST)).fill_null(value=True)
    add_row_faults(
        faults,
        rows.filter(wrong),
        lambda row: Fault(
            where_of(draft, row, "repeat"),
            quoted(row["repeat"]),
            "1, 2, 3 and so on, or nothing",
            "number the repeats of a place from 1, or leave the column blank",
        ),
    )
    repeat = given.fill_null(0).to_numpy().copy()
    missing = (written == "").to_numpy()
    if missing.any():
        _fill(repeat, missing, cell)
    return rows.with_columns(pl.Series("repeat", repeat, dtype=pl.Int64))


def _fill(repeat: Ints, missing: np.ndarray[tuple[int], np.dtype[np.bool_]], cell: Ints) -> None:
    """Write the next free numbers of a cell into its missing repeats, in place."""
    mixed = np.isin(cell, np.unique(cell[~missing])) & missing
    plain = missing & ~mixed
    repeat[plain] = rank_in_group(cell[plain])
    taken: dict[int, set[int]] = {}
    of_mixed = np.isin(cell, np.unique(cell[mixed])) & ~missing
    for key, number in zip(cell[of_mixed].tolist(), repeat[of_mixed].tolist(), strict=True):
        taken.setdefault(key, set()).add(number)
    free: dict[int, int] = {}
    for row in np.flatnonzero(mixed).tolist():
        key = int(cell[row])
        number = free.get(key, 0) + 1
        while number in taken[key]:
            number += 1
        repeat[row] = free[key] = number
