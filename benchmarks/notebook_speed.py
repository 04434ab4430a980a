"""The bench at work: how long a reading takes from typed to acknowledged, and whether a full notebook slows it."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmarks.entering import Target, entered_at_once, entered_by_one, looked_at, served
from benchmarks.filled_notebook import LARGE, USUAL, fill
from benchmarks.measuring import Line, Spent, in_own_process, spent

__all__ = ["notebook_speed"]

COUNT = 160
"""Readings that are entered in each way; a test of the usual shape has that many left for every way."""
FINISHED, READ_SMALL, READ_USUAL, READ_LARGE = 255, 1_000, 3_000, 46_000
SITTING = f"one sitting of {READ_LARGE:,}"


def notebook_speed() -> Iterator[Line]:
    """Readings entered one after another and by eight at once, in notebooks of 10^3 and 10^6; then pages and files."""
    with tempfile.TemporaryDirectory() as folder:
        small, full = Path(folder) / "small", Path(folder) / "full"
        fill(small, 0, ((USUAL, READ_SMALL),))
        with spent() as filling:
            filled = fill(full, FINISHED, ((USUAL, READ_USUAL), (LARGE, READ_LARGE)))
        assert filled.readings >= 1_000_000
        yield Line(f"{filled.readings:,} readings of {FINISHED + 2} tests filled in", filling)
        size = f"{filled.readings:,} readings"
        (usual, _), (large, _) = filled.tests
        targets = [(f"{READ_SMALL:,} readings", str(small), 1), (size, str(full), usual), (SITTING, str(full), large)]
        alone = in_own_process(entered_by_one, targets, COUNT)
        row = alone["bare row"]
        yield Line(f"{alone['bytes'].wall:.0f} bytes brought to the disk", alone["bare sync"], None, "",
                   _spread(alone, "bare sync"))  # fmt: skip
        yield Line("a row in a bare database", row, alone["bare sync"], "the bytes", _spread(alone, "bare row"))
        yield from _lines("workflow, 1 thread", alone, row, targets)
        for how, costs in (
            ("workflow, 8 threads", in_own_process(entered_at_once, targets, COUNT, 8)),
            ("HTTP, 1 client", in_own_process(served, targets, COUNT, 1)),
            ("HTTP, 8 clients", in_own_process(served, targets, COUNT, 8)),
        ):
            yield from _lines(how, costs, row, targets)
        yield from _pages(in_own_process(looked_at, targets))


def _lines(how: str, costs: dict[str, Spent], row: Spent, targets: list[Target]) -> Iterator[Line]:
    """A reading in each notebook, beside the bare row; and how the notebooks compare."""
    first = costs[targets[0][0]]
    for name, _, _ in targets:
        rate = f"{1.0 / costs[f'{name}, each'].wall:.0f} acknowledged a second"
        grown = () if costs[name] is first else (f"{costs[name].wall / first.wall:.2f} times that of {targets[0][0]}",)
        notes = (*_spread(costs, name), rate, *grown)
        yield Line(f"a reading entered, {how}, {name}", costs[name], row, "the bare row", notes)


def _spread(costs: dict[str, Spent], name: str) -> tuple[str, ...]:
    return (f"p50 {1e3 * costs[name].wall:.2f} ms", f"p95 {1e3 * costs[f'{name}, p95'].wall:.2f} ms")


def _pages(costs: dict[str, Spent]) -> Iterator[Line]:
    """Whole answers over HTTP, from asked to read."""
    for name, cost in costs.items():
        if not name.endswith((", p95", ", each")):
            yield Line(name, cost, notes=_spread(costs, name))
