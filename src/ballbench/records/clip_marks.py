"""Places of the ball that a person put into a clip: a small table beside the clips, which are never changed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadRecording, Fault
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place
from ballbench.records.tables_out import csv_text

__all__ = ["MARK_COLUMNS", "USUAL_MARK_U", "ClipMark", "ClipMarks", "marks_csv", "read_marks"]

MARK_COLUMNS = ("file", "time_s", "what", "x", "y", "u", "by", "time")
USUAL_MARK_U = 1.5
"""Standard uncertainty of a place put by hand, px, where nothing is said (own choice)."""
_NUMBERS = ("time_s", "x", "y", "u")
_MOST = 100_000
_BALL, _OUT = "ball", "leave out"


@dataclass(frozen=True, slots=True)
class ClipMark:
    """One picture of a clip, as a person saw it.

    Parameters
    ----------
    line : int
        Its line in the file.
    file : str
        The clip: its name, or ``"sha256:..."`` of its bytes.
    seconds : float
        Of the picture, after the first; the nearest one is meant.
    x, y : float
        Centre of the ball, px of the file's picture from its upper left corner, upright; NaN: leave the picture out.
    u : float
        Standard uncertainty of a coordinate, px.
    by, time : str
        Who put it, and when; may be empty.
    """

    line: int
    file: str
    seconds: float
    x: float
    y: float
    u: float
    by: str = ""
    time: str = ""


@dataclass(frozen=True, slots=True)
class ClipMarks:
    """A file of marks: its rows in its order, how it was read, and the digest of its bytes."""

    where: str
    rows: tuple[ClipMark, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""

    def of(self, name: str, digest: str) -> tuple[ClipMark, ...]:
        """Give the marks of one clip, by time; empty where nobody put any."""
        return tuple(sorted((m for m in self.rows if m.file in {name, digest}), key=lambda one: one.seconds))

    def files(self) -> tuple[str, ...]:
        """Give the clips that are named, each once."""
        return tuple(dict.fromkeys(mark.file for mark in self.rows))


def read_marks(path: Path) -> ClipMarks:
    """Read marks.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns file, time_s, and any of what (``ball`` unless said, or ``leave out``), x, y (px;
        needed for a ball), u (px), by, time.

    Returns
    -------
    ClipMarks
        Times in s after the first picture.

    Raises
    ------
    BadRecording
        All faults at once: empty cells, words for numbers, one picture twice, a ball without a place.
    """
    table, faults = read_named_table(path, MARK_COLUMNS, ("file", "time_s"), BadRecording)
    numbers = NumberColumns(table, _NUMBERS, faults)
    rows = [_row(table, numbers, index, row, faults) for index, row in enumerate(table.cells.iter_rows(named=True))]
    found = tuple(row for row in rows if row is not None)
    seen: dict[tuple[str, float], int] = {}
    for mark in found:
        first = seen.setdefault((mark.file, mark.seconds), mark.line)
        if first != mark.line:
            place, said = cell_place(table, mark.line, "time_s"), f"{mark.seconds:g} s again, as in line {first}"
            faults.add(Fault(place, said, "each picture once", "take one of them out"), 0, mark.line)
    if len(rows) > _MOST:
        faults.add(Fault(table.where, f"{len(rows)} marks", f"{_MOST} at most", "split the file"))
    faults.raise_if_any(BadRecording)
    if not found:
        todo = "write a line for each picture, or leave the file out"
        raise BadRecording(Fault(table.where, "no row below the header", "a row for each picture", todo))
    return ClipMarks(table.where, found, table.notes, table.digest)


def marks_csv(rows: tuple[ClipMark, ...]) -> str:
    """Write marks as the text of a file that `read_marks` reads; times to a microsecond, places to 0.01 px."""
    cells = (
        (
            mark.file, f"{mark.seconds:.6f}", _OUT if math.isnan(mark.x) else _BALL,
            "" if math.isnan(mark.x) else f"{mark.x:.2f}", "" if math.isnan(mark.y) else f"{mark.y:.2f}",
            "" if math.isnan(mark.x) else f"{mark.u:.2f}", mark.by, mark.time,
        )
        for mark in rows
    )  # fmt: skip
    return csv_text(MARK_COLUMNS, cells)


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, row: dict[str, object], faults: FaultList
) -> ClipMark | None:
    """Read one row; None when it is wrong."""
    before, line = faults.total, int(str(row["at line"]))
    file, what = str(row["file"]), " ".join(str(row["what"]).casefold().split())
    if not file:
        todo = "write the clip's name, or its digest"
        faults.add(Fault(cell_place(table, line, "file"), "an empty cell", "a clip in every line", todo), 0, line)
    if what not in {"", _BALL, _OUT}:
        place, todo = cell_place(table, line, "what"), "say which of the two it is"
        faults.add(Fault(place, quoted(row["what"]), f"{_BALL} or {_OUT}", todo), 0, line)
    seconds = numbers.value("time_s", index, needed=True, least=0.0)
    placed = what != _OUT
    x, y = (numbers.value(name, index, needed=placed) for name in ("x", "y"))
    u = numbers.value("u", index, above=0.0)
    if faults.total > before or seconds is None:
        return None
    if not placed:
        x = y = None
    return ClipMark(
        line, file, seconds, math.nan if x is None else x, math.nan if y is None else y,
        USUAL_MARK_U if u is None or math.isnan(u) else u, str(row["by"]), str(row["time"]),
    )  # fmt: skip
