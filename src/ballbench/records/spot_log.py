"""Balls that came to rest by themselves, floating or spun: which marked spot was up, trial by trial."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadReadings, Fault
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable, read_named_table
from ballbench.records.importers.number_columns import NumberColumns, cell_place

__all__ = ["NO_REST", "SPOT_COLUMNS", "SpotLog", "SpotRow", "read_spot_log"]

SPOT_COLUMNS = ("product", "ball", "test", "trial", "spot", "of", "share", "seconds", "note")
_NEEDED = ("product", "ball", "spot")
_NUMBERS = ("trial", "of", "share", "seconds")
NO_REST = "none"
"""What is written for a ball that did not come to rest."""
_MOST_SPOTS = 100
"""More sectors than that nobody marks on a ball (own choice)."""
_MOST_TRIALS = 1000
"""More trials of a ball than that nobody does by hand (own choice)."""


@dataclass(frozen=True, slots=True)
class SpotRow:
    """One trial.

    Parameters
    ----------
    line : int
        Its line in the file.
    product, ball, test : str
        Whose; ``float`` or ``spin``.
    spot : str
        Name of the marked sector that was up; empty: the ball did not come to rest.
    share : float
        The sector's share of the sphere; NaN for a ball that did not come to rest.
    of : int
        Equal sectors that the ball is marked with; 0: shares are stated.
    seconds : float
        Until it was at rest; NaN: not said.
    """

    line: int
    product: str
    ball: str
    test: str
    spot: str
    share: float
    of: int
    seconds: float


@dataclass(frozen=True, slots=True)
class SpotLog:
    """A log of trials: its rows in order, spoiled attempts with their reasons, how it was read, and its digest."""

    rows: tuple[SpotRow, ...]
    spoiled: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    digest: str = ""


def read_spot_log(path: Path) -> SpotLog:
    """Read which spot was up.

    Parameters
    ----------
    path : Path
        CSV or XLSX with the columns product, ball, spot (``none``: it did not come to rest), of (how many equal sectors
        the ball is marked with) or share (of the sphere, 0 to 1, of the sector that was up), and any of test (float
        unless said, or spin), trial, seconds, note. An empty cell of `of` and `test` takes what stands above. A row
        without a spot whose note begins with ``spoiled`` is a spoiled attempt.

    Returns
    -------
    SpotLog
        Times in seconds.

    Raises
    ------
    BadReadings
        All faults at once: empty cells, words for numbers, more spots than sectors, shares that are more than a sphere,
        one trial written twice.
    """
    table, faults = read_named_table(path, SPOT_COLUMNS, _NEEDED, BadReadings)
    numbers = NumberColumns(table, _NUMBERS, faults)
    rows: list[SpotRow] = []
    spoiled = []
    of, test = 0, "float"
    for index, cells in enumerate(table.cells.iter_rows(named=True)):
        line = int(str(cells["at line"]))
        of, test = _of(table, numbers, index, of, faults), _test(table, line, str(cells["test"]), test, faults)
        note = str(cells["note"])
        if not str(cells["spot"]) and note.casefold().startswith("spoiled"):
            spoiled.append((str(cells["product"]), note.partition(":")[2].strip() or "no reason given"))
            continue
        row = _row(table, numbers, index, cells, (of, test), faults)
        if row is not None:
            rows.append(row)
    _each_trial_once(table, faults)
    _spots_fit(table, rows, faults)
    faults.raise_if_any(BadReadings)
    if not rows:
        todo = "let a ball come to rest and write down which spot is up"
        raise BadReadings(Fault(table.where, "no trial below the header", "a row for each trial", todo))
    return SpotLog(tuple(rows), tuple(spoiled), table.notes, table.digest)


def _of(table: NamedTable, numbers: NumberColumns, index: int, above: int, faults: FaultList) -> int:
    value = numbers.value("of", index, least=2.0, whole=True)
    if value is not None and value > _MOST_SPOTS:
        line = int(table.cells.get_column("at line")[index])
        faults.add(
            Fault(cell_place(table, line, "of"), f"{value:g}", f"2 to {_MOST_SPOTS} sectors", "count again"), 0, line
        )
    return above if value is None else int(value)


def _test(table: NamedTable, line: int, text: str, above: str, faults: FaultList) -> str:
    word = text.casefold()
    if word not in {"", "float", "spin"}:
        faults.add(Fault(cell_place(table, line, "test"), quoted(text), "float or spin", "say which it was"), 0, line)
    return word or above


def _row(
    table: NamedTable, numbers: NumberColumns, index: int, cells: dict[str, object], held: tuple[int, str],
    faults: FaultList,
) -> SpotRow | None:  # fmt: skip
    line, before = int(str(cells["at line"])), faults.total
    for name in ("product", "ball", "spot"):
        if not str(cells[name]):
            rule, todo = f"a {name} in every line", f"write the {name}"
            if name == "spot":
                todo = f"write which spot was up, {NO_REST} if the ball did not come to rest"
            faults.add(Fault(cell_place(table, line, name), "an empty cell", rule, todo), 0, line)
    numbers.value("trial", index, least=1.0, whole=True)
    seconds, share = numbers.value("seconds", index, least=0.0), numbers.value("share", index, above=0.0)
    of, test = held
    if share is not None and share >= 1.0:
        rule, todo = "a share of the sphere between 0 and 1", "write 0.1 for a tenth of the sphere"
        faults.add(Fault(cell_place(table, line, "share"), quoted(cells["share"]), rule, todo), 0, line)
    spot = str(cells["spot"])
    rested = spot.casefold() != NO_REST
    if rested and share is None and not of and spot and not str(cells["share"]):
        rule = "how many equal sectors the ball is marked with, or this one's share of the sphere"
        todo = "write it in `of`, such as 6, or in `share`"
        faults.add(Fault(cell_place(table, line, "of"), "no number of sectors here or above", rule, todo), 0, line)
    if faults.total > before:
        return None
    return SpotRow(
        line, str(cells["product"]), str(cells["ball"]), test, spot if rested else "",
        math.nan if not rested else share if share is not None else 1.0 / of,
        0 if share is not None else of, math.nan if seconds is None else seconds,
    )  # fmt: skip


def _each_trial_once(table: NamedTable, faults: FaultList) -> None:
    first: dict[tuple[str, ...], int] = {}
    for cells in table.cells.iter_rows(named=True):
        line = int(str(cells["at line"]))
        if not str(cells["trial"]):
            continue
        key = tuple(str(cells[name]).casefold() for name in ("product", "ball", "test", "trial"))
        held = first.setdefault(key, line)
        if held != line:
            found, todo = f"trial {cells['trial']} of line {held} again", "number the trials on, or leave them empty"
            faults.add(Fault(cell_place(table, line, "trial"), found, "each trial once", todo), 0, line)


def _spots_fit(table: NamedTable, rows: list[SpotRow], faults: FaultList) -> None:
    """The spots of a ball are no more than its sectors, each has one share, and together they are no more than 1."""
    shares: dict[tuple[str, str, str], dict[str, float]] = {}
    trials: dict[tuple[str, str, str], int] = {}
    for row in rows:
        key = (row.product, row.ball, row.test)
        trials[key] = trials.get(key, 0) + 1
        if trials[key] == _MOST_TRIALS + 1:
            place, rule = cell_place(table, row.line, "ball"), f"at most {_MOST_TRIALS} trials of a ball"
            faults.add(Fault(place, "one trial more of this ball", rule, "look whether balls have names"), 0, row.line)
        if not row.spot:
            continue
        own = shares.setdefault(key, {})
        held = own.setdefault(row.spot, row.share)
        place = cell_place(table, row.line, "of" if row.of else "share")
        if held != row.share:
            found = f"a share of {row.share:.3g}, and {held:.3g} above, for the spot {quoted(row.spot)}"
            faults.add(Fault(place, found, "one share a spot", "write the same number"), 0, row.line)
        elif math.fsum(own.values()) > 1.0 + 1e-3:
            found = f"{len(own)} spots that together are {math.fsum(own.values()):.3g} of the sphere"
            todo = "count the sectors again, or correct the shares"
            faults.add(Fault(place, found, "no more than the whole sphere", todo), 0, row.line)
            own.pop(row.spot)
