from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import linprog

from ballbench.form.circle_exchange import innermost_circles, narrowest_rings, outermost_circles, ring_step

N = 90
THETA = np.arange(N) * 2 * math.pi / N
UX, UY = np.cos(THETA), np.sin(THETA)


def outlines(many: int) -> np.ndarray:
    rng = np.random.default_rng(8)
    lobes = rng.integers(2, 9, many)[:, None]
    return 0.03 * np.cos(lobes * THETA + rng.uniform(0, 6, (many, 1))) + rng.normal(0, 0.01, (many, N))


def programme(off: np.ndarray, kind: str) -> float:
    """Width by scipy's linear programming: free centre, then what lies furthest out and in from it."""
    ones, none = np.ones((N, 1)), np.zeros((N, 1))
    u = np.column_stack([UX, UY])
    inside = np.hstack([-u, -ones, none]), off * -1.0  # off - u.x <= outer
    outside = np.hstack([u, none, ones]), off  # inner <= off - u.x
    cost = {"ring": [0, 0, 1, -1], "out": [0, 0, 1, 0], "in": [0, 0, 0, -1]}[kind]
    rule, held = {
        "ring": (np.vstack([inside[0], outside[0]]), np.concatenate([inside[1], outside[1]])),
        "out": inside,
        "in": outside,
    }[kind]
    done = linprog(cost, rule, held, bounds=[(None, None)] * 4, method="highs-ds")
    left = off - u @ done.x[:2]
    return float(np.ptp(left)) if kind == "ring" else float(left.max() if kind == "out" else left.min())


@pytest.mark.parametrize(
    ("kind", "solve"), [("ring", narrowest_rings), ("out", outermost_circles), ("in", innermost_circles)]
)
def test_many_programs_at_once_agree_with_a_library(kind: str, solve: object) -> None:
    """Ring, circle around and circle inside of 25 noisy outlines: scipy's linprog one by one, to 1e-9."""
    many = outlines(25)
    found = solve(UX, UY, many)  # type: ignore[operator]
    own = {"ring": found.outer - found.inner, "out": found.outer, "in": found.inner}[kind]
    assert own == pytest.approx([programme(one, kind) for one in many], abs=1e-9)


def test_one_outline_and_many_go_the_same_way() -> None:
    """The ring of one outline by the single solver is that of the batch (independent starts)."""
    many = outlines(10)
    batch = narrowest_rings(UX, UY, many)
    for k, one in enumerate(many):
        x, y, contacts, _ = ring_step(UX, UY, 20.0 + one, (3, 20, 47, 70))
        left = one - UX * x - UY * y
        assert np.ptp(left) == pytest.approx(batch.outer[k] - batch.inner[k], abs=1e-12)
        assert sorted(contacts) == sorted(batch.contacts[k].tolist())


def test_nothing_beats_a_ring_by_a_move() -> None:
    """No other centre, of 2,000 tried at random, makes the ring narrower (definition)."""
    one = outlines(1)[0]
    found = narrowest_rings(UX, UY, one[None])
    width = float(found.outer[0] - found.inner[0])
    moves = np.random.default_rng(1).normal([found.x[0], found.y[0]], 0.01, (2000, 2))
    widths = np.ptp(one - moves @ np.vstack([UX, UY]), axis=1)
    assert widths.min() >= width - 1e-12
