"""How long a person waits before anything happens."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence

from benchmarks.measuring import Line, Spent

__all__ = ["help_start"]

RUNS = 7


def help_start() -> Iterator[Line]:
    """`ballbench --help` and `ballbench specs`, beside an interpreter that does nothing; the median of seven starts."""
    bare = _median(["-c", "pass"], "")
    for words, expected in ((["--help"], "judge"), (["judge", "--help"], "--spec"), (["specs"], "tennis-type-1")):
        cost = _median(["-m", "ballbench.cli.main", *words], expected)
        yield Line(f"ballbench {' '.join(words)}", cost, bare, "a bare interpreter")


def _median(words: Sequence[str], expected: str) -> Spent:
    """Median wall and processor time of some starts of this Python."""
    walls, cpus = [], []
    for _ in range(RUNS):
        before, start = _children_cpu(), time.perf_counter()
        done = subprocess.run(  # noqa: S603 - our own program
            [sys.executable, *words],
            capture_output=True,
            text=True,
            check=True,
        )
        walls.append(time.perf_counter() - start)
        cpus.append(_children_cpu() - before)
        assert expected in done.stdout
    return Spent(statistics.median(walls), statistics.median(cpus))


def _children_cpu() -> float:
    """Processor seconds of all children that have ended."""
    times = os.times()
    return times.children_user + times.children_system
