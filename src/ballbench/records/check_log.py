"""The log of checks: readings of reference pieces, each beside what the piece is known to be."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from ballbench.errors import BadChecks, Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.written_units import exact_factor

__all__ = ["CHECK_LOG_COLUMNS", "CheckLog", "CheckReading", "read_check_log"]

CHECK_LOG_COLUMNS = ("piece", "instrument", "value", "known", "u", "unit", "time", "place")


@dataclass(frozen=True, slots=True)
class CheckReading:
    """One reading of a reference piece, lengths and masses in the base unit of the quantity.

    Parameters
    ----------
    line : int
        Its line in the file.
    piece, instrument : str
        Which piece, with what; the instrument may be empty.
    value, known, u : float
        As read, what the piece is, and the standard uncertainty of that.
    time : str
        ISO 8601; empty: not said.
    place : str
        Where on the jaws or the pan; may be empty.
    """

    line: int
    piece: str
    instrument: str
    value: float
    known: float
    u: float
    time: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class CheckLog:
    """A file of checks: its rows in the order of the file, how it was read, and the digest of its bytes.

    Parameters
    ----------
    readings : tuple of CheckReading
        The rows of the instrument that was asked for.
    notes : tuple of str
        How the file was read.
    digest : str
        SHA-256 of the file.
    of_others : tuple of str
        The instrument of each row that was left out, for it names another.
    """

    readings: tuple[CheckReading, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""
    of_others: tuple[str, ...] = ()


def read_check_log(path: Path, base: str, instrument: str = "") -> CheckLog:
    """Read a log of checks.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns piece, value, known, and any of u, unit, instrument, time, place; further columns,
        such as those of an exported ``checks.csv``, are kept out and said.
    base : str
        Base unit of the quantity; a row without a unit is in it.
    instrument : str
        The one that is asked for. Rows that name another are left out unread, since a scale's are in another unit; rows
        that name none count. Empty: every row is read.

    Returns
    -------
    CheckLog
        The rows; a piece without `u` is taken as known exactly, which a note says.

    Raises
    ------
    BadChecks
        All faults at once: empty cells, a unit that does not fit, one piece with two values.
    """
    table, faults = read_named_table(path, CHECK_LOG_COLUMNS, ("piece", "value", "known"), BadChecks)
    numbers = NumberColumns(table, ("value", "known", "u"), faults)
    cells = list(table.cells.iter_rows(named=True))
    others = {
        index: str(row["instrument"])
        for index, row in enumerate(cells)
        if instrument and str(row["instrument"]).casefold() not in {"", instrument.casefold()}
    }
    rows = [_row(table, numbers, index, row, base, faults) for index, row in enumerate(cells) if index not in others]
    found = tuple(row for row in rows if row is not None)
    _one_value_a_piece(table, found, faults)
    faults.raise_if_any(BadChecks)
    exact = sorted({row.piece for row in found if row.u == 0.0})
    notes = table.notes
    if exact:
        notes = (*notes, f"no uncertainty is given for {', '.join(exact)}: taken as known exactly")
    return CheckLog(found, notes, table.digest, tuple(others.values()))


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, row: dict[str, object], base: str, faults: FaultList
) -> CheckReading | None:
    """Read one row; None when it is wrong."""
    before, line = faults.total, int(str(row["at line"]))
    piece, unit, time = str(row["piece"]), str(row["unit"]), str(row["time"])
    if not piece:
        faults.add(
            Fault(cell_place(table, line, "piece"), "an empty cell", "the name of the piece", "write it"), 0, line
        )
    value = numbers.value("value", index, needed=True)
    known = numbers.value("known", index, needed=True)
    u = numbers.value("u", index, least=0.0)
    scale = _scale(table, line, unit or base, base, faults)
    _check_time(table, line, time, faults)
    if faults.total > before or value is None or known is None:
        return None
    return CheckReading(
        line, piece, str(row["instrument"]), value * scale, known * scale, (u or 0.0) * scale, time, str(row["place"])
    )


def _scale(table: NamedTable, line: int, unit: str, base: str, faults: FaultList) -> float:
    if unit == base:
        return 1.0
    try:
        return exact_factor(unit, base)
    except UnitError:
        allowed = f"a unit that can be turned into {base}"
        faults.add(Fault(cell_place(table, line, "unit"), quoted(unit), allowed, "correct the unit"), 0, line)
        return 1.0


def _check_time(table: NamedTable, line: int, text: str, faults: FaultList) -> None:
    if not text:
        return
    try:
        datetime.fromisoformat(text)
    except ValueError:
        allowed, todo = "a time such as 2026-11-25 14:30, or nothing", "write year, month, day, then the time"
        faults.add(Fault(cell_place(table, line, "time"), quoted(text), allowed, todo), 0, line)


def _one_value_a_piece(table: NamedTable, rows: tuple[CheckReading, ...], faults: FaultList) -> None:
    """A piece has one value and one uncertainty."""
    first: dict[str, CheckReading] = {}
    for row in rows:
        held = first.setdefault(row.piece, row)
        if (held.known, held.u) != (row.known, row.u):
            found = (
                f"{quoted(row.piece)} as {row.known:g} with u {row.u:g}, in line {held.line} as {held.known:g} with "
                f"u {held.u:g}"
            )
            todo = "give pieces that differ names of their own"
            faults.add(Fault(cell_place(table, row.line, "known"), found, "one value a piece", todo), 0, row.line)
