"""The two circles of ISO 12181-1 that touch: the smallest around all points, and the largest with none inside."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault, NotConverged
from ballbench.form.circle import NEAR, ROUNDS, Circle, about, checked, in_order, moved, surround
from ballbench.form.circle_exchange import innermost_circles
from ballbench.form.every_centre import FEW, inscribed_centres
from ballbench.form.least_squares_circle import least_squares

__all__ = ["maximum_inscribed", "minimum_circumscribed"]

Floats = NDArray[np.float64]

_TRIED = 8
"""Of every centre the best so many are proved (own choice: one would do but for roundings)."""


def minimum_circumscribed(points: ArrayLike) -> Circle:
    """Give the smallest circle that holds all points.

    Parameters
    ----------
    points : (n, 2) array_like of float
        At least two.

    Returns
    -------
    Circle
        With two opposite contacts outside, or three that no half circle holds; exact and the only one.

    Raises
    ------
    BadRequest
        Points that are none or too few.
    NotConverged
        The contact test failed.

    Notes
    -----
    The point that lies furthest outside joins the contacts, and the smallest circle of these four points or fewer is
    found by trying all pairs and threes; the radius grows each time.
    """
    xy, middle = checked(points, 2)
    far = int(np.hypot(*(xy - xy.mean(axis=0)).T).argmax())
    held = [far, int(np.hypot(*(xy - xy[far]).T).argmax())]
    size = float(np.abs(xy).max())
    over = math.inf
    steps = 0
    while steps < ROUNDS:
        steps += 1
        x, y, r, held = _smallest_of(xy, held)
        distance = np.hypot(xy[:, 0] - x, xy[:, 1] - y)
        worst = int(distance.argmax())
        over = float(distance[worst]) - r
        if over <= NEAR * size or worst in held:
            break
        held = [*held, worst]
    if over > NEAR * size or not surround(xy[held] - (x, y)):
        raise NotConverged("the minimum circumscribed circle", over, NEAR * size)
    inner = float(distance.min())
    return Circle(
        "minimum circumscribed", x + middle[0], y + middle[1], r, float(distance.max()), inner,
        in_order(xy, x, y, held), (int(distance.argmin()),), steps,
    )  # fmt: skip


def maximum_inscribed(points: ArrayLike) -> Circle:
    """Give the largest circle that has no point inside and is held all around.

    Parameters
    ----------
    points : (n, 2) array_like of float
        At least three that surround their middle.

    Returns
    -------
    Circle
        With three contacts inside that no half circle holds.

    Raises
    ------
    BadRequest
        Points that are none, too few, or that do not surround their middle.
    NotConverged
        No circle passed the contact test.

    Notes
    -----
    Not convex: there may be several such circles. Of up to 60 points every centre is tried; of more it is climbed to
    from the least-squares centre and from eight places around it, half the form away. The largest is taken.
    """
    xy, middle = checked(points, 3)
    if len(xy) <= FEW:
        starts = [(float(x), float(y)) for x, y in inscribed_centres(xy)[:_TRIED]]
    else:
        first = least_squares(xy)
        starts = [(first.x, first.y), *about(first.x, first.y, 0.5 * first.form)]
    if not starts or not surround(xy - starts[0]):
        found = "points that leave half of the turn about their middle empty"
        raise BadRequest(Fault("points", found, "points all around", "a circle inside needs the whole outline"))
    circles = [one for x, y in starts if (one := _inscribed_from(xy, x, y)) is not None]
    if not circles:
        raise NotConverged("the maximum inscribed circle (no circle passed the contact test)", math.nan, 0.0)
    return moved(max(circles, key=lambda one: one.radius), middle)


def _smallest_of(xy: Floats, held: list[int]) -> tuple[float, float, float, list[int]]:
    """Give the smallest circle around four points or fewer, and those of them that it rests on."""
    best: tuple[float, float, float, list[int]] = (0.0, 0.0, math.inf, held)
    own = xy[held]
    size = float(np.abs(own).max())
    for i in range(len(held)):
        for j in range(i + 1, len(held)):
            sets = [(i, j), *((i, j, k) for k in range(j + 1, len(held)))]
            for chosen in sets:  # held to no more than the proof asks: three contacts far apart cost some roundings
                x, y, r = _through(own[list(chosen)])
                if r < best[2] and np.hypot(own[:, 0] - x, own[:, 1] - y).max() <= r + NEAR * size:
                    best = x, y, r, [held[k] for k in chosen]
    return best


def _through(points: Floats) -> tuple[float, float, float]:
    """Give the circle through three points, or with two as its ends; an endless one for three on a line."""
    a = points[0]
    b = points[1] - a
    if len(points) == 2:
        return float(a[0] + b[0] / 2), float(a[1] + b[1] / 2), float(np.hypot(*b)) / 2
    c = points[2] - a
    det = 2.0 * float(b[0] * c[1] - b[1] * c[0])
    if det == 0.0:
        return 0.0, 0.0, math.inf
    bb, cc = float(b @ b), float(c @ c)
    x, y = (float(c[1]) * bb - float(b[1]) * cc) / det, (float(b[0]) * cc - float(c[0]) * bb) / det
    return float(a[0]) + x, float(a[1]) + y, math.hypot(x, y)


def _inscribed_from(xy: Floats, x: float, y: float) -> Circle | None:
    """Climb from a centre to a largest circle; None where the points do not surround what is reached."""
    size = float(np.abs(xy).max())
    for steps in range(ROUNDS):
        step = _climb(xy, x, y)
        if step is None:
            return None
        ahead, across, held = step
        x, y = x + ahead, y + across
        if math.hypot(ahead, across) <= 1e-13 * size:
            return _rested(xy, x, y, held, steps)
    return None


def _climb(xy: Floats, x: float, y: float) -> tuple[float, float, list[int]] | None:
    """Give the best way of the centre to first order, and the contacts there."""
    dx, dy = xy[:, 0] - x, xy[:, 1] - y
    distance = np.hypot(dx, dy)
    if not distance.all() or not surround(np.column_stack([dx, dy])):
        return None
    order = np.argsort(np.arctan2(dy, dx), kind="stable")
    ux, uy = (dx / distance)[order], (dy / distance)[order]
    start = _three_around(ux, uy)
    if start is None:
        return None
    try:
        found = innermost_circles(ux, uy, distance[order][None], start=start[None])
    except NotConverged:
        return None
    return float(found.x[0]), float(found.y[0]), [int(k) for k in order[found.contacts[0]]]


def _rested(xy: Floats, x: float, y: float, held: list[int], steps: int) -> Circle | None:
    """Give the circle if it passes the contact test."""
    distance = np.hypot(xy[:, 0] - x, xy[:, 1] - y)
    least = float(distance.min())
    near = NEAR * float(np.abs(xy).max())
    if float(distance[held].max()) - least > near or not surround(xy[held] - (x, y)):
        return None
    return Circle(
        "maximum inscribed", x, y, least, float(distance.max()), least, (int(distance.argmax()),),
        in_order(xy, x, y, held), steps,
    )  # fmt: skip


def _three_around(ux: Floats, uy: Floats) -> NDArray[np.intp] | None:
    """Give three directions, of all in their order around, that no half circle holds."""
    angles = np.unwrap(np.arctan2(uy, ux))
    first = 0
    across = int(np.searchsorted(angles, angles[0] + math.pi, side="right")) - 1  # the last within half a turn
    beyond = across + 1
    if across <= 0 or beyond >= len(angles):
        return None
    return np.array([first, across, beyond])
