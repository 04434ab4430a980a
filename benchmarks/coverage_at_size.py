"""Whether stated intervals hold what they say, simulated at full size: the tests that are marked slow."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from benchmarks.measuring import Line, Spent

__all__ = ["coverage_at_size"]

NO_TESTS = 5
"""The test runner's exit status when nothing was selected."""


def coverage_at_size() -> Iterator[Line]:
    """Run the slow tests; a failing one fails this case, after its own report."""
    before, start = os.times(), time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-m", "slow", "-q", "-p", "no:cacheprovider"],
        cwd=Path(__file__).parents[1],
        stdout=subprocess.PIPE,
        text=True,
        check=False,
    )
    wall, after = time.perf_counter() - start, os.times()
    cpu = after.children_user + after.children_system - before.children_user - before.children_system
    if done.returncode == NO_TESTS:
        raise RuntimeError("no test is marked slow, so that nothing was simulated at size")
    if done.returncode:
        raise RuntimeError(done.stdout)
    yield Line("slow simulations", Spent(wall, cpu), notes=(done.stdout.strip().splitlines()[-1],))
