"""Diameter variation from readings at a few axes: which part of the whole they catch.

A diameter is a two-point reading: r on one side plus r on the other. Of an outline r = R + sum a_n cos(n theta + p_n)
it shows 2 R + 2 sum over even n of a_n cos(n theta + p_n); odd lobes cancel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault

__all__ = [
    "ODD_LOBES", "Caught", "PlaneShape", "Shape", "SphereShape", "axes_caught", "blind_even_lobes", "even_axes",
    "mean_share_in_plane", "square_axes", "two_point_diameters",
]  # fmt: skip

Floats = NDArray[np.float64]

ODD_LOBES = (
    "Diameters do not show odd lobes (three, five, seven): a ball of constant width reads the same all round and need "
    "not be round."
)
"""Stands beside every diameter variation."""

_NEWTON = 6  # steps from a grid of 64 points a lobe to an extreme: the error squares each time


class Shape(Protocol):
    """A shape whose diameters can be read in given directions at random placings."""

    @property
    def variation(self) -> float:
        """Largest less smallest diameter over all directions, in the unit of the shape's amplitudes."""

    def placed(self, axes: Floats, balls: int, rng: np.random.Generator) -> Floats:
        """Diameters, less the mean, at `axes` (k, 3) for so many random placings, (balls, k)."""


@dataclass(frozen=True, slots=True)
class PlaneShape:
    """An outline in one plane, read at axes in that plane.

    Parameters
    ----------
    harmonics : tuple of (int, float, float)
        Lobes n from 1, amplitude a_n of the radius, in any one unit of length, and phase p_n, radians.
    """

    harmonics: tuple[tuple[int, float, float], ...]

    def __post_init__(self) -> None:
        bad = [n for n, a, p in self.harmonics if n < 1 or not (math.isfinite(a) and math.isfinite(p))]
        if bad:
            rule = "lobes from 1, finite amplitude and phase"
            raise BadRequest(Fault("PlaneShape, harmonics", f"lobes {bad}", rule, "correct them"))

    def diameters(self, theta: ArrayLike) -> Floats:
        """Give diameters less the mean one at angles `theta`, radians, in the same shape; even lobes alone show."""
        angle = np.asarray(theta, dtype=np.float64)
        return self._sum(angle, 0)

    def _sum(self, angle: Floats, order: int) -> Floats:
        """Sum the even harmonics, or their derivative of some order."""
        total = np.zeros_like(angle)
        for n, a, p in self.harmonics:
            if n % 2 == 0:
                total += 2.0 * a * n**order * np.cos(n * angle + p + order * math.pi / 2.0)
        return total

    @property
    def variation(self) -> float:
        """Largest less smallest diameter over the whole turn, from a grid and Newton's steps."""
        most = max((n for n, a, _ in self.harmonics if n % 2 == 0 and a != 0.0), default=0)
        if most == 0:
            return 0.0
        grid = np.linspace(0.0, math.pi, 64 * most, endpoint=False)
        read = self.diameters(grid)
        found = grid[[int(read.argmax()), int(read.argmin())]]
        for _ in range(_NEWTON):
            bend = self._sum(found, 2)
            found -= np.where(bend != 0.0, self._sum(found, 1) / np.where(bend != 0.0, bend, 1.0), 0.0)
        return float(np.ptp(self.diameters(found)))

    def placed(self, axes: Floats, balls: int, rng: np.random.Generator) -> Floats:
        """Diameters at `axes` (k, 3), taken in the plane of their first two coordinates, (balls, k)."""
        if np.any(np.abs(axes[:, 2]) > 1e-9):
            todo = "give axes with third coordinate 0, such as even_axes(k)"
            raise BadRequest(
                Fault("axes", "directions out of the plane", "directions in the plane of the outline", todo)
            )
        angles = np.arctan2(axes[:, 1], axes[:, 0])
        return self.diameters(angles + rng.uniform(0.0, 2.0 * math.pi, (balls, 1)))


