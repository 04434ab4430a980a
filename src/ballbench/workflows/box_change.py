"""Whether a box changed beyond noise: its first test and its last, compared as two makes are.

The comparison takes its two samples for different balls. That the balls are the same makes it wider than it need be,
so that a change it tells is one. It is made only where both tests were measured at the bench and are finished, read
the same places of the same balls, and state the same conditions and material; elsewhere a difference would
not be the box's alone.
"""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ballbench.errors import BadInput, NotConverged
from ballbench.findings.comparisons import Comparison
from ballbench.presentation.screens.box_page import BoxChange, BoxHistory, QuantityOfBox
from ballbench.presentation.screens.boxes_page import TestOfBox
from ballbench.records.bench_state import KeptReading
from ballbench.records.bench_text import WrittenInstrument, instruments_toml, sittings_toml
from ballbench.records.cells import guarded
from ballbench.records.tables_out import csv_text
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import instruments_of, written_of
from ballbench.store.bench import sittings_of
from ballbench.store.readings import readings_of
from ballbench.workflows.compare import CompareRequest, compare

__all__ = ["box_change"]

_COLUMNS = ("product", "ball", "quantity", "axis", "repeat", "value", "unit", "instrument", "sitting", "time")
_LAST, _FIRST = "last test", "first test"
_FEWEST = 2
"""Balls that a sample needs (`compare`)."""


@dataclass(frozen=True, slots=True)
class _Side:
    """One of the two tests: the readings of the quantity that stand, its instruments, and what holds at the bench."""

    name: str
    test: TestOfBox
    readings: tuple[KeptReading, ...]
    instruments: tuple[WrittenInstrument, ...]
    surroundings: str
    requirement: str
    seed: int
    sittings: Mapping[int, str]
    felt: Mapping[str, float]

    @property
    def axes(self) -> set[str]:
        """Places that were read."""
        return {one.axis for one in self.readings}

    @property
    def balls(self) -> set[int]:
        """Balls that were read."""
        return {one.ball for one in self.readings if one.ball is not None}


def box_change(notebook: Notebook, history: BoxHistory, quantity: QuantityOfBox) -> BoxChange | None:
    """Hold the last test of a box against its first, for one quantity.

    Parameters
    ----------
    history : BoxHistory
        Of the box.
    quantity : QuantityOfBox
        Read as a number.

    Returns
    -------
    BoxChange or None
        None where the comparison cannot say it.
    """
    read = _tests_that_read(history, quantity)
    if len(read) < 2:
        return None
    with notebook.read() as tx:
        last, first = (_side(tx, name, test, quantity) for name, test in ((_LAST, read[-1]), (_FIRST, read[0])))
    both = last.balls & first.balls & {ball.id for ball in history.balls}
    last, first = (_of_balls(side, both) for side in (last, first))
    alike = last.axes == first.axes and tomllib.loads(last.surroundings) == tomllib.loads(first.surroundings)
    if len(both) < _FEWEST or not alike:
        return None
    try:
        found = _compared(last, first, {ball.id: ball.label for ball in history.balls}, quantity)
    except (BadInput, NotConverged):  # what cannot be compared is not spoken of
        return None
    pair = found.pairs[0]
    return BoxChange(first.test, last.test, len(both), pair.difference, pair.told_apart, pair.smallest_told)


def _tests_that_read(history: BoxHistory, quantity: QuantityOfBox) -> list[TestOfBox]:
    """Give the finished tests at the bench that read a quantity of the box, oldest first: nothing is told halfway."""
    done = {
        one.test
        for ball in history.balls
        for one in ball.tests
        for mean in one.means
        if (mean.quantity, mean.unit) == (quantity.name, quantity.unit)
    }
    return [test for test in history.tests if test.id in done and (test.kind, test.stage) == ("whole", "finished")]


def _side(tx: Tx, name: str, test: TestOfBox, quantity: QuantityOfBox) -> _Side:
    written = written_of(tx, test.id)
    readings = (one for one in readings_of(tx, test.id) if one.quantity == quantity.name and one.stands)
    tools = (
        WrittenInstrument(
            row.name, row.quantity, row.unit, row.resolution, row.sd, row.dof, row.offset, row.offset_sd,
            row.scale_sd, row.zeroed, row.display,
        )
        for row in instruments_of(tx, test.id) if row.quantity == quantity.name
    )  # fmt: skip
    sittings = sittings_of(tx, test.id)
    labels = {one.id: f"{name}: {one.label}" for one in sittings}
    felt = {labels[one.id]: one.ball_c for one in sittings if one.ball_c is not None}
    return _Side(
        name, test, tuple(readings), tuple(tools), str(written.bench_text), str(written.requirement_text),
        int(written.seed), labels, felt,
    )  # fmt: skip


def _of_balls(side: _Side, balls: set[int]) -> _Side:
    return replace(side, readings=tuple(one for one in side.readings if one.ball in balls))


def _compared(last: _Side, first: _Side, labels: Mapping[int, str], quantity: QuantityOfBox) -> Comparison:
    """Compare the two sides from files, as the command line does."""
    tools = _instruments(last, first)
    rows = [row for side in (last, first) for row in _rows(side, labels, tools[side.name])]
    with tempfile.TemporaryDirectory(prefix="ballbench-") as name:
        folder = Path(name)
        parts = {
            "readings.csv": csv_text(_COLUMNS, rows), "requirement.toml": last.requirement,
            "bench.toml": _bench(last, first, tools),
        }  # fmt: skip
        for file, text in parts.items():
            (folder / file).write_text(text, encoding="utf-8", newline="")
        request = CompareRequest(
            folder / "readings.csv", quantity.name, folder / "bench.toml", spec=str(folder / "requirement.toml"),
            seed=last.seed,
        )  # fmt: skip
        return compare(request)


def _instruments(last: _Side, first: _Side) -> dict[str, dict[str, WrittenInstrument]]:
    """Give each side's instruments by the names that they have in its test.

    One that is the same in both, name and all numbers, keeps its name: its own error is then the same, and cancels.
    Any other is called after its side.
    """
    same = set(last.instruments) & set(first.instruments)
    return {
        side.name: {
            one.name: one if one in same else replace(one, name=f"{one.name}, {side.name}") for one in side.instruments
        }
        for side in (last, first)
    }


def _rows(side: _Side, labels: Mapping[int, str], tools: Mapping[str, WrittenInstrument]) -> Sequence[tuple[str, ...]]:
    rows = []
    for one in side.readings:
        text, unit = (one.corrected_text, one.corrected_unit) if one.corrected_text else (one.text, one.unit)
        named = (side.name, labels[one.ball or 0], one.quantity, one.axis)
        tool = tools[one.instrument].name if one.instrument in tools else ""
        rest = (tool, side.sittings[one.sitting], one.at)
        rows.append((*map(guarded, named), str(one.repeat), text, "" if unit == "1" else unit, *map(guarded, rest)))
    return rows


def _bench(last: _Side, first: _Side, tools: Mapping[str, Mapping[str, WrittenInstrument]]) -> str:
    """Write the bench of both sides; what holds at it is the same for both."""
    known = {replace(one, name=guarded(one.name)): None for own in tools.values() for one in own.values()}
    parts = [instruments_toml(known), last.surroundings]
    temperature = tomllib.loads(last.surroundings).get("conditions", {}).get("temperature")
    if temperature is not None:
        felt = {guarded(label): value for side in (last, first) for label, value in side.felt.items()}
        parts.append(sittings_toml(felt, float(temperature["reference"])))
    return "\n".join(part for part in parts if part)
