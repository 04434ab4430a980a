"""Balls rolled down a ramp: how far each run veered, about which axis, and the ramp as it stood."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.ramp_as_it_stood import SET_UP, RampAsItStood, StandingRamp
from ballbench.records.written_steps import written_steps
from ballbench.records.written_units import exact_factor

__all__ = ["AXES", "ROLL_COLUMNS", "RollLog", "RollRow", "read_roll_log"]

ROLL_COLUMNS = (
    "product", "ball", "orientation", "direction", "repeat", "veer", "unit", "u", "note", *SET_UP,
)  # fmt: skip
_NEEDED = ("product", "ball", "orientation", "direction", "veer")
_NUMBERS = ("repeat", "veer", "u", "slope", "run_out", "angle", "angle_u", "rise", "ball_diameter")
AXES = ("A", "B", "C")
"""Three marked axes at right angles."""
_TURNED = {"as placed": False, "placed": False, "turned": True}
_MOST_VEER = 5000.0
"""mm: more is a slip (own choice)."""


@dataclass(frozen=True, slots=True)
class RollRow:
    """One run of a ball.

    Parameters
    ----------
    line : int
        Its line in the file.
    product, ball : str
        Whose.
    axis : str
        ``A``, ``B`` or ``C``: the marked axis about which the ball span, across the slope.
    turned : bool
        False: its mark on the right as seen going down; True: the ball turned by 180 degrees about the downhill axis.
    veer : float
        Sideways at the read line, mm, to the right as seen going down.
    u : float
        Standard uncertainty of one run's veer, mm; NaN: not said.
    step : float
        One unit of the last decimal that was written, mm.
    ramp : StandingRamp
        The ramp as it stood.
    """

    line: int
    product: str
    ball: str
    axis: str
    turned: bool
    veer: float
    u: float
    step: float
    ramp: StandingRamp


@dataclass(frozen=True, slots=True)
class RollLog:
    """A log of runs: its rows in order, spoiled attempts with their reasons, how it was read, and its digest."""

    rows: tuple[RollRow, ...]
    spoiled: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    digest: str = ""


def read_roll_log(path: Path) -> RollLog:
    """Read the log of a ramp.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns product, ball, orientation (A, B, C), direction (as placed, turned), veer, the
        set-up columns of `ballbench.records.ramp_as_it_stood`, and any of repeat, unit (mm unless said; of veer and u),
        u, note. A row without a veer whose note begins with ``spoiled`` is a spoiled attempt: counted, never a reading.

    Returns
    -------
    RollLog
        Lengths in mm.

    Raises
    ------
    BadReadings
        All faults at once: empty cells, words for numbers, an orientation or direction of another name, a set-up that
        is missing or cannot be, one run written twice.
    """
    table, faults = read_named_table(path, ROLL_COLUMNS, _NEEDED, BadReadings)
    numbers = NumberColumns(table, _NUMBERS, faults)
    steps = written_steps(table, ("veer",))
    ramp = RampAsItStood(table, numbers, faults)
    rows, spoiled = [], []
    for index, cells in enumerate(table.cells.iter_rows(named=True)):
        before = faults.total
        standing = ramp.at(index, cells)
        note = str(cells["note"])
        if not str(cells["veer"]) and note.casefold().startswith("spoiled"):
            spoiled.append((str(cells["product"]), note.partition(":")[2].strip() or "no reason given"))
            continue
        row = _row(table, numbers, index, cells, steps[index], standing, faults)
        if row is not None and faults.total == before:
            rows.append(row)
    _each_run_once(table, faults)
    faults.raise_if_any(BadReadings)
    if not rows:
        todo = "roll a ball down the ramp and write down how far it veers"
        raise BadReadings(Fault(table.where, "no run below the header", "a row for each run", todo))
    return RollLog(tuple(rows), tuple(spoiled), table.notes, table.digest)


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, cells: dict[str, object], step: float,
    standing: StandingRamp | None, faults: FaultList,
) -> RollRow | None:  # fmt: skip
    line = int(str(cells["at line"]))
    for name in ("product", "ball"):
        if not str(cells[name]):
            place = cell_place(table, line, name)
            faults.add(Fault(place, "an empty cell", f"a {name} in every line", f"write the {name}"), 0, line)
    axis = str(cells["orientation"]).strip().upper()
    if axis not in AXES:
        rule = "A, B or C: three marked axes at right angles"
        todo = "say which axis lay across the slope"
        faults.add(Fault(cell_place(table, line, "orientation"), quoted(cells["orientation"]), rule, todo), 0, line)
    turned = _TURNED.get(" ".join(str(cells["direction"]).casefold().split()))
    if turned is None:
        rule = "as placed (the mark on the right) or turned (by 180 degrees about the downhill axis)"
        todo = "say how the ball lay"
        faults.add(Fault(cell_place(table, line, "direction"), quoted(cells["direction"]), rule, todo), 0, line)
    numbers.value("repeat", index, least=1.0, whole=True)
    veer, u = numbers.value("veer", index, needed=True), numbers.value("u", index, above=0.0)
    scale = _scale(table, line, str(cells["unit"]), faults)
    if veer is not None and abs(veer * scale) > _MOST_VEER:
        rule = f"at most {_MOST_VEER:g} mm to either side"
        faults.add(
            Fault(cell_place(table, line, "veer"), quoted(cells["veer"]), rule, "look at number and unit"), 0, line
        )
    if veer is None or standing is None or turned is None:
        return None
    return RollRow(
        line, str(cells["product"]), str(cells["ball"]), axis, turned, veer * scale,
        math.nan if u is None else u * scale, step * scale, standing,
    )  # fmt: skip


def _scale(table: NamedTable, line: int, unit: str, faults: FaultList) -> float:
    try:
        return exact_factor(unit or "mm", "mm")
    except UnitError:
        allowed = "a unit that can be turned into mm"
        faults.add(Fault(cell_place(table, line, "unit"), quoted(unit), allowed, "correct the unit"), 0, line)
        return 1.0


def _each_run_once(table: NamedTable, faults: FaultList) -> None:
    """Runs with a repeat number stand once in a sitting."""
    first: dict[tuple[str, ...], int] = {}
    sitting = ""
    for cells in table.cells.iter_rows(named=True):
        line = int(str(cells["at line"]))
        sitting = str(cells["sitting"]) or sitting
        if not str(cells["repeat"]):
            continue
        names = ("product", "ball", "orientation", "direction", "repeat")
        key = (*(str(cells[name]).casefold() for name in names), sitting)
        held = first.setdefault(key, line)
        if held != line:
            found = f"repeat {cells['repeat']} of the run in line {held}"
            todo = "number the repeats on, name another sitting, or leave repeat empty"
            faults.add(Fault(cell_place(table, line, "repeat"), found, "each run once", todo), 0, line)