@dataclass(frozen=True, slots=True)
class SphereShape:
    """A ball with an axis of symmetry: its diameter is D0 + sum of c_l P_l(cos of the angle to that axis).

    Parameters
    ----------
    degrees : tuple of (int, float)
        Even degree l from 2 and coefficient c_l of the diameter. ``((2, -1.0),)`` is an oblate ball.

    Notes
    -----
    Legendre polynomials P_l. A coefficient c_2 alone varies the diameter by 1.5 c_2.
    """

    degrees: tuple[tuple[int, float], ...]

    def __post_init__(self) -> None:
        bad = [degree for degree, c in self.degrees if degree < 2 or degree % 2 or not math.isfinite(c)]
        if bad:
            rule = "even degrees from 2 (odd ones do not show in diameters), finite coefficients"
            raise BadRequest(Fault("SphereShape, degrees", str(bad), rule, "correct them"))

    def _series(self) -> np.polynomial.Legendre:
        coefficients = np.zeros(1 + max((degree for degree, _ in self.degrees), default=0))
        for degree, c in self.degrees:
            coefficients[degree] += c
        return np.polynomial.Legendre(coefficients)

    @property
    def variation(self) -> float:
        """Largest less smallest diameter over all directions: at the ends and where the slope is 0."""
        series = self._series()
        roots = series.deriv().roots()
        turns = roots.real[(np.abs(roots.imag) < 1e-9) & (np.abs(roots.real) <= 1.0)]
        return float(np.ptp(series(np.concatenate([[0.0, 1.0], turns]))))

    def placed(self, axes: Floats, balls: int, rng: np.random.Generator) -> Floats:
        """Diameters at `axes` (k, 3) for balls whose own axis points anywhere, (balls, k)."""
        pole = rng.standard_normal((balls, 3))
        pole /= np.linalg.norm(pole, axis=1, keepdims=True)
        return np.asarray(self._series()(pole @ axes.T))


@dataclass(frozen=True, slots=True)
class Caught:
    """Which part of the full diameter variation so many axes catch, over random placings.

    Parameters
    ----------
    mean : float
        Average share, 0 to 1.
    u : float
        Its standard uncertainty from the number of placings.
    shares : (balls,) float array
        Every placing's share, sorted.
    note : str
        `ODD_LOBES`.
    """

    mean: float
    u: float
    shares: Floats
    note: str = ODD_LOBES

    def quantile(self, p: float) -> float:
        """Give the share under which a part `p` of the balls stays, 0 to 1."""
        return float(np.quantile(self.shares, p))


def square_axes(k: int) -> Floats:
    """Give two or three axes at right angles.

    Parameters
    ----------
    k : int
        2 or 3.

    Returns
    -------
    (k, 3) float array
        Unit vectors.

    Raises
    ------
    BadRequest
        Another number.
    """
    if k not in (2, 3):
        raise BadRequest(Fault("square_axes, k", str(k), "2 or 3", "take even_axes(k) or directions of your own"))
    return np.eye(3)[:k]


def even_axes(k: int) -> Floats:
    """Give k axes evenly spaced over half a turn of one great circle: the angle between neighbours is 180/k degrees.

    Parameters
    ----------
    k : int
        At least 2.

    Returns
    -------
    (k, 3) float array
        Unit vectors with third coordinate 0.

    Raises
    ------
    BadRequest
        Fewer than two.
    """
    if k < 2:
        raise BadRequest(Fault("even_axes, k", str(k), "a whole number from 2", "a variation needs two axes"))
    angle = np.arange(k) * math.pi / k
    return np.column_stack([np.cos(angle), np.sin(angle), np.zeros(k)])


