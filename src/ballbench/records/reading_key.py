"""How one reading is pointed at in a corrections file."""

from __future__ import annotations

import csv
import io

import polars as pl

__all__ = ["CONTRACT_COLUMNS", "CORRECTION_COLUMNS", "KEY", "ambiguous_rows", "correction_line"]

CONTRACT_COLUMNS = ("product", "ball", "quantity", "axis", "repeat", "action", "value", "reason", "by", "time")
"""Columns of a corrections file."""

CORRECTION_COLUMNS = (*CONTRACT_COLUMNS, "box", "line", "unit")
"""The same, then what singles out a reading whose key occurs twice, and a unit of the value's own."""

KEY = ("product", "ball", "quantity", "axis", "repeat")
"""Columns that point at a reading."""


def ambiguous_rows(table: pl.DataFrame, asked: pl.DataFrame) -> set[tuple[object, ...]]:
    """Find the keys among some rows that point at more than one reading of a table.

    Parameters
    ----------
    table : polars.DataFrame
        All readings.
    asked : polars.DataFrame
        The rows whose keys are looked at.

    Returns
    -------
    set of tuple
        Keys in the order of `KEY`.
    """
    if asked.is_empty():
        return set()
    alike = table.select(KEY).join(asked.select(KEY).unique(), on=list(KEY), how="semi")
    counts = alike.group_by(list(KEY)).len().filter(pl.col("len") > 1)
    return set(counts.select(KEY).iter_rows())


def correction_line(
    key: tuple[object, ...], action: str, value: str = "", single_out: tuple[str, int] | None = None
) -> str:
    """Write a line of a corrections file, its reason left to the person.

    Parameters
    ----------
    key : tuple
        Values in the order of `KEY`.
    action : str
        ``correct``, ``exclude`` or ``keep``.
    value : str
        The right value, for ``correct``.
    single_out : tuple of str and int, or None
        Box and line, written at the end where the key alone points at several readings.

    Returns
    -------
    str
        Cells in the order of `CONTRACT_COLUMNS`, then box and line.
    """
    cells = [*map(str, key), action, value, "", "", "", *(map(str, single_out) if single_out else ())]
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow(cells)
    return text.getvalue()
