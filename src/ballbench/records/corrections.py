"""Corrections and exclusions: separate, reasoned lines beside readings that are never changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import polars as pl

from ballbench.errors import BadCorrections, Fault
from ballbench.records.fault_list import FaultList, nearest, quoted
from ballbench.records.importers.grid import plain_name
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.value_check import ANSWERS
from ballbench.records.reading_key import CORRECTION_COLUMNS
from ballbench.records.readings import Query
from ballbench.records.written_numbers import read_numbers, what_is_wrong

__all__ = ["Correction", "Corrections", "read_corrections", "unanswered"]

Action = Literal["correct", "exclude", "keep"]

_REQUIRED = ("product", "ball", "quantity", "action", "reason")


@dataclass(frozen=True, slots=True)
class Correction:
    """One line of a corrections file.

    Parameters
    ----------
    line : int
        Its line in the corrections file.
    product, ball, quantity, axis : str
        Which reading; an empty axis fits any reading where only one is left.
    repeat : int or None
        Which repeat; None fits any where only one is left.
    box : str or None
        The ball's box; None: not stated.
    reading_line : int or None
        The reading's line in the readings file; None: not stated.
    action : {"correct", "exclude", "keep"}
        ``keep``: the reading stands as written, and a query about it is answered.
    value : float or None
        The right number, in `unit`; None for the other actions and for a yes/no result.
    answer : bool or None
        The right yes/no result.
    decimals : int
        Decimals of the number as written.
    unit : str
        Empty: the unit that the reading was written in.
    reason, by, time : str
        Why, who and when; the reason is never empty.
    """

    line: int
    product: str
    ball: str
    quantity: str
    axis: str
    repeat: int | None
    box: str | None
    reading_line: int | None
    action: Action
    value: float | None
    answer: bool | None
    decimals: int
    unit: str
    reason: str
    by: str
    time: str


@dataclass(frozen=True, slots=True)
class Corrections:
    """A corrections file.

    Parameters
    ----------
    where : str
        The file's name, for messages.
    lines : tuple of Correction
        In the order of the file.
    notes : tuple of str
        How it was read.
    digest : str
        ``"sha256:..."`` of the file's bytes.
    """

    where: str
    lines: tuple[Correction, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""


def read_corrections(path: Path) -> Corrections:
    """Read a corrections file.

    Parameters
    ----------
    path : Path
        Columns product, ball, quantity, axis, repeat, action, value, reason, by, time; box, line and unit where they
        are needed to single a reading out or to say the value's unit.

    Returns
    -------
    Corrections
        Every line; whether its reading exists is seen by `ballbench.records.amend`.

    Raises
    ------
    BadCorrections
        All faults at once: a line without a reason, an unknown action, a value that is missing or not wanted.
    """
    table, faults = read_named_table(path, CORRECTION_COLUMNS, _REQUIRED, BadCorrections)
    texts = table.cells.get_column("value")
    answers = texts.str.to_lowercase().is_in(list(ANSWERS))
    numbers = read_numbers(
        pl.Series(np.where(((texts == "") | answers).to_numpy(), "0", texts.to_numpy()), dtype=pl.String)
    )
    lines = []
    for index, row in enumerate(table.cells.iter_rows(named=True)):
        value = (float(numbers.values[index]), int(numbers.decimals[index]), numbers.units.get(index, ""))
        line = _correction(table, row, value, faults)
        if line is not None:
            lines.append(line)
    if numbers.doubt is not None:
        row = table.cells.row(numbers.doubt.row, named=True)
        fault = Fault(
            _at(table, row, "value"), numbers.doubt.found, "one decimal mark in the whole file", "write decimal points"
        )
        faults.add(fault, 0, row["at line"])
    faults.raise_if_any(BadCorrections)
    return Corrections(table.where, tuple(lines), table.notes, table.digest)


def unanswered(queries: Sequence[Query], corrections: Corrections | None) -> tuple[Query, ...]:
    """Give the queries that no line of the corrections file answers.

    Parameters
    ----------
    queries : sequence of Query
        Of the plausibility gate.
    corrections : Corrections or None
        None: no corrections file.

    Returns
    -------
    tuple of Query
        In the same order. Any action answers a query about its reading.
    """
    by_ball: dict[tuple[str, str, str], list[Correction]] = {}
    for line in corrections.lines if corrections else ():
        by_ball.setdefault((line.product, line.ball, line.quantity), []).append(line)
    return tuple(
        query
        for query in queries
        if not any(_answers(line, query) for line in by_ball.get((query.product, query.ball, query.quantity), ()))
    )


def _answers(line: Correction, query: Query) -> bool:
    """Say whether a line points at the reading of a query."""
    return (
        (not line.axis or plain_name(line.axis) == plain_name(query.axis))
        and line.repeat in {None, query.repeat}
        and line.box in {None, query.box}
        and line.reading_line in {None, query.line}
    )


def _at(table: NamedTable, row: dict[str, object], name: str) -> str:
    """Say where a cell stands."""
    return f"{table.where}, line {row['at line']}, column {name}"


def _correction(
    table: NamedTable, row: dict[str, object], value: tuple[float, int, str], faults: FaultList
) -> Correction | None:
    """Read one line; None when it is wrong."""
    cell = {name: str(row[name]) for name in CORRECTION_COLUMNS}
    line = int(str(row["at line"]))
    before = faults.total
    for name in ("product", "ball", "quantity", "reason"):
        if not cell[name]:
            todo = "say why, in a few words" if name == "reason" else f"write the {name} of the reading"
            faults.add(Fault(_at(table, row, name), "an empty cell", f"a {name} in every line", todo), 0, line)
    action = cell["action"].casefold()
    if action not in {"correct", "exclude", "keep"}:
        meant = nearest(action, ("correct", "exclude", "keep"), 0.6)
        todo = f'write "{meant}"' if meant else "write one of the three"
        faults.add(Fault(_at(table, row, "action"), quoted(cell["action"]), "correct, exclude or keep", todo), 0, line)
    number, answer = _value(table, row, action, value, faults)
    repeat = _counting(table, row, "repeat", faults)
    reading_line = _counting(table, row, "line", faults)
    if faults.total > before:
        return None
    return Correction(
        line=line,
        product=cell["product"],
        ball=cell["ball"],
        quantity=plain_name(cell["quantity"]).replace(" ", "_"),
        axis=cell["axis"],
        repeat=repeat,
        box=cell["box"] or None,
        reading_line=reading_line,
        action="correct" if action == "correct" else "exclude" if action == "exclude" else "keep",
        value=number,
        answer=answer,
        decimals=value[1] if number is not None else 0,
        unit=cell["unit"] or value[2],
        reason=cell["reason"],
        by=cell["by"],
        time=cell["time"],
    )


def _value(
    table: NamedTable, row: dict[str, object], action: str, value: tuple[float, int, str], faults: FaultList
) -> tuple[float | None, bool | None]:
    """Read the value of a line: wanted for a correction, and for nothing else."""
    text, line = str(row["value"]), int(str(row["at line"]))
    where = _at(table, row, "value")
    if action != "correct":
        if text and action in {"exclude", "keep"}:
            todo = 'take the value out, or write the action "correct"'
            faults.add(Fault(where, quoted(text), f"no value for {action}", todo), 0, line)
        return None, None
    if not text:
        faults.add(Fault(where, "an empty cell", "the right value", "write it in the unit of the reading"), 0, line)
        return None, None
    if text.casefold() in ANSWERS:
        return None, ANSWERS[text.casefold()]
    if not np.isfinite(value[0]):
        found, todo = what_is_wrong(text)
        faults.add(Fault(where, found, "a number such as 40.12, or yes, no, passed, failed", todo), 0, line)
        return None, None
    if row["unit"] and value[2]:
        faults.add(Fault(where, quoted(text), "the unit once", "write the number alone"), 0, line)
    return value[0], None


def _counting(table: NamedTable, row: dict[str, object], name: str, faults: FaultList) -> int | None:
    """Read a counting number; None where the cell is empty or wrong."""
    text = str(row[name])
    if not text:
        return None
    if text.isascii() and text.isdigit() and int(text[:18]) > 0:
        return int(text[:18])
    line = int(str(row["at line"]))
    faults.add(
        Fault(_at(table, row, name), quoted(text), "1, 2, 3 and so on, or nothing", f"correct the {name}"), 0, line
    )
    return None
