"""The least-squares circle of ISO 12181-1, by Newton's steps; accepted where the gradient is 0."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import NotConverged
from ballbench.form.circle import NEAR, ROUNDS, Circle, checked

__all__ = ["least_squares"]

Floats = NDArray[np.float64]

_SMALL = 1e-7
"""Of the size of the outline: a step after which the sum differs by roundings alone (own choice)."""
_ROUNDINGS = 8.0 * float(np.finfo(np.float64).eps)
"""Of the sum of all distances: what roundings leave of the gradient (own choice)."""


def least_squares(points: ArrayLike) -> Circle:
    """Give the circle with the least sum of squared distances of the points from it.

    Parameters
    ----------
    points : (n, 2) array_like of float
        At least three, not all on a line.

    Returns
    -------
    Circle
        The geometric fit, not the algebraic one from which it starts.

    Raises
    ------
    BadRequest
        Points that are none, too few, or all on a line.
    NotConverged
        The sum is not the least there.

    Notes
    -----
    The best radius about a centre is the mean distance, so the sum is a function of the centre alone. Newton's steps
    from the algebraic circle of least squares (Gauss-Newton's where the sum is not convex), each shortened until the
    sum grows no more, but for the last, small ones, which roundings of the sum would judge; accepted when the step that
    is left is under 1e-11 of the outline, or when the gradient is no more than roundings.
    """
    xy, middle = checked(points, 3)
    x, y, _ = _algebraic(xy)
    size = float(np.abs(xy).max())
    step = math.inf
    for steps in range(ROUNDS):
        dx, dy = xy[:, 0] - x, xy[:, 1] - y
        distance = np.hypot(dx, dy)
        if not distance.all():
            break
        r = float(distance.mean())
        u = np.column_stack([dx, dy]) / distance[:, None]
        ahead, across = _newton(u, distance, r)
        step = math.hypot(ahead, across)
        if step <= NEAR * size or float(np.abs((distance - r) @ u).max()) <= _ROUNDINGS * float(distance.sum()):
            return _circle(xy, middle, x, y, r, steps)
        share, before = 1.0, _misfit(xy, x, y)
        while step > _SMALL * size and share > 1e-6 and _misfit(xy, x + share * ahead, y + share * across) > before:
            share /= 2.0
        share = share if share > 1e-6 else 1.0  # only roundings are left to decide
        x, y = x + share * ahead, y + share * across
    raise NotConverged("the least-squares circle", step, NEAR * size)


def _algebraic(xy: Floats) -> tuple[float, float, float]:
    """Give the circle with the least sum of squared powers of the points: one linear system."""
    rows = np.column_stack([xy, np.ones(len(xy))])
    a, b, c = np.linalg.lstsq(rows, (xy**2).sum(axis=1), rcond=None)[0]
    return float(a) / 2, float(b) / 2, math.sqrt(max(float(c + (a * a + b * b) / 4), 1e-300))


def _misfit(xy: Floats, x: float, y: float) -> float:
    distance = np.hypot(xy[:, 0] - x, xy[:, 1] - y)
    off = distance - distance.mean()
    return float(off @ off)


def _newton(u: Floats, distance: Floats, r: float) -> tuple[float, float]:
    """Give the step of the centre: half the gradient is the sum of -(d - r) u, its derivative worked out here."""
    off = distance - r
    mean = u.mean(axis=0)
    gauss = u.T @ u - len(u) * np.outer(mean, mean)
    weights = off / distance
    bend = float(weights.sum()) * np.eye(2) - (u * weights[:, None]).T @ u
    full = gauss + bend
    convex = full[0, 0] > 0.0 and full[0, 0] * full[1, 1] > full[0, 1] ** 2
    ahead, across = np.linalg.lstsq(full if convex else gauss, off @ u, rcond=None)[0]
    return float(ahead), float(across)


def _circle(xy: Floats, middle: Floats, x: float, y: float, r: float, steps: int) -> Circle:
    distance = np.hypot(xy[:, 0] - x, xy[:, 1] - y)
    above, below = int(distance.argmax()), int(distance.argmin())
    outer, inner = float(distance[above]), float(distance[below])
    return Circle(
        "least squares", x + float(middle[0]), y + float(middle[1]), r, outer, inner, (above,), (below,), steps
    )
