"""The display step of an instrument, seen from the readings as they were written."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import factor
from ballbench.records.readings import Readings

__all__ = ["base_unit", "display_steps"]

_COARSE_READINGS = 30  # readings that must all be multiples of a coarser step before it is believed (own choice)
_COARSE_VALUES = 8  # and that many different values among them: by chance at most 1 in 2^8 (own choice)


def base_unit(readings: Readings, quantity: str) -> str:
    """Give the unit in which values of a quantity are stored.

    Parameters
    ----------
    readings : Readings
        Its `units` come first, for quantities that a requirement declares.
    quantity : str
        As in the file.

    Returns
    -------
    str
        Unit symbol; ``"1"`` for a pure number or where nothing is known.
    """
    kind = KINDS.get(quantity)
    return readings.units.get(quantity) or (kind.unit if kind else "1")


def display_steps(readings: Readings) -> dict[tuple[str, str], float]:
    """Give the display step of every instrument, quantity by quantity.

    The step is one unit of the last decimal that the file shows, in the unit that most of the instrument's readings
    were written in. Where at least 30 readings with 8 different values are all multiples of 2, 5 or 10 such units,
    it is that multiple (a display that moves by 0.0005 in, say).

    Parameters
    ----------
    readings : Readings
        As imported.

    Returns
    -------
    dict of (str, str) to float
        By quantity and instrument (empty where none is named), in the quantity's base unit; never NaN.
    """
    numbers = readings.table.filter(pl.col("value").is_not_null())
    per_unit = numbers.group_by("quantity", "instrument", "unit", maintain_order=True).agg(
        pl.len().alias("rows"), pl.col("decimals").max(), pl.col("value")
    )
    most_used = per_unit.sort("rows", descending=True, maintain_order=True).unique(
        ["quantity", "instrument"], keep="first", maintain_order=True
    )
    steps = {}
    for row in most_used.iter_rows(named=True):
        base = base_unit(readings, row["quantity"])
        unit = factor(row["unit"] or base, base)
        last = unit * 10.0 ** -row["decimals"]
        steps[row["quantity"], row["instrument"]] = last * _multiple(np.asarray(row["value"], dtype=np.float64) / last)
    return steps


def _multiple(counts: npt.NDArray[np.float64]) -> int:
    """Give the coarsest of 10, 5, 2 that divides every count of last-place units; 1 without enough readings."""
    if counts.size < _COARSE_READINGS:
        return 1
    whole = np.unique(np.rint(counts))
    if whole.size < _COARSE_VALUES:
        return 1
    return next((multiple for multiple in (10, 5, 2) if not np.any(whole % multiple)), 1)
