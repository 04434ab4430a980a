"""From an outline to what a caliper would read on it: diameters, their variation, and what they do not show.

A diameter is a radius and the one opposite; odd lobes cancel. So the even harmonics of a photographed outline say which
diameters a caliper finds in that plane, and photo and caliper can be held against each other; the odd ones say what no
caliper sees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.form.form_interval import many_forms
from ballbench.form.harmonics import Harmonics
from ballbench.form.two_point import ODD_LOBES, PlaneShape, axes_caught, even_axes

__all__ = ["AxesVariation", "PredictedDiameters", "predicted_diameters"]

Floats = NDArray[np.float64]

AXES = (2, 3, 4, 6)
"""Numbers of axes for which the variation is foretold (own choice: what people read)."""
_PLACINGS = 4_000
_GRID = 720
_DRAWS = 200
_NORMAL = 1.96


@dataclass(frozen=True, slots=True)
class AxesVariation:
    """Largest less smallest of so many diameters at even angles, the first one anywhere: mean, and 2.5 and 97.5 %."""

    axes: int
    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PredictedDiameters:
    """What diameters show of an outline, in the plane of the outline.

    Parameters
    ----------
    variation : float
        Largest less smallest diameter over the whole turn, from the harmonics that noise does not explain, freed from
        noise; in the unit of the radius.
    u : float
        Its standard uncertainty, by simulation; where no even lobe is told, that of which two lobes at the floor of
        noise would be the 95 % bound. NaN where the noise is not known.
    largest_at, smallest_at : float
        Directions of the largest and the smallest diameter, degrees from 0 to 180; NaN where it does not vary.
    by_axes : tuple of AxesVariation
        What k axes would show of it, without the caliper's own noise.
    odd_form : float
        Minimum-zone form of the odd harmonics alone: what no caliper shows.
    odd_u : float
        Its standard uncertainty.
    odd, even : tuple of int
        The harmonics that are behind it.
    note : str
        That odd lobes are not seen.
    """

    variation: float
    u: float
    largest_at: float
    smallest_at: float
    by_axes: tuple[AxesVariation, ...]
    odd_form: float
    odd_u: float
    odd: tuple[int, ...]
    even: tuple[int, ...]
    note: str = ODD_LOBES


def predicted_diameters(found: Harmonics, rng: np.random.Generator, *, most: int = 50) -> PredictedDiameters:
    """Foretell diameters from the harmonics of an outline.

    Parameters
    ----------
    found : Harmonics
        Of the outline, before any filter.
    rng : numpy.random.Generator
        Seeded by the caller.
    most : int
        Harmonics above are left out.

    Returns
    -------
    PredictedDiameters
        In the unit of the amplitudes.

    Notes
    -----
    Of an outline r = R + sum a_n cos(n theta + p_n) the diameter at theta is 2 R + 2 sum over even n. Only harmonics
    that noise alone does not explain count, with their amplitudes freed from noise. Uncertainty: the coefficients are
    drawn anew with their own, 200 times.
    """
    use = found.told & (found.n >= 2) & (found.n <= most)
    if np.all(np.isnan(found.u)):
        use = (found.n >= 2) & (found.n <= most)
    freed = np.where(np.isnan(found.u), found.amplitude, found.freed)
    even, odd = use & (found.n % 2 == 0), use & (found.n % 2 == 1)
    shape = _shape(found, freed, even)
    grid = np.linspace(0.0, math.pi, _GRID, endpoint=False)
    read = shape.diameters(grid)
    varies = shape.variation > 0.0
    drawn_even, drawn_odd = _drawn(found, freed, even, rng), _drawn(found, freed, odd, rng)
    theta = np.linspace(0.0, 2.0 * math.pi, _GRID, endpoint=False)
    odd_shape = _waves(found.n[odd], theta, freed[odd] * np.exp(1j * found.phase[odd]))
    return PredictedDiameters(
        variation=shape.variation,
        u=float(np.std(np.ptp(2.0 * _waves(found.n[even], grid, drawn_even), axis=1)))
        if even.any()
        else _none(found, 2, 4.0),
        largest_at=math.degrees(grid[int(read.argmax())]) if varies else math.nan,
        smallest_at=math.degrees(grid[int(read.argmin())]) if varies else math.nan,
        by_axes=tuple(_by_axes(shape, k, rng) for k in AXES),
        odd_form=float(many_forms(theta, odd_shape, "minimum zone")[0]) if odd.any() else 0.0,
        odd_u=float(np.std(many_forms(theta, _waves(found.n[odd], theta, drawn_odd), "minimum zone")))
        if odd.any()
        else _none(found, 3, 2.0),
        odd=tuple(int(n) for n in found.n[odd]),
        even=tuple(int(n) for n in found.n[even]),
    )


def _none(found: Harmonics, n: int, reach: float) -> float:
    """Give the uncertainty of a part of which nothing was told: what one lobe at the floor makes, taken as a bound.

    An amplitude a of even lobes varies diameters by 4 a, one of odd lobes makes the form 2 a.
    """
    floor = found.floor[found.n == n]
    return reach * float(floor[0]) / _NORMAL if floor.size else math.nan


def _shape(found: Harmonics, freed: Floats, use: NDArray[np.bool_]) -> PlaneShape:
    return PlaneShape(tuple((int(found.n[k]), float(freed[k]), float(found.phase[k])) for k in np.flatnonzero(use)))


def _drawn(found: Harmonics, freed: Floats, use: NDArray[np.bool_], rng: np.random.Generator) -> NDArray[np.complex128]:
    """Draw coefficients anew, (draws, m)."""
    own = freed[use] * np.exp(1j * found.phase[use])
    spread = np.nan_to_num(found.u[use])
    noise = rng.standard_normal((2, _DRAWS, len(own))) * spread
    return np.asarray(own + noise[0] + 1j * noise[1])


def _waves(n: NDArray[np.intp], theta: Floats, coefficients: NDArray[np.complex128]) -> Floats:
    """Give sums of waves, (draws, angles); one row for coefficients of one outline."""
    held = np.atleast_2d(coefficients)
    return np.asarray((held @ np.exp(1j * np.outer(n, theta))).real)


def _by_axes(shape: PlaneShape, k: int, rng: np.random.Generator) -> AxesVariation:
    caught = axes_caught(shape, even_axes(k), rng, _PLACINGS) if shape.variation > 0.0 else None
    if caught is None:
        return AxesVariation(k, 0.0, 0.0, 0.0)
    full = shape.variation
    return AxesVariation(k, caught.mean * full, caught.quantile(0.025) * full, caught.quantile(0.975) * full)
