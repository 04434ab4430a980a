"""A reference circle of points, and what all four of them ask of points and of contacts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault

__all__ = [
    "KINDS", "NEAR", "ROUNDS", "Circle", "Kind", "about", "checked", "in_order", "moved", "points_of", "surround",
]  # fmt: skip

Floats = NDArray[np.float64]
Kind = Literal["least squares", "minimum zone", "minimum circumscribed", "maximum inscribed"]
KINDS: tuple[Kind, ...] = ("least squares", "minimum zone", "minimum circumscribed", "maximum inscribed")

ROUNDS = 200
"""Steps of an iteration at most; some five are usual (own choice)."""
NEAR = 1e-11
"""Of the size of the outline: how far a contact may lie off its circle (own choice: a hundred thousand roundings, and
under a picometre on a ball)."""
_MOST_POINTS = 100_000


@dataclass(frozen=True, slots=True)
class Circle:
    """A reference circle of points.

    Parameters
    ----------
    kind : str
        Which of the four.
    x, y : float
        Centre, in the unit of the points.
    radius : float
        Of the circle; of a minimum zone the mean of its two circles.
    outer, inner : float
        Largest and smallest distance of a point from the centre.
    outside, inside : tuple of int
        Indices of the contacts on the outer and on the inner circle, in their order around the centre; those of a
        least-squares circle are the highest and the lowest point.
    steps : int
        Of the iteration.
    """

    kind: Kind
    x: float
    y: float
    radius: float
    outer: float
    inner: float
    outside: tuple[int, ...]
    inside: tuple[int, ...]
    steps: int

    @property
    def form(self) -> float:
        """Peak to valley of the radius (RONt of ISO 12181-1), in the unit of the points."""
        return self.outer - self.inner


def points_of(theta: ArrayLike, radius: ArrayLike) -> Floats:
    """Give the points (n, 2) of a profile: radii over angles in radians, counter-clockwise."""
    angle, r = np.asarray(theta, dtype=np.float64), np.asarray(radius, dtype=np.float64)
    return np.column_stack([r * np.cos(angle), r * np.sin(angle)])


def checked(points: ArrayLike, fewest: int) -> tuple[Floats, Floats]:
    """Give points about their mean, and the mean.

    Parameters
    ----------
    points : (n, 2) array_like of float
        An outline.
    fewest : int
        So many at least.

    Raises
    ------
    BadRequest
        Points that are none, too few or too many, not finite, all in one place, or, from three on, all on a line.
    """
    xy = np.asarray(points, dtype=np.float64)
    if xy.ndim != 2 or xy.shape[1] != 2 or not fewest <= len(xy) <= _MOST_POINTS:
        rule = f"{fewest} to {_MOST_POINTS:,} points, two numbers each"
        raise BadRequest(Fault("points", f"shape {xy.shape}", rule, "give the points of one outline"))
    if not np.all(np.isfinite(xy)):
        raise BadRequest(Fault("points", "a number that is not finite", "finite numbers", "leave those points out"))
    middle = xy.mean(axis=0)
    centred = xy - middle
    # the mean of equal numbers is off by roundings
    if float(np.abs(centred).max()) <= 1e-14 * float(np.abs(xy).max()):
        raise BadRequest(Fault("points", "all points in one place", "points around a circle", "look at the outline"))
    if fewest > 2:
        spread = np.linalg.svd(centred, compute_uv=False)
        if spread[-1] <= 1e-12 * max(float(spread[0]), 1e-300):
            raise BadRequest(Fault("points", "points on one line", "points around a circle", "look at the outline"))
    return centred, middle


def about(x: float, y: float, reach: float) -> list[tuple[float, float]]:
    """Give eight places around another."""
    return [(x + reach * math.cos(k * math.pi / 4), y + reach * math.sin(k * math.pi / 4)) for k in range(8)]


def surround(ways: Floats) -> bool:
    """Say whether no half circle holds all these directions (n, 2); two that are opposite surround as well."""
    angles = np.sort(np.arctan2(ways[:, 1], ways[:, 0]))
    gaps = np.diff(np.concatenate([angles, [angles[0] + 2 * math.pi]]))
    return bool(gaps.max() <= math.pi + 1e-7)


def in_order(xy: Floats, x: float, y: float, held: list[int]) -> tuple[int, ...]:
    """Give contacts, indices of points (n, 2), in their order around a centre."""
    return tuple(sorted(held, key=lambda k: math.atan2(xy[k, 1] - y, xy[k, 0] - x)))


def moved(one: Circle, middle: Floats) -> Circle:
    """Give the circle of points that were moved so that `middle` (2,) became 0, back in their own place."""
    return replace(one, x=one.x + float(middle[0]), y=one.y + float(middle[1]))
