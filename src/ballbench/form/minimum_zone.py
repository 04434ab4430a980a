"""The minimum zone of ISO 12181-1: the narrowest ring, accepted with outer and inner contacts that alternate."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import NotConverged
from ballbench.form.circle import NEAR, ROUNDS, Circle, about, checked, moved
from ballbench.form.circle_exchange import ring_step
from ballbench.form.every_centre import FEW, ring_centres
from ballbench.form.least_squares_circle import least_squares
from ballbench.form.touching_circles import minimum_circumscribed

__all__ = ["minimum_zone"]

Floats = NDArray[np.float64]

_FAR_FROM_ROUND = 0.02
"""Form as a share of the radius from which one start is not trusted: other centres are tried too (own choice)."""


def minimum_zone(points: ArrayLike) -> Circle:
    """Give the narrowest ring between two circles with one centre that holds all points.

    Parameters
    ----------
    points : (n, 2) array_like of float
        At least four.

    Returns
    -------
    Circle
        With two contacts outside and two inside, alternating.

    Raises
    ------
    BadRequest
        Points that are none, too few, in one place or all on a line.
    NotConverged
        No ring passed the contact test.

    Notes
    -----
    Successive linear programs, each solved by exchange (`circle_exchange`) and begun with the contacts of the one
    before; the last moves the centre by nothing. A ring with alternating contacts cannot be made narrower by a small
    move. Of up to 60 points every centre is tried: the narrowest ring is taken of those about a place that the points
    surround, and only where there is none, as on an arc, of all. Of more points, where the form is over 2 % of the
    radius, the centres of the other circles are starts as well.
    """
    xy, middle = checked(points, 4)
    first = least_squares(xy)
    best = _zone_from(xy, first.x, first.y)
    if len(xy) <= FEW and (best is None or best.form > NEAR * float(np.abs(xy).max())):
        tried = (_zone_from(xy, float(x), float(y)) for x, y in ring_centres(xy))
        best = next((ring for ring in tried if ring is not None), best)
    elif best is None or best.form > _FAR_FROM_ROUND * best.radius:
        around = minimum_circumscribed(xy)
        starts = [(around.x, around.y), (float(xy[:, 0].mean()), float(xy[:, 1].mean()))]
        starts += about(first.x, first.y, 0.5 * first.form)
        found = [ring for x, y in starts if (ring := _zone_from(xy, x, y)) is not None]
        best = min([*found, *([] if best is None else [best])], key=lambda ring: ring.form, default=None)
    if best is None:
        raise NotConverged(
            "the minimum zone (no ring passed the test of two outer and two inner contacts)", math.nan, 0.0
        )
    return moved(best, middle)


def _zone_from(xy: Floats, x: float, y: float) -> Circle | None:
    """Follow linear programs from a centre to a ring that passes the contact test; None where none is reached."""
    held: tuple[int, int, int, int] | None = None
    width = math.inf
    for steps in range(ROUNDS):
        dx, dy = xy[:, 0] - x, xy[:, 1] - y
        distance = np.sqrt(dx * dx + dy * dy)
        if not distance.all():
            return None
        ux, uy = dx / distance, dy / distance
        if held is None:
            held = _quarters(ux, uy)
            width = float(np.ptp(distance))
        elif _alternate(ux, uy, held) and _rests(distance, held):
            return _ring(distance, x, y, held, steps)
        elif not _alternate(ux, uy, held):
            held = _quarters(ux, uy)
        try:
            ahead, across, held, _ = ring_step(ux, uy, distance, held)
        except (NotConverged, ZeroDivisionError):
            return None
        share = 1.0
        while share > 1e-9:
            new = float(np.ptp(np.hypot(xy[:, 0] - x - share * ahead, xy[:, 1] - y - share * across)))
            if new <= width + 1e-13 * float(distance.max()):
                break
            share /= 2.0
        else:
            return None
        x, y, width = x + share * ahead, y + share * across, new
    return None


def _quarters(ux: Floats, uy: Floats) -> tuple[int, int, int, int]:
    """Give four points, one from each quarter of the points in the order in which they lie around."""
    order = np.argsort(np.arctan2(uy, ux), kind="stable")
    n = len(order)
    a, b, c, d = (int(order[k * n // 4]) for k in range(4))
    return a, b, c, d


def _alternate(ux: Floats, uy: Floats, held: tuple[int, int, int, int]) -> bool:
    """Say whether outer, inner, outer, inner lie around in this order, one way or the other."""
    a, b, c, d = held
    if len({*held}) < 4:
        return False
    chord = (ux[d] - ux[b], uy[d] - uy[b])
    one, other = (chord[0] * (uy[k] - uy[b]) - chord[1] * (ux[k] - ux[b]) for k in (a, c))
    return bool(one * other < 0.0)


def _rests(distance: Floats, held: tuple[int, int, int, int]) -> bool:
    """Say whether all four contacts lie on their circles and no point beyond."""
    a, b, c, d = held
    near = NEAR * float(distance[a])
    most, least = float(distance.max()), float(distance.min())
    off = max(most - float(min(distance[a], distance[c])), float(max(distance[b], distance[d])) - least)
    return off <= near


def _ring(distance: Floats, x: float, y: float, held: tuple[int, int, int, int], steps: int) -> Circle:
    outer, inner = float(distance.max()), float(distance.min())
    a, b, c, d = held
    return Circle("minimum zone", x, y, (outer + inner) / 2, outer, inner, (a, c), (b, d), steps)
