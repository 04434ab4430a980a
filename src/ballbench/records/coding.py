"""Names turned into integers in order of first appearance: a million readings are then sorted and grouped quickly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl

__all__ = ["coded_names", "codes_of", "rank_in_group"]

Ints = npt.NDArray[np.int64]


def codes_of(frame: pl.DataFrame, columns: Sequence[str]) -> Ints:
    """Give every combination of some columns a number, in order of first appearance.

    Parameters
    ----------
    frame : polars.DataFrame
        N rows; the columns hold no null.
    columns : sequence of str
        Which columns make up the name.

    Returns
    -------
    (N,) int64
        0 for the first combination that occurs, 1 for the next new one, and so on.
    """
    return coded_names(frame, columns)[0]


def coded_names(frame: pl.DataFrame, columns: Sequence[str]) -> tuple[Ints, pl.DataFrame]:
    """Give every combination of some columns a number, and what each number stands for.

    Parameters
    ----------
    frame : polars.DataFrame
        N rows; the columns hold no null.
    columns : sequence of str
        Which columns make up the name.

    Returns
    -------
    (N,) int64, polars.DataFrame
        The codes, and one row a code, in order.
    """
    names = frame.select(columns).unique(maintain_order=True)
    index = names.with_columns(pl.int_range(pl.len(), dtype=pl.Int64).alias("code of names"))
    joined = frame.select(columns).join(index, on=list(columns), how="left", maintain_order="left")
    return joined.get_column("code of names").to_numpy(), names


def rank_in_group(group: Ints) -> Ints:
    """Count the rows of each group from 1, in the order in which they stand.

    Parameters
    ----------
    group : (N,) int64
        The group of each row.

    Returns
    -------
    (N,) int64
        1 for a group's first row, 2 for its second, and so on.
    """
    if group.size == 0:
        return np.zeros(0, dtype=np.int64)
    order = np.argsort(group, kind="stable")
    ordered = group[order]
    starts = np.flatnonzero(np.concatenate(([True], ordered[1:] != ordered[:-1])))
    sizes = np.diff(np.concatenate((starts, [group.size])))
    rank = np.empty(group.size, dtype=np.int64)
    rank[order] = np.arange(group.size) - np.repeat(starts, sizes) + 1
    return rank
