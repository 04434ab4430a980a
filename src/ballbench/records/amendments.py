"""Readings as amended by a corrections file: a new table beside the old one, and what was done to which reading."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import polars as pl

from ballbench.errors import BadCorrections, Fault
from ballbench.quantities.units import UnitError
from ballbench.records.corrections import Correction, Corrections
from ballbench.records.display import base_unit
from ballbench.records.fault_list import FaultList, nearest, quoted
from ballbench.records.importers.grid import plain_name
from ballbench.records.readings import Readings
from ballbench.records.written_units import exact_factor, plain_unit

__all__ = ["Amended", "Amendment", "amend"]

Row = dict[str, object]


@dataclass(frozen=True, slots=True)
class Amendment:
    """What was done to one reading.

    Parameters
    ----------
    line : int
        The reading's line in the readings file.
    product, box, ball, quantity, axis : str
        Which reading.
    repeat : int
        Which repeat.
    before, after : float, bool or None
        Number in the base unit or yes/no result; `after` is None for an excluded reading.
    unit : str
        The base unit.
    reason, by, time : str
        As in the corrections file.
    """

    line: int
    product: str
    box: str
    ball: str
    quantity: str
    axis: str
    repeat: int
    before: float | bool | None
    after: float | bool | None
    unit: str
    reason: str
    by: str
    time: str


@dataclass(frozen=True, slots=True)
class Amended:
    """Readings after corrections and exclusions.

    Parameters
    ----------
    readings : Readings
        A new table; the one that was read is as it was.
    corrected, excluded, kept : tuple of Amendment
        In the order of the corrections file; kept readings stand as written.
    """

    readings: Readings
    corrected: tuple[Amendment, ...] = ()
    excluded: tuple[Amendment, ...] = ()
    kept: tuple[Amendment, ...] = ()


def amend(readings: Readings, corrections: Corrections | None) -> Amended:
    """Apply a corrections file to readings.

    Parameters
    ----------
    readings : Readings
        As read; its table is never changed.
    corrections : Corrections or None
        None: the readings stand as they are.

    Returns
    -------
    Amended
        The new readings, and every amendment.

    Raises
    ------
    BadCorrections
        All faults at once: a line that fits no reading or several, two lines for one reading, a value of the wrong
        sort or unit.
    """
    if corrections is None or not corrections.lines:
        return Amended(readings)
    faults = FaultList()
    found = _rows_of(readings, corrections, faults)
    done: dict[int, tuple[Correction, Amendment]] = {}
    for line, row in found:
        at = int(str(row["row"]))
        if at in done:
            where = f"{corrections.where}, line {line.line}"
            other = f"a second line for the reading in line {row['line']}, after line {done[at][0].line}"
            faults.add(Fault(where, other, "one line a reading", "keep the one that holds"), 0, line.line)
            continue
        done[at] = (line, _amendment(readings, corrections, line, row, faults))
    faults.raise_if_any(BadCorrections)
    return Amended(
        readings=_amended_readings(readings, corrections, done),
        corrected=tuple(amendment for line, amendment in done.values() if line.action == "correct"),
        excluded=tuple(amendment for line, amendment in done.values() if line.action == "exclude"),
        kept=tuple(amendment for line, amendment in done.values() if line.action == "keep"),
    )


def _rows_of(readings: Readings, corrections: Corrections, faults: FaultList) -> list[tuple[Correction, Row]]:
    """Find the one reading that each line points at."""
    names = ["product", "quantity", "ball"]
    asked = pl.DataFrame(
        [(line.product, line.quantity, line.ball) for line in corrections.lines],
        schema=dict.fromkeys(names, pl.String),
        orient="row",
    ).unique()
    near = readings.table.with_row_index("row").join(asked, on=names, how="semi", maintain_order="left")
    by_ball: dict[tuple[object, ...], list[Row]] = {}
    for row in near.iter_rows(named=True):
        by_ball.setdefault(tuple(row[name] for name in names), []).append(row)
    found = []
    for line in corrections.lines:
        candidates = by_ball.get((line.product, line.quantity, line.ball), [])
        fitting = _fitting(line, candidates)
        if len(fitting) == 1:
            found.append((line, fitting[0]))
        else:
            fault = _several(corrections, line, fitting) if fitting else _none(readings, corrections, line, candidates)
            faults.add(fault, 0, line.line)
    return found


def _fitting(line: Correction, candidates: Sequence[Row]) -> list[Row]:
    """Give the readings of a ball that a line fits; an empty axis means none named where there is such a reading."""
    fitting = [
        row
        for row in candidates
        if line.repeat in {None, row["repeat"]}
        and line.box in {None, row["box"]}
        and line.reading_line in {None, row["line"]}
        and (not line.axis or plain_name(line.axis) == plain_name(str(row["axis"])))
    ]
    bare = [row for row in fitting if row["axis"] == ""]
    return bare if not line.axis and bare else fitting


def _several(corrections: Corrections, line: Correction, fitting: Sequence[Row]) -> Fault:
    """Say that a line fits several readings, and what tells them apart."""
    shown = "; ".join(
        f"line {row['line']}: box {quoted(row['box'])}, axis {quoted(row['axis'])}, repeat {row['repeat']}"
        for row in fitting[:5]
    )
    differ = [name for name in ("box", "axis", "repeat", "line") if len({row[name] for row in fitting}) > 1]
    todo = f"fill in the column {' or '.join(differ)}"
    return Fault(
        f"{corrections.where}, line {line.line}", f"{len(fitting)} readings ({shown})", "a line for one reading", todo
    )


def _none(readings: Readings, corrections: Corrections, line: Correction, candidates: Sequence[Row]) -> Fault:
    """Say that a line fits no reading, and which one is nearest."""
    where = f"{corrections.where}, line {line.line}"
    wanted = [line.product, line.quantity, f"ball {line.ball}"]
    wanted += [f"box {line.box}"] if line.box else []
    wanted += [f"axis {line.axis}"] if line.axis else []
    wanted += [f"repeat {line.repeat}"] if line.repeat else []
    wanted += [f"in line {line.reading_line}"] if line.reading_line else []
    found = f"{', '.join(wanted)}: no such reading"
    return Fault(where, found, "a reading of the readings file", _nearest_reading(readings, line, candidates))


def _nearest_reading(readings: Readings, line: Correction, candidates: Sequence[Row]) -> str:
    """Name the nearest reading that does exist."""
    if candidates:
        best = max(candidates, key=lambda row: _likeness(line, row))
        place = f"axis {quoted(best['axis'])}, " if best["axis"] else ""
        box = f"box {quoted(best['box'])}, " if best["box"] else ""
        return f"the nearest is ball {line.ball}, {box}{place}repeat {best['repeat']}, in line {best['line']}"
    table = readings.table
    for name in ("product", "quantity", "ball"):
        wanted = str(getattr(line, name))
        there = table.get_column(name).unique(maintain_order=True).to_list()
        if wanted not in there:
            close = nearest(wanted, there, 0.4) or there[0]
            return f"the nearest {name} is {quoted(close)}"
        table = table.filter(pl.col(name) == wanted)
    return "check the line"


def _likeness(line: Correction, row: Row) -> tuple[bool, bool, bool, bool]:
    """Rate how much of a line fits a reading."""
    return (
        line.reading_line == row["line"],
        line.axis != "" and plain_name(line.axis) == plain_name(str(row["axis"])),
        line.repeat == row["repeat"],
        line.box == row["box"],
    )


def _amendment(
    readings: Readings, corrections: Corrections, line: Correction, row: Row, faults: FaultList
) -> Amendment:
    """Say what a line does to its reading."""
    base = base_unit(readings, line.quantity)
    before = row["answer"] if row["value"] is None else row["value"]
    is_answer = row["value"] is None
    where = f"{corrections.where}, line {line.line}, column value"
    after = before
    if line.action == "correct" and (line.value is None) != is_answer:
        allowed = "yes, no, passed or failed" if is_answer else f"a number in {row['unit'] or base}"
        found = f"a {'number' if is_answer else 'yes/no result'} for a reading that is none"
        faults.add(Fault(where, found, allowed, "correct the value"), 0, line.line)
    elif line.action == "correct" and line.value is not None:
        try:
            after = _in_base(line.value, line.decimals, exact_factor(line.unit or str(row["unit"]) or base, base))
        except UnitError:
            allowed = f"a unit that can be turned into {base}"
            faults.add(Fault(where, f"the unit {quoted(line.unit)}", allowed, "correct the unit"), 0, line.line)
    elif line.action == "correct":
        after = line.answer
    return Amendment(
        line=int(str(row["line"])),
        product=line.product,
        box=str(row["box"]),
        ball=line.ball,
        quantity=line.quantity,
        axis=str(row["axis"]),
        repeat=int(str(row["repeat"])),
        before=before if isinstance(before, float | bool) else None,
        after=None if line.action == "exclude" else after if isinstance(after, float | bool) else None,
        unit=base,
        reason=line.reason,
        by=line.by,
        time=line.time,
    )


def _in_base(value: float, decimals: int, factor: float) -> float:
    """Give the float64 nearest to number times factor, as the reading itself is read."""
    product, text = value * factor, f"{value:.{decimals}f}"
    if not math.isfinite(product) or float(text) != value:
        return product
    return float(Fraction(text) * Fraction(repr(factor)))


def _amended_readings(
    readings: Readings, corrections: Corrections, done: dict[int, tuple[Correction, Amendment]]
) -> Readings:
    """Make the new table."""
    table = readings.table
    correct = {row: entry for row, entry in done.items() if entry[0].action == "correct"}
    if correct:
        changes = pl.DataFrame(
            [(row, *_changed(line, amendment, table["unit"][row])) for row, (line, amendment) in correct.items()],
            schema={
                "row": pl.UInt32,
                "new value": pl.Float64,
                "new answer": pl.Boolean,
                "new decimals": pl.Int64,
                "new unit": pl.String,
            },
            orient="row",
        )
        table = table.with_row_index("row").join(changes, on="row", how="left", maintain_order="left")
        table = table.with_columns(
            pl.coalesce(f"new {name}", name).alias(name) for name in ("value", "answer", "decimals", "unit")
        ).select(readings.table.columns)
    keep = np.ones(table.height, dtype=np.bool_)
    keep[[row for row, (line, _) in done.items() if line.action == "exclude"]] = False
    counts = [f"{sum(line.action == action for line, _ in done.values())} {word}" for action, word in _WORDS.items()]
    note = f"amended by {corrections.where}: {', '.join(counts)}"
    return replace(readings, table=table.filter(pl.Series(keep)), notes=(*readings.notes, note))


_WORDS = {"correct": "corrected", "exclude": "excluded", "keep": "kept as written"}


def _changed(line: Correction, amendment: Amendment, unit: str) -> tuple[float | None, bool | None, int | None, str]:
    """Give the new number, answer, decimals and unit of a corrected reading; None: as before."""
    after = amendment.after
    if isinstance(after, bool) or after is None:
        return None, after, None, unit
    return after, None, line.decimals, plain_unit(line.unit) if line.unit else unit
