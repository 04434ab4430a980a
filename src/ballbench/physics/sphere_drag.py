"""The drag coefficient of a smooth sphere, and the one constant number that stands for a whole flight."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["FLIGHT_SHARE", "HIGHEST_REYNOLDS", "flight_drag", "sphere_drag"]

Array = NDArray[np.float64]

FLIGHT_SHARE = 0.75
"""Share of the launch speed whose drag coefficient stands for the flight: with it a flight of constant drag takes as
long as one whose drag follows the curve, to 3e-4 (own choice, by integration)."""
HIGHEST_REYNOLDS = 2e5
"""Above, the flow around a smooth sphere turns turbulent and the curve ends."""


def sphere_drag(reynolds: ArrayLike) -> Array:
    """Give the drag coefficient of a smooth sphere.

    Parameters
    ----------
    reynolds : array_like, any shape
        Speed times diameter over kinematic viscosity, above 0 and up to 2e5.

    Returns
    -------
    array
        Within about 6 per cent of the measured standard curve from 1e3 up; NaN outside the range.

    Notes
    -----
    Brown and Lawler, Journal of Environmental Engineering 129 (2003) 222 to 231, equation 19; read in public code.
    """
    re = np.asarray(reynolds, dtype=np.float64)
    known = (re > 0.0) & (re <= HIGHEST_REYNOLDS)
    safe = np.where(known, re, 1.0)
    found = 24.0 / safe * (1.0 + 0.150 * safe**0.681) + 0.407 / (1.0 + 8710.0 / safe)
    return np.where(known, found, math.nan)


def flight_drag(speed: ArrayLike, diameter: ArrayLike, kinematic_viscosity: ArrayLike) -> Array:
    """Give the constant drag coefficient that stands for a flight, or for a fall.

    Parameters
    ----------
    speed : array_like, any shape
        Largest speed of the flight, m/s.
    diameter : array_like, any shape
        m.
    kinematic_viscosity : array_like, any shape
        m2/s.

    Returns
    -------
    array
        That of the standard curve at `FLIGHT_SHARE` of the speed; beyond its end the value there, and near rest that at
        a Reynolds number of 1; NaN where something is NaN.
    """
    speed = np.asarray(speed, dtype=np.float64)
    reynolds = FLIGHT_SHARE * speed * np.asarray(diameter) / np.asarray(kinematic_viscosity)
    return sphere_drag(np.clip(reynolds, 1.0, HIGHEST_REYNOLDS))
