"""Seconds, processor seconds and peak memory of a piece of work, in this process or in one of its own."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

__all__ = ["Line", "Spent", "in_own_process", "spent"]


@dataclass(slots=True)
class Spent:
    """What a piece of work took.

    Parameters
    ----------
    wall, cpu : float
        Seconds on the clock, and seconds of processor time over all threads. On a machine that is busy with other
        work the second is the one to compare.
    peak : float or None
        Largest resident memory of the process so far, MiB; None where the system does not tell.
    """

    wall: float = 0.0
    cpu: float = 0.0
    peak: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the report: a case, its cost, and the least that could be spent on it.

    Parameters
    ----------
    what : str
        The work and its size.
    cost : Spent
        Of it.
    bound : Spent or None
        Of the lower bound, measured in the same run.
    against : str
        What the lower bound is.
    notes : tuple of str
        Rates and counts.
    """

    what: str
    cost: Spent
    bound: Spent | None = None
    against: str = ""
    notes: tuple[str, ...] = field(default=())

    def __str__(self) -> str:
        """Everything in one line."""
        parts = [f"{self.cost.wall:.3g} s ({self.cost.cpu:.3g} s of processor)"]
        if self.bound is not None:
            wall, cpu = self.cost.wall / self.bound.wall, self.cost.cpu / self.bound.cpu
            parts.append(f"{wall:.2g} times {self.against} at {self.bound.wall:.3g} s ({cpu:.2g} times by processor)")
        if self.cost.peak is not None:
            parts.append(f"peak {self.cost.peak:.0f} MiB")
        return f"{self.what}: {'; '.join((*parts, *self.notes))}"


@contextmanager
def spent() -> Iterator[Spent]:
    """Measure the block; the numbers are filled in when it ends."""
    cost = Spent()
    wall, cpu = time.perf_counter(), time.process_time()
    yield cost
    cost.wall, cost.cpu, cost.peak = time.perf_counter() - wall, time.process_time() - cpu, _peak()


def _peak() -> float | None:
    """Largest resident memory of this process so far, MiB."""
    try:
        import resource  # noqa: PLC0415 - there is none on Windows
    except ImportError:
        return None
    largest = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return largest / (2**20 if sys.platform == "darwin" else 2**10)


def in_own_process(work: Callable[..., dict[str, Spent]], *arguments: object) -> dict[str, Spent]:
    """Run `work` in a fresh interpreter, so that its peak memory is its own and nothing is warm.

    Parameters
    ----------
    work : callable
        A function at the top of a module of this package; it measures itself and gives its costs by name.
    *arguments
        Texts and numbers.
    """
    order = json.dumps([work.__module__, work.__name__, arguments])
    done = subprocess.run(  # noqa: S603 - our own module
        [sys.executable, "-m", "benchmarks.own_process", order],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    return {name: Spent(**cost) for name, cost in json.loads(done.stdout.splitlines()[-1]).items()}
