"""Small linear programs of reference circles, solved for many outlines at once by exchanging one contact at a time.

Beside a centre, the distance of a point changes by minus the way of the centre along the point's direction. So the
narrowest ring, the smallest circle around and the largest circle inside are, to first order, linear programs in a few
unknowns. At their solution the ring has two outer and two inner contacts that alternate, the circles have three
contacts that no half circle holds (the dual solution: weights from 0 on the contacts' directions that balance). An
exchange takes the point that breaks the rule most into the set and the one that it replaces out, so that the contacts
keep alternating; the width grows with each exchange, which is the dual simplex method, in the manner of the exchange
for polynomials.

Source: linear programming duality, worked out for this tool; held against a general linear-programming library.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import NotConverged

__all__ = ["Rings", "innermost_circles", "narrowest_rings", "outermost_circles", "ring_step"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_MOST = 500
"""Exchanges; some twenty are usual for thousands of points (own choice)."""
_LEVEL = 1e-13
"""Of the size of the distances: below it a rule is kept (own choice, some hundred roundings)."""


@dataclass(frozen=True, slots=True)
class Rings:
    """Solutions of B small programs.

    Parameters
    ----------
    x, y : (B,) float arrays
        Way of the centre.
    outer, inner : (B,) float arrays
        Largest and smallest distance from there, to first order.
    contacts : (B, 4) or (B, 3) int array
        Indices of the contacts: outer, inner, outer, inner of a ring; all alike of a circle.
    exchanges : int
        Rounds that were needed.
    """

    x: Floats
    y: Floats
    outer: Floats
    inner: Floats
    contacts: Ints
    exchanges: int


def ring_step(
    ux: Floats, uy: Floats, distance: Floats, contacts: tuple[int, int, int, int]
) -> tuple[float, float, tuple[int, int, int, int], int]:
    """Give the way of the centre to the narrowest ring of one outline, to first order.

    Parameters
    ----------
    ux, uy, distance : (n,) float arrays
        Direction and distance of each point from the present centre.
    contacts : tuple of four int
        Where to begin: outer, inner, outer, inner, in the order in which they lie around.

    Returns
    -------
    x, y : float
        The way.
    contacts : tuple of four int
        As found.
    exchanges : int
        How many it took.

    Raises
    ------
    NotConverged
        The contacts did not settle.
    """
    a, b, c, d = contacts
    level = _LEVEL * float(np.abs(distance).max())
    left, buffer = np.empty_like(distance), np.empty_like(distance)
    worst = 0.0
    for exchanges in range(_MOST):
        ax, ay, bx, by = float(ux[a]), float(uy[a]), float(ux[b]), float(uy[b])
        cx, cy, dx, dy = float(ux[c]), float(uy[c]), float(ux[d]), float(uy[d])
        px, py, qx, qy = ax - cx, ay - cy, bx - dx, by - dy
        s, t = float(distance[a] - distance[c]), float(distance[b] - distance[d])
        det = px * qy - py * qx
        x, y = (s * qy - py * t) / det, (px * t - qx * s) / det
        np.multiply(ux, -x, out=left)
        np.multiply(uy, y, out=buffer)
        left -= buffer
        left += distance
        if left[a] < left[b]:  # a ring inside out: the contacts change their parts, and it is one the right way round
            a, b, c, d = b, c, d, a
            ax, ay, bx, by, px, py, qx, qy = bx, by, cx, cy, qx, qy, -px, -py
        above, below = int(left.argmax()), int(left.argmin())
        over, under = float(left[above] - left[a]), float(left[b] - left[below])
        worst = max(over, under)
        if worst <= level:
            return x, y, (a, b, c, d), exchanges
        if over >= under:  # an outer point: it takes the place of the outer contact on its side of the inner two
            same = (qx * (float(uy[above]) - by) - qy * (float(ux[above]) - bx)) * (qx * (ay - by) - qy * (ax - bx))
            a, c = (above, c) if same > 0.0 else (a, above)
        else:
            same = (px * (float(uy[below]) - ay) - py * (float(ux[below]) - ax)) * (px * (by - ay) - py * (bx - ax))
            b, d = (below, d) if same > 0.0 else (b, below)
    raise NotConverged("the exchange of contacts of the narrowest ring", worst, level)


def narrowest_rings(ux: Floats, uy: Floats, distance: Floats, start: Ints | None = None) -> Rings:
    """Give the narrowest ring around each of many outlines that share their directions.

    Parameters
    ----------
    ux, uy : (n,) float arrays
        Directions of the points, in the order in which they lie around, over a whole turn.
    distance : (B, n) float array
        Distances of the points of each outline.
    start : (B, 4) int array or None
        Contacts to begin with, outer, inner, outer, inner in their order around; None: four quarters of the turn apart.

    Returns
    -------
    Rings
        With four contacts each.

    Raises
    ------
    NotConverged
        Contacts that do not settle.
    """
    many, n = distance.shape
    rows = np.arange(many)
    contacts = np.tile(np.arange(4) * n // 4, (many, 1)) if start is None else start.copy()
    level = _LEVEL * float(np.abs(distance).max())
    x, y = np.zeros(many), np.zeros(many)
    outer, inner = np.zeros(many), np.zeros(many)
    busy = rows
    worst = 0.0
    for exchanges in range(_MOST):
        held = contacts[busy]
        gx, gy = ux[held], uy[held]
        values = np.take_along_axis(distance[busy], held, axis=1)
        px, py, qx, qy = gx[:, 0] - gx[:, 2], gy[:, 0] - gy[:, 2], gx[:, 1] - gx[:, 3], gy[:, 1] - gy[:, 3]
        s, t = values[:, 0] - values[:, 2], values[:, 1] - values[:, 3]
        det = px * qy - py * qx
        x[busy], y[busy] = (s * qy - py * t) / det, (px * t - qx * s) / det
        left = distance[busy] - x[busy, None] * ux - y[busy, None] * uy
        outer[busy] = values[:, 0] - gx[:, 0] * x[busy] - gy[:, 0] * y[busy]
        inner[busy] = values[:, 1] - gx[:, 1] * x[busy] - gy[:, 1] * y[busy]
        turned = outer[busy] < inner[busy]  # as in `ring_step`
        if turned.any():
            held[turned] = np.roll(held[turned], -1, axis=1)
            gx, gy = ux[held], uy[held]
            px, py, qx, qy = gx[:, 0] - gx[:, 2], gy[:, 0] - gy[:, 2], gx[:, 1] - gx[:, 3], gy[:, 1] - gy[:, 3]
            outer[busy], inner[busy] = np.maximum(outer[busy], inner[busy]), np.minimum(outer[busy], inner[busy])
        above, below = left.argmax(axis=1), left.argmin(axis=1)
        near = np.arange(len(busy))
        over, under = left[near, above] - outer[busy], inner[busy] - left[near, below]
        worst = float(np.maximum(over, under).max())
        out, low = (over >= under) & (over > level), (under > over) & (under > level)
        side = _side(qx, qy, ux[above] - gx[:, 1], uy[above] - gy[:, 1]) * _side(
            qx, qy, gx[:, 0] - gx[:, 1], gy[:, 0] - gy[:, 1]
        )
        held[out & (side > 0.0), 0] = above[out & (side > 0.0)]
        held[out & (side <= 0.0), 2] = above[out & (side <= 0.0)]
        side = _side(px, py, ux[below] - gx[:, 0], uy[below] - gy[:, 0]) * _side(
            px, py, gx[:, 1] - gx[:, 0], gy[:, 1] - gy[:, 0]
        )
        held[low & (side > 0.0), 1] = below[low & (side > 0.0)]
        held[low & (side <= 0.0), 3] = below[low & (side <= 0.0)]
        contacts[busy] = held
        busy = busy[out | low]
        if not busy.size:
            return Rings(x, y, outer, inner, contacts, exchanges)
    raise NotConverged("the exchange of contacts of the narrowest ring", worst, level)


def _side(ax: Floats, ay: Floats, bx: Floats, by: Floats) -> Floats:
    return np.asarray(ax * by - ay * bx)


def innermost_circles(ux: Floats, uy: Floats, distance: Floats, start: Ints | None = None) -> Rings:
    """Give the largest circle inside each of many outlines that share their directions.

    Parameters
    ----------
    ux, uy : (n,) float arrays
        Directions of the points, in the order in which they lie around; no half circle may be without a point.
    distance : (B, n) float array
        Distances of the points of each outline.
    start : (B, 3) int array or None
        Contacts to begin with, which no half circle holds; None: three that stand apart by a third of the turn.

    Returns
    -------
    Rings
        With three contacts each; `outer` is the largest distance from the same centre.

    Raises
    ------
    NotConverged
        Contacts that do not settle.
    """
    many, n = distance.shape
    contacts = np.tile(np.arange(3) * n // 3, (many, 1)) if start is None else start.copy()
    level = _LEVEL * float(np.abs(distance).max())
    x, y = np.zeros(many), np.zeros(many)
    outer, inner = np.zeros(many), np.zeros(many)
    busy = np.arange(many)
    worst = 0.0
    for exchanges in range(_MOST):
        held = contacts[busy]
        gx, gy = ux[held], uy[held]
        values = np.take_along_axis(distance[busy], held, axis=1)
        px, py, qx, qy = gx[:, 0] - gx[:, 1], gy[:, 0] - gy[:, 1], gx[:, 0] - gx[:, 2], gy[:, 0] - gy[:, 2]
        s, t = values[:, 0] - values[:, 1], values[:, 0] - values[:, 2]
        det = px * qy - py * qx
        x[busy], y[busy] = (s * qy - py * t) / det, (px * t - qx * s) / det
        left = distance[busy] - x[busy, None] * ux - y[busy, None] * uy
        inner[busy] = values[:, 0] - gx[:, 0] * x[busy] - gy[:, 0] * y[busy]
        outer[busy] = left.max(axis=1)
        below = left.argmin(axis=1)
        under = inner[busy] - left[np.arange(len(busy)), below]
        worst = float(under.max())
        low = under > level
        chosen = _replaced(gx, gy, ux[below], uy[below])
        held[low, chosen[low]] = below[low]
        contacts[busy] = held
        busy = busy[low]
        if not busy.size:
            return Rings(x, y, outer, inner, contacts, exchanges)
    raise NotConverged("the exchange of contacts of a reference circle", worst, level)


def _replaced(gx: Floats, gy: Floats, ex: Floats, ey: Floats) -> Ints:
    """Say which of three directions gives way to a new one, so that the three still surround the centre."""
    scores = []
    for k in range(3):
        ax, ay, bx, by = gx[:, (k + 1) % 3], gy[:, (k + 1) % 3], gx[:, (k + 2) % 3], gy[:, (k + 2) % 3]
        turns = np.stack([_side(ax, ay, bx, by), _side(bx, by, ex, ey), _side(ex, ey, ax, ay)])
        scores.append(np.maximum(turns.min(axis=0), (-turns).min(axis=0)))
    return np.asarray(np.argmax(scores, axis=0))


def outermost_circles(ux: Floats, uy: Floats, distance: Floats, start: Ints | None = None) -> Rings:
    """Give the smallest circle around each of many outlines that share their directions; else as `innermost_circles`.

    Parameters
    ----------
    ux, uy : (n,) float arrays
        Directions of the points.
    distance : (B, n) float array
        Distances of the points of each outline.
    start : (B, 3) int array or None
        Contacts to begin with.

    Returns
    -------
    Rings
        With three contacts each; `inner` is the smallest distance from the same centre.

    Raises
    ------
    NotConverged
        Contacts that do not settle.
    """
    turned = innermost_circles(ux, uy, -distance, start)
    return Rings(-turned.x, -turned.y, -turned.inner, -turned.outer, turned.contacts, turned.exchanges)
