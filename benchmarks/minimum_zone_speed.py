"""The minimum zone of an outline, side by side with a general linear-programming library."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from ballbench.form.reference_circles import least_squares, minimum_zone, points_of
from benchmarks.measuring import Line, Spent, spent

__all__ = ["minimum_zone_speed"]

Floats = NDArray[np.float64]
_POINTS = (360, 1440, 3600)
_LOBES = (2, 3, 4, 5, 7)
_LEAST = 20.0
"""Times as fast as the library at 3,600 points, at least."""


def minimum_zone_speed() -> Iterator[Line]:
    """Minimum zones of noisy outlines beside programs of scipy's linprog: 20 times as fast, same to 1e-9 mm."""
    rng = np.random.default_rng(1)
    minimum_zone(_outline(360, 3, rng))  # the first call loads what the others find loaded
    for n in _POINTS:
        outlines = [_outline(n, lobes, rng) for lobes in _LOBES]
        own, widths = _measured(lambda xy: minimum_zone(xy).form, outlines)
        other, checks = _measured(_by_programs, outlines)
        apart = float(np.abs(widths - checks).max())
        faster = other.cpu / own.cpu
        assert apart < 1e-9, f"{n} points: {apart:.1e} mm apart"
        assert n < max(_POINTS) or faster >= _LEAST, f"{n} points: {faster:.1f} times as fast, {_LEAST:g} asked for"
        notes = (f"{faster:.0f} times as fast", f"at most {apart:.1e} mm apart")
        yield Line(f"minimum zone of {len(outlines)} outlines of {n:,} points", own, other, "linprog", notes)


def _outline(n: int, lobes: int, rng: np.random.Generator) -> Floats:
    theta = np.arange(n) * 2.0 * math.pi / n
    return points_of(theta, 20.0 + 0.05 * np.cos(lobes * theta + 1.0) + rng.normal(0.0, 0.002, n))


def _measured(width: Callable[[Floats], float], outlines: Sequence[Floats]) -> tuple[Spent, Floats]:
    with spent() as cost:
        widths = np.array([width(xy) for xy in outlines])
    cost.peak = None
    return cost, widths


def _by_programs(xy: Floats) -> float:
    """Width by linear programs about better and better centres, until the centre stands."""
    first = least_squares(xy)
    place = np.array([first.x, first.y])
    n = len(xy)
    for _ in range(20):
        way = xy - place
        distance = np.hypot(way[:, 0], way[:, 1])
        u = way / distance[:, None]
        rule = np.zeros((2 * n, 4))
        rule[:n, :2], rule[:n, 2], rule[n:, :2], rule[n:, 3] = -u, -1.0, u, 1.0
        held = np.concatenate([distance.mean() - distance, distance - distance.mean()])
        tight = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
        done = linprog([0, 0, 1, -1], rule, held, bounds=[(None, None)] * 4, method="highs-ds", options=tight)
        place = place + done.x[:2]
        if math.hypot(*done.x[:2]) < 1e-11:
            break
    return float(np.ptp(np.hypot(*(xy - place).T)))
