"""Impacts that a person picked in a recording: a small table beside the recordings, which are never changed."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from ballbench.errors import BadRecording, Fault
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.tables_out import csv_text

__all__ = ["PICK_COLUMNS", "Pick", "Picks", "picks_csv", "read_picks"]

PICK_COLUMNS = ("file", "drop", "impact", "time_s", "by", "time")
_NUMBERS = ("drop", "impact", "time_s")
_MOST = 100_000
"""More impacts than that are no recording of drops (own choice)."""


@dataclass(frozen=True, slots=True)
class Pick:
    """One impact.

    Parameters
    ----------
    line : int
        Its line in the file.
    file : str
        The recording: its name, or ``"sha256:..."`` of its bytes.
    drop, impact : int
        Which drop of the recording, and which impact of the drop, from 1.
    seconds : float
        From the start of the recording.
    by, time : str
        Who picked it, and when; may be empty.
    """

    line: int
    file: str
    drop: int
    impact: int
    seconds: float
    by: str = ""
    time: str = ""


@dataclass(frozen=True, slots=True)
class Picks:
    """A file of picks: its rows in its order, how it was read, and the digest of its bytes."""

    where: str
    rows: tuple[Pick, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""

    def of(self, name: str, digest: str) -> tuple[tuple[float, ...], ...]:
        """Give the picked times of one recording, drop by drop, in s; empty where nobody picked any."""
        own = [pick for pick in self.rows if pick.file in {name, digest}]
        drops = sorted({pick.drop for pick in own})
        return tuple(
            tuple(pick.seconds for pick in sorted(own, key=lambda one: one.impact) if pick.drop == drop)
            for drop in drops
        )

    def files(self) -> tuple[str, ...]:
        """Give the recordings that are named, each once."""
        return tuple(dict.fromkeys(pick.file for pick in self.rows))


def read_picks(path: Path) -> Picks:
    """Read picked impacts.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns file, drop, impact, time_s, and any of by, time.

    Returns
    -------
    Picks
        Times in s from the start of the recording.

    Raises
    ------
    BadRecording
        All faults at once: empty cells, words for numbers, one impact twice, times that do not follow each other.
    """
    table, faults = read_named_table(path, PICK_COLUMNS, ("file", "drop", "impact", "time_s"), BadRecording)
    numbers = NumberColumns(table, _NUMBERS, faults)
    rows = [_row(table, numbers, index, row, faults) for index, row in enumerate(table.cells.iter_rows(named=True))]
    found = tuple(row for row in rows if row is not None)
    _in_order(table, found, faults)
    if len(rows) > _MOST:
        faults.add(Fault(table.where, f"{len(rows)} picks", f"{_MOST} at most", "split the file"))
    faults.raise_if_any(BadRecording)
    if not found:
        todo = "write a line for each impact, or leave the file out"
        raise BadRecording(Fault(table.where, "no row below the header", "a row for each impact", todo))
    return Picks(table.where, found, table.notes, table.digest)


def picks_csv(rows: tuple[Pick, ...]) -> str:
    """Write picks as the text of a file that `read_picks` reads; times to a microsecond."""
    cells = ((pick.file, str(pick.drop), str(pick.impact), f"{pick.seconds:.6f}", pick.by, pick.time) for pick in rows)
    return csv_text(PICK_COLUMNS, cells)


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, row: dict[str, object], faults: FaultList
) -> Pick | None:
    """Read one row; None when it is wrong."""
    before, line = faults.total, int(str(row["at line"]))
    file = str(row["file"])
    if not file:
        todo = "write the recording's name, or its digest"
        faults.add(Fault(cell_place(table, line, "file"), "an empty cell", "a recording in every line", todo), 0, line)
    drop = numbers.value("drop", index, needed=True, least=1.0, whole=True)
    impact = numbers.value("impact", index, needed=True, least=1.0, whole=True)
    seconds = numbers.value("time_s", index, needed=True, least=0.0)
    if faults.total > before or drop is None or impact is None or seconds is None:
        return None
    return Pick(line, file, int(drop), int(impact), seconds, str(row["by"]), str(row["time"]))


def _in_order(table: NamedTable, rows: tuple[Pick, ...], faults: FaultList) -> None:
    """Each impact of a drop once, later impacts at later times."""
    drops: dict[tuple[str, int], list[Pick]] = {}
    for row in rows:
        drops.setdefault((row.file, row.drop), []).append(row)
    for picks in drops.values():
        ordered = sorted(picks, key=lambda pick: (pick.impact, pick.line))
        for earlier, later in pairwise(ordered):
            place = cell_place(table, later.line, "impact" if earlier.impact == later.impact else "time_s")
            if earlier.impact == later.impact:
                found = f"impact {later.impact} of drop {later.drop} again, as in line {earlier.line}"
                faults.add(Fault(place, found, "each impact once", "number it anew, or take one out"), 0, later.line)
            elif later.seconds <= earlier.seconds:
                found = f"{quoted(f'{later.seconds:g}')}, and impact {earlier.impact} at {earlier.seconds:g} s"
                todo = "correct the time, or the numbers of the impacts"
                faults.add(Fault(place, found, "later impacts at later times", todo), 0, later.line)
