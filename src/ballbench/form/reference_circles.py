"""The four reference circles of ISO 12181-1, each accepted only with the proof that it is what it claims to be.

Least squares: the gradient is 0. Minimum zone: two outer and two inner contacts that alternate around. Minimum
circumscribed: two opposite contacts, or three that no half circle holds. Maximum inscribed: three contacts that no half
circle holds. The form is what ISO 12181-1 calls the peak-to-valley roundness deviation: the largest less the smallest
distance of the points from the circle's centre.
"""

from __future__ import annotations

from numpy.typing import ArrayLike

from ballbench.form.circle import KINDS, Circle, Kind, points_of
from ballbench.form.least_squares_circle import least_squares
from ballbench.form.minimum_zone import minimum_zone
from ballbench.form.touching_circles import maximum_inscribed, minimum_circumscribed

__all__ = [
    "KINDS", "Circle", "Kind", "least_squares", "maximum_inscribed", "minimum_circumscribed", "minimum_zone",
    "points_of", "reference_circles",
]  # fmt: skip


def reference_circles(points: ArrayLike) -> dict[Kind, Circle]:
    """Give all four reference circles.

    Parameters
    ----------
    points : (n, 2) array_like of float
        Points of an outline, at least four, in any order and unit, that surround their middle.

    Returns
    -------
    dict of str to Circle
        By kind, in the order of `KINDS`.

    Raises
    ------
    BadRequest
        Points that are none, too few, all on a line, or that do not surround their middle.
    NotConverged
        A circle whose proof fails.
    """
    return {
        "least squares": least_squares(points),
        "minimum zone": minimum_zone(points),
        "minimum circumscribed": minimum_circumscribed(points),
        "maximum inscribed": maximum_inscribed(points),
    }