def axes_caught(shape: Shape, axes: ArrayLike, rng: np.random.Generator, balls: int = 20_000) -> Caught:
    """Simulate which part of a shape's diameter variation the axes catch, the ball lying anyhow.

    Parameters
    ----------
    shape : Shape
        `PlaneShape` (turned in its plane) or `SphereShape` (turned anyhow).
    axes : (k, 3) array_like of float
        Directions of the readings, k at least 2; lengths do not matter.
    rng : numpy.random.Generator
        Seeded by the caller.
    balls : int
        Random placings, at least 2.

    Returns
    -------
    Caught
        Never NaN.

    Raises
    ------
    BadRequest
        Directions that are none, or a shape whose diameter does not vary.

    Notes
    -----
    Share = range over the axes / range over all directions, without any noise of the instrument.
    """
    lines = np.asarray(axes, dtype=np.float64)
    lengths = np.linalg.norm(lines, axis=-1) if lines.ndim == 2 and lines.shape[1] == 3 else np.zeros(1)
    faults = []
    if lengths.size < 2 or not np.all(np.isfinite(lengths) & (lengths > 0.0)):
        found = f"shape {lines.shape}"
        faults.append(Fault("axes", found, "two or more rows of three numbers, none zero", "give unit vectors"))
    if balls < 2:
        faults.append(Fault("balls", str(balls), "2 or more", "simulate some thousands"))
    full = shape.variation
    if not full > 0.0:
        faults.append(Fault("shape", "no variation of the diameter", "an even lobe or degree", ODD_LOBES))
    if faults:
        raise BadRequest(faults)
    read = shape.placed(lines / lengths[:, np.newaxis], balls, rng)
    shares = np.sort(np.ptp(read, axis=1) / full)
    return Caught(float(shares.mean()), float(shares.std(ddof=1)) / math.sqrt(balls), shares)


def mean_share_in_plane(lobes: int, angles: ArrayLike) -> float:
    """Give exactly what axes in a plane catch on average of an outline with one even number of lobes.

    Parameters
    ----------
    lobes : int
        n, even.
    angles : (k,) array_like of float
        Directions of the axes in the plane, radians.

    Returns
    -------
    float
        0 to 1; 0 where these axes are blind to n.

    Raises
    ------
    BadRequest
        An odd or too small n, or no angle.

    Notes
    -----
    The readings are projections of the points (cos n theta_j, sin n theta_j) on a random direction, so that the range
    is the width of their convex hull, whose mean is the perimeter over pi (Cauchy's formula; textbook, from memory).
    """
    places = np.sort(np.mod(lobes * np.asarray(angles, dtype=np.float64).ravel(), 2.0 * math.pi))
    if lobes < 2 or lobes % 2 or places.size == 0:
        found = f"{lobes} lobes, {places.size} angles"
        raise BadRequest(Fault("mean_share_in_plane", found, "an even number of lobes, one angle or more", ODD_LOBES))
    gaps = np.diff(np.append(places, places[0] + 2.0 * math.pi))
    return float(np.sum(2.0 * np.abs(np.sin(gaps / 2.0)))) / (2.0 * math.pi)


def blind_even_lobes(k: int, most: int = 24) -> tuple[int, ...]:
    """Say which even lobes k evenly spaced axes never show.

    Parameters
    ----------
    k : int
        Axes of `even_axes`, at least 2.
    most : int
        Largest number of lobes looked at.

    Returns
    -------
    tuple of int
        Multiples of 2 k: every axis meets such lobes at the same phase.
    """
    return tuple(range(2 * k, most + 1, 2 * k))


def two_point_diameters(radii: ArrayLike) -> Floats:
    """Give the diameters of an outline that is known all round.

    Parameters
    ----------
    radii : (..., m) array_like of float
        Of any shape, the last axis m equal angles over a turn, m even: distances of the tangents from the centre for
        flat jaws, of the points themselves for pointed ones; equal to first order for nearly round balls.

    Returns
    -------
    (..., m / 2) float array
        In the unit of `radii`; NaN where a radius is.

    Raises
    ------
    BadRequest
        An odd number of angles.
    """
    values = np.asarray(radii, dtype=np.float64)
    if values.ndim == 0 or values.shape[-1] % 2 or values.shape[-1] == 0:
        raise BadRequest(Fault("radii", f"shape {values.shape}", "an even number of angles", "sample the turn evenly"))
    half = values.shape[-1] // 2
    return np.asarray(values[..., :half] + values[..., half:])
