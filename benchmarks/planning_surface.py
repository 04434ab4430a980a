"""An operating characteristic over a grid of truths: simulated tests judged, in processes on all processors."""

from __future__ import annotations

import resource
import time
from collections.abc import Iterator

import numpy as np

from ballbench.findings.planning import Design, Kit, Terms, TruthAt, surface
from ballbench.findings.planning.together import ROUNDS
from ballbench.records import Bench, Instrument
from ballbench.specs import find_requirement
from benchmarks.bare_normals import bare_normals
from benchmarks.measuring import Line, Spent

__all__ = ["planning_surface"]

MEANS, SPREADS, TESTS, BALLS, AXES = 10, 10, 100, 24, 4


def planning_surface() -> Iterator[Line]:
    """10 x 10 true means and spreads, 100 simulated tests each, six clauses; aim: under 60 s on two processors."""
    kit = Kit(
        "diameter", Bench({"caliper": Instrument("caliper", "diameter", "mm", 0.01, 0.008, 20.0, offset_sd=0.01)})
    )
    terms = Terms(find_requirement("table-tennis-plastic"), kit)
    truth = TruthAt(40.25, 0.02, form_sd=0.02, form_spread=0.3)
    means, spreads = np.linspace(40.10, 40.50, MEANS), np.linspace(0.005, 0.070, SPREADS)
    wall, cpu = time.perf_counter(), _children()
    found = surface(terms, Design(BALLS, AXES), truth, means.tolist(), spreads.tolist(), tests=TESTS, contour_tests=0)
    cost = Spent(time.perf_counter() - wall, _children() - cpu)
    met = found.chance_met()
    assert met[MEANS // 2, 0] > 0.9, "well inside"
    assert met[:, -1].max() < 0.5, "an SD of 0.07 mm where 0.06 mm is allowed"
    tests = MEANS * SPREADS * TESTS
    draws = tests * BALLS * AXES * ROUNDS[0][1]
    bound = bare_normals(draws)
    clauses = len(found.settings[0].clauses)
    words = f"{MEANS} x {SPREADS} truths x {TESTS} tests of {BALLS} x {AXES} readings, {clauses} clauses"
    rate = f"{tests / cost.wall:.0f} tests a second, {1000 * cost.cpu / tests:.1f} ms of processor each"
    yield Line(words, cost, bound, f"bare normal draws of the first round's {ROUNDS[0][1]} a test", (rate,))


def _children() -> float:
    """Processor seconds of the processes that this one started and that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
