"""Readings of balls at stated forces of the jaws: what the squeeze is found from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.written_forces import newtons
from ballbench.records.written_units import exact_factor

__all__ = ["FORCE_COLUMNS", "ForceReading", "ForceReadings", "read_force_readings"]

FORCE_COLUMNS = ("product", "ball", "axis", "force", "force_unit", "value", "unit")


@dataclass(frozen=True, slots=True)
class ForceReading:
    """One reading, mm, of a ball at a place under a force, N.

    `line` is its line in the file; `hung` the mass, g, whose weight the force is, NaN where it was written as a force.
    """

    line: int
    product: str
    ball: str
    axis: str
    force: float
    value: float
    hung: float = math.nan


@dataclass(frozen=True, slots=True)
class ForceReadings:
    """A file of readings at stated forces, how it was read, and the digest of its bytes."""

    readings: tuple[ForceReading, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""


def read_force_readings(path: Path) -> ForceReadings:
    """Read readings at stated forces.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns product, ball, force, value, and any of axis, force_unit (N unless said; a mass
        such as g stands for the weight that hangs on the slide), unit (mm unless said).

    Returns
    -------
    ForceReadings
        Forces in N, readings in mm.

    Raises
    ------
    BadReadings
        All faults at once.
    """
    table, faults = read_named_table(path, FORCE_COLUMNS, ("product", "ball", "force", "value"), BadReadings)
    numbers = NumberColumns(table, ("force", "value"), faults)
    rows = [_row(table, numbers, index, row, faults) for index, row in enumerate(table.cells.iter_rows(named=True))]
    faults.raise_if_any(BadReadings)
    hung = any(str(row["force_unit"]) not in {"", "N"} for row in table.cells.iter_rows(named=True))
    notes = (*table.notes, "a force given as a mass is the weight of that mass at 9.807 m/s2") if hung else table.notes
    return ForceReadings(tuple(row for row in rows if row is not None), notes, table.digest)


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, row: dict[str, object], faults: FaultList
) -> ForceReading | None:
    before, line = faults.total, int(str(row["at line"]))
    for name in ("product", "ball"):
        if not str(row[name]):
            fault = Fault(
                cell_place(table, line, name), "an empty cell", f"a {name} in every line", f"write the {name}"
            )
            faults.add(fault, 0, line)
    force = numbers.value("force", index, needed=True, least=0.0)
    value = numbers.value("value", index, needed=True, above=0.0)
    unit = str(row["force_unit"]) or "N"
    pull = _newtons(table, line, unit, faults)
    scale = _millimetres(table, line, str(row["unit"]) or "mm", faults)
    if faults.total > before or force is None or value is None:
        return None
    hung = force * _grams(unit)
    place = (str(row["product"]), str(row["ball"]), str(row["axis"]))
    return ForceReading(line, *place, force * pull, value * scale, hung)


def _newtons(table: NamedTable, line: int, unit: str, faults: FaultList) -> float:
    """Give the factor to N; a unit of mass stands for its weight."""
    try:
        return newtons(unit)
    except UnitError:
        allowed = "a unit of force, or a mass"
        faults.add(Fault(cell_place(table, line, "force_unit"), quoted(unit), allowed, "correct the unit"), 0, line)
        return 1.0


def _grams(unit: str) -> float:
    """Give the factor to g; NaN for a unit of force."""
    try:
        return exact_factor(unit, "g")
    except UnitError:
        return math.nan


def _millimetres(table: NamedTable, line: int, unit: str, faults: FaultList) -> float:
    try:
        return exact_factor(unit, "mm")
    except UnitError:
        allowed = "a unit that can be turned into mm"
        faults.add(Fault(cell_place(table, line, "unit"), quoted(unit), allowed, "correct the unit"), 0, line)
        return 1.0
