"""What an indicator showed over turns of a ball in a vee, ball by ball."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.written_steps import written_steps
from ballbench.records.written_units import exact_factor

__all__ = ["VEE_COLUMNS", "VeeReadings", "VeeRow", "read_vee_readings"]

VEE_COLUMNS = (
    "product", "ball", "section", "angle", "angle_u", "setting", "low", "high", "unit", "turns", "lobes", "u",
    "meant",
)  # fmt: skip
_NUMBERS = ("angle", "angle_u", "low", "high", "turns", "lobes", "u")
_MOST_LOBES = 50
"""More crests than that over a turn are a surface and no form (own choice)."""

_LEAST_ANGLE = 10.0
"""A vee that is narrower pinches the ball (own choice)."""
_MOST_RANGE = 1000.0
"""In the unit of the indicator: more is a slip (own choice)."""

_BELIEVED = 5.0
"""Millimetres: a ball that moves an indicator by more is asked about, whatever the others do (own choice)."""

_BESIDE_OTHERS, _LEAST_ASKED, _FEWEST_OTHERS = 50.0, 1.0, 2
"""So many times the middle one of two other ranges or more is asked about too, from a millimetre on (own choice)."""

Setting = Literal["summit", "rider"]


@dataclass(frozen=True, slots=True)
class VeeRow:
    """One ball in one vee, turned once or several times.

    Parameters
    ----------
    line : int
        Its line in the file.
    product, ball, section : str
        Whose; the section names the great circle that was turned past the indicator and may be empty.
    angle : float
        Between the flanks, degrees; 180 for a flat table.
    angle_u : float
        Its standard uncertainty, degrees; NaN: not said.
    setting : str
        ``summit``: indicator opposite the vee; ``rider``: between the flanks.
    low, high : float
        Smallest and largest indication, mm.
    step : float
        One unit of the last decimal that was written, mm.
    turns : float
        How many turns; NaN: not said.
    lobes : int
        Crests counted over one turn; 0: not counted.
    u : float
        Standard uncertainty of the range, mm; NaN: not said.
    """

    line: int
    product: str
    ball: str
    section: str
    angle: float
    angle_u: float
    setting: Setting
    low: float
    high: float
    step: float
    turns: float
    lobes: int
    u: float


@dataclass(frozen=True, slots=True)
class VeeReadings:
    """A file of vee readings: its rows in the order of the file, how it was read, and the digest of its bytes."""

    rows: tuple[VeeRow, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""


def read_vee_readings(path: Path) -> VeeReadings:
    """Read what an indicator showed of balls in a vee.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns product, ball, angle, low, high, and any of section, angle_u, setting (summit
        unless said), unit (mm unless said; of low, high and u), turns, lobes (crests counted), u, meant (yes: a range
        beyond belief is so all the same).

    Returns
    -------
    VeeReadings
        Lengths in mm.

    Raises
    ------
    BadReadings
        All faults at once: empty cells, words for numbers, a low above its high, an angle that is none, a setting of
        another name, less than one turn, one section of a ball with two counts of lobes, a range beyond belief.
    """
    table, faults = read_named_table(path, VEE_COLUMNS, ("product", "ball", "angle", "low", "high"), BadReadings)
    numbers = NumberColumns(table, _NUMBERS, faults)
    steps = written_steps(table, ("low", "high"))
    rows = [
        _row(table, numbers, index, row, steps[index], faults)
        for index, row in enumerate(table.cells.iter_rows(named=True))
    ]
    found = tuple(row for row in rows if row is not None)
    _one_count_a_section(table, found, faults)
    meant = _meant(table, faults)
    _believable(table, found, meant, faults)
    faults.raise_if_any(BadReadings)
    if not found:
        todo = "turn a ball in a vee and write down the lowest and the highest indication"
        raise BadReadings(Fault(table.where, "no row below the header", "a row for each ball and vee", todo))
    return VeeReadings(found, table.notes, table.digest)


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, row: dict[str, object], step: float, faults: FaultList
) -> VeeRow | None:
    """Read one row; None when it is wrong."""
    before, line = faults.total, int(str(row["at line"]))
    for name, words in (("product", "the name of the make"), ("ball", "the ball's name or number")):
        if not str(row[name]):
            place = cell_place(table, line, name)
            faults.add(Fault(place, "an empty cell", f"{words} in every line", "write it down"), 0, line)
    angle = numbers.value("angle", index, needed=True)
    if angle is not None and not _LEAST_ANGLE <= angle <= 180.0:
        rule = f"degrees from {_LEAST_ANGLE:g} to 180, which is a flat table"
        todo = "write the angle between the flanks"
        faults.add(Fault(cell_place(table, line, "angle"), quoted(row["angle"]), rule, todo), 0, line)
    angle_u = numbers.value("angle_u", index, least=0.0)
    low, high = (numbers.value(name, index, needed=True) for name in ("low", "high"))
    if low is not None and high is not None and low > high:
        found = f"a low of {row['low']} above the high of {row['high']}"
        faults.add(Fault(cell_place(table, line, "low"), found, "a low up to the high", "exchange them"), 0, line)
    if low is not None and high is not None and high - low > _MOST_RANGE:
        found, rule = f"{row['low']} to {row['high']}", f"a range of {_MOST_RANGE:g} at most"
        faults.add(Fault(cell_place(table, line, "high"), found, rule, "look for a lost decimal mark"), 0, line)
    turns = numbers.value("turns", index, least=1.0)
    lobes = numbers.value("lobes", index, least=2.0, whole=True)
    if lobes is not None and lobes > _MOST_LOBES:
        rule = f"crests from 2 to {_MOST_LOBES}"
        faults.add(Fault(cell_place(table, line, "lobes"), quoted(row["lobes"]), rule, "count again"), 0, line)
    u = numbers.value("u", index, above=0.0)
    setting, scale = _setting(table, line, str(row["setting"]), faults), _scale(table, line, str(row["unit"]), faults)
    if faults.total > before or angle is None or low is None or high is None:
        return None
    return VeeRow(
        line, str(row["product"]), str(row["ball"]), str(row["section"]), angle, _or_nan(angle_u), setting,
        low * scale, high * scale, step * scale, _or_nan(turns), int(lobes or 0), _or_nan(u, scale),
    )  # fmt: skip


def _or_nan(value: float | None, scale: float = 1.0) -> float:
    return math.nan if value is None else value * scale


def _setting(table: NamedTable, line: int, text: str, faults: FaultList) -> Setting:
    word = text.casefold()
    if word not in {"", "summit", "rider"}:
        rule = "summit (indicator opposite the vee) or rider (between the flanks)"
        faults.add(Fault(cell_place(table, line, "setting"), quoted(text), rule, "say on which side it sits"), 0, line)
    return "rider" if word == "rider" else "summit"


def _scale(table: NamedTable, line: int, unit: str, faults: FaultList) -> float:
    try:
        return exact_factor(unit or "mm", "mm")
    except UnitError:
        allowed = "a unit that can be turned into mm"
        faults.add(Fault(cell_place(table, line, "unit"), quoted(unit), allowed, "correct the unit"), 0, line)
        return 1.0


def _one_count_a_section(table: NamedTable, rows: tuple[VeeRow, ...], faults: FaultList) -> None:
    """One section of a ball has one number of crests, whichever vee it lies in."""
    first: dict[tuple[str, str, str], VeeRow] = {}
    for row in rows:
        if not row.lobes:
            continue
        held = first.setdefault((row.product, row.ball, row.section), row)
        if held.lobes != row.lobes:
            found = f"{row.lobes} lobes, and {held.lobes} in line {held.line} for the same section"
            todo = "count again, or leave both empty"
            faults.add(Fault(cell_place(table, row.line, "lobes"), found, "one count a section", todo), 0, row.line)


def _meant(table: NamedTable, faults: FaultList) -> frozenset[int]:
    """Give the lines of which it is said that their range is meant."""
    out = set()
    for row in table.cells.iter_rows(named=True):
        line, word = int(str(row["at line"])), str(row["meant"]).casefold()
        if word not in {"", "no", "yes"}:
            place = cell_place(table, line, "meant")
            faults.add(Fault(place, quoted(row["meant"]), "yes, no, or nothing", "say whether it is meant"), 0, line)
        if word == "yes":
            out.add(line)
    return frozenset(out)


def _believable(table: NamedTable, rows: tuple[VeeRow, ...], meant: frozenset[int], faults: FaultList) -> None:
    """Ask about ranges that are more likely a lost decimal mark or a wrong unit than a ball."""
    ranges = [row.high - row.low for row in rows]
    for index, (row, own) in enumerate(zip(rows, ranges, strict=True)):
        if row.line in meant or own <= _LEAST_ASKED:
            continue
        others = [one for place, one in enumerate(ranges) if place != index and one > 0.0]
        middle = statistics.median(others) if len(others) >= _FEWEST_OTHERS else math.inf
        most = min(_BELIEVED, max(_BESIDE_OTHERS * middle, _LEAST_ASKED))
        if own <= most:
            continue
        beside = f", where the others are about {middle:.2g} mm" if most < _BELIEVED else ""
        todo = "look for a lost decimal mark or a wrong unit; if it is meant, say yes under meant"
        place, allowed = cell_place(table, row.line, "high"), f"a range of {most:.2g} mm at most, unless it is meant"
        faults.add(Fault(place, f"a range of {own:.4g} mm{beside}", allowed, todo), 0, row.line)
