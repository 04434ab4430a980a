"""From a draft to readings: every check over all rows, all faults at once, one table."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import polars as pl

from ballbench.errors import BadReadings
from ballbench.quantities.kinds import KINDS
from ballbench.records.coding import Ints, codes_of
from ballbench.records.fault_list import FaultList
from ballbench.records.importers.draft import Draft
from ballbench.records.importers.names_check import canonical_axes, canonical_quantities, name_notes, required_names
from ballbench.records.importers.repeats import with_repeats
from ballbench.records.importers.unit_conversion import in_base_units
from ballbench.records.importers.value_check import split_spoiled, valued
from ballbench.records.readings import SCHEMA, Readings

__all__ = ["assemble"]

_BALL = ["product", "box", "ball"]


def assemble(draft: Draft, quantities: Mapping[str, str], digest: str, faults: FaultList) -> Readings:
    """Check a draft and make its readings.

    Parameters
    ----------
    draft : Draft
        All rows of the file.
    quantities : mapping of str to str
        Base unit by canonical name.
    digest : str
        Of the file.
    faults : FaultList
        What was found so far.

    Returns
    -------
    Readings
        Sorted by product, quantity and ball in order of first appearance, then by row.

    Raises
    ------
    BadReadings
        Anything is wrong with the file.
    """
    rows = canonical_quantities(draft, quantities, faults)
    rows = required_names(draft, rows, faults)
    rows, spoiled = split_spoiled(draft, rows, faults)
    read = valued(draft, rows, quantities, faults)
    rows, unit_notes = in_base_units(draft, read.rows, quantities, faults)
    rows, axis_notes = canonical_axes(rows)
    ball = codes_of(rows, _BALL)
    quantity = codes_of(rows, ["quantity"])
    rows = with_repeats(draft, rows, _cells(rows, ball, quantity), faults)
    faults.raise_if_any(BadReadings)
    order = np.lexsort((ball, quantity, codes_of(rows, ["product"])))
    if np.any(np.diff(order) < 0):
        rows = rows[order]
    table = rows.rename({"value": "text", "number": "value"}).select(
        pl.col(name).cast(kind) for name, kind in SCHEMA.items()
    )
    declared = {name: quantities[name] for name in table.get_column("quantity").unique() if name not in KINDS}
    notes = (*draft.notes, *read.notes, *unit_notes, *axis_notes, *name_notes(table))
    return Readings(table, spoiled, tuple(dict.fromkeys(notes)), digest, declared)


def _cells(rows: pl.DataFrame, ball: Ints, quantity: Ints) -> Ints:
    """Give every combination of ball, quantity and axis a number."""
    axis = codes_of(rows, ["axis"])
    quantities, axes = int(quantity.max(initial=0)) + 1, int(axis.max(initial=0)) + 1
    return (ball * quantities + quantity) * axes + axis
