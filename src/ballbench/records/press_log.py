"""The log of a press: how far balls gave way under a load, with the make and the kind of reading beside each row."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.written_forces import newtons
from ballbench.records.written_steps import written_steps
from ballbench.records.written_units import exact_factor

__all__ = ["PRESS_COLUMNS", "PressLog", "PressRow", "read_press_log"]

PRESS_COLUMNS = (
    "product", "quantity", "ball", "orientation", "direction", "load", "preload", "load_unit", "seconds",
    "deformation", "unit", "repeat", "u",
)  # fmt: skip
_NEEDED = ("product", "ball", "orientation", "direction", "load", "preload", "seconds", "deformation")
_NUMBERS = ("load", "preload", "seconds", "deformation", "repeat", "u")
_NAMED = {
    "product": "the name of the make", "ball": "the ball's name or number",
    "orientation": "how the ball lay", "direction": "forward or return",
}  # fmt: skip
_QUANTITIES = ("deformation", "hardness")


@dataclass(frozen=True, slots=True)
class PressRow:
    """One reading of a press, as far as a table tells.

    Parameters
    ----------
    line : int
        Its line in the file.
    product, quantity : str
        The make; ``deformation`` between plates, or ``hardness``, the depth of an indenter.
    fields : dict of str to object
        What `ballbench.physics.deformation.press_readings` takes: forces in N, lengths in mm.
    u : float or None
        Standard uncertainty of the reading, mm; None: not said.
    step : float
        One unit of the last decimal that was written, mm.
    """

    line: int
    product: str
    quantity: str
    fields: dict[str, object]
    u: float | None
    step: float


@dataclass(frozen=True, slots=True)
class PressLog:
    """A press's log: how messages name it, its rows in order, how it was read, and the digest of its bytes."""

    where: str
    rows: tuple[PressRow, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""


def read_press_log(path: Path) -> tuple[PressLog, FaultList]:
    """Read the log of a press.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns product, ball, orientation, direction, load, preload, seconds, deformation, and any
        of quantity (deformation unless said), load_unit (N unless said; a mass such as kg stands for its weight), unit
        (mm unless said; of deformation and u), repeat, u.

    Returns
    -------
    PressLog, FaultList
        Every row, those with faults too as far as they can be read, so that all faults can be told at once: what the
        caller finds wrong with the rows goes into the same list.

    Raises
    ------
    BadReadings
        The file cannot be read, its header is not right, or it has no row.
    """
    table, faults = read_named_table(path, PRESS_COLUMNS, _NEEDED, BadReadings)
    numbers = NumberColumns(table, _NUMBERS, faults)
    steps = written_steps(table, ("deformation",))
    rows = tuple(
        _row(table, numbers, index, row, steps[index], faults)
        for index, row in enumerate(table.cells.iter_rows(named=True))
    )
    if not rows:
        todo = "press a ball and write down what the gauge shows"
        raise BadReadings(Fault(table.where, "no row below the header", "a row for each reading", todo))
    by_mass = any(_is_mass(str(row["load_unit"])) for row in table.cells.iter_rows(named=True))
    more = ("a load given as a mass is the weight of that mass at 9.807 m/s2",) if by_mass else ()
    return PressLog(table.where, rows, (*table.notes, *more), table.digest), faults


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, row: dict[str, object], step: float, faults: FaultList
) -> PressRow:
    line = int(str(row["at line"]))
    for name, words in _NAMED.items():
        if not str(row[name]):
            place = cell_place(table, line, name)
            faults.add(Fault(place, "an empty cell", f"{words} in every line", "write it down"), 0, line)
    quantity = str(row["quantity"]).casefold() or "deformation"
    if quantity not in _QUANTITIES:
        rule = "deformation (between plates) or hardness (the depth of an indenter)"
        faults.add(
            Fault(cell_place(table, line, "quantity"), quoted(row["quantity"]), rule, "say which it is"), 0, line
        )
    read = {
        name: numbers.value(name, index, needed=name in _NEEDED, least=0.0 if name != "repeat" else None)
        for name in ("load", "preload", "seconds", "deformation", "repeat")
    }
    u = numbers.value("u", index, above=0.0)
    force = _factor(table, line, "load_unit", str(row["load_unit"]) or "N", faults)
    scale = _factor(table, line, "unit", str(row["unit"]) or "mm", faults)
    fields: dict[str, object] = {name: str(row[name]) for name in ("ball", "orientation")}
    fields["direction"] = str(row["direction"]).casefold()
    for name, own, times in (
        ("load", "load_n", force), ("preload", "preload_n", force), ("seconds", "seconds", 1.0),
        ("deformation", "deformation_mm", scale), ("repeat", "repeat", 1.0),
    ):  # fmt: skip
        value = read[name]
        if value is not None:
            fields[own] = value * times
    return PressRow(line, str(row["product"]), quantity, fields, None if u is None else u * scale, step * scale)


def _is_mass(unit: str) -> bool:
    try:
        exact_factor(unit, "kg")
    except UnitError:
        return False
    return bool(unit)


def _factor(table: NamedTable, line: int, column: str, unit: str, faults: FaultList) -> float:
    try:
        return newtons(unit) if column == "load_unit" else exact_factor(unit, "mm")
    except UnitError:
        allowed = "a unit of force, or of mass for its weight" if column == "load_unit" else "a unit of length"
        faults.add(Fault(cell_place(table, line, column), quoted(unit), allowed, "correct the unit"), 0, line)
        return 1.0
