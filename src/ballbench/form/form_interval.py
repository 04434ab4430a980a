"""What noise does to form, and what the form can be: by simulation, turned round.

Peak to valley is a range, so noise makes it larger: the more, the rounder the ball. Outlines of the shape that was
seen, made flatter and higher step by step, get the noise of the edge, go through the same filter and the same
reference circles. The forms that would show as much as was seen, neither too rarely nor too often, are the interval;
the form that would show as much in every second case is the estimate.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.form.circle import KINDS, Kind
from ballbench.form.circle_exchange import Rings, innermost_circles, narrowest_rings, outermost_circles
from ballbench.form.reference_circles import points_of, reference_circles
from ballbench.form.roundness_filter import filtered, points_needed

__all__ = ["SPAN", "EdgeNoise", "FormFound", "HarmonicNoise", "Noise", "forms_of", "many_forms"]

Floats = NDArray[np.float64]

_DRAWS = 500
_HEIGHTS = 11
"""Shapes from flat to higher than the one seen, between which the quantiles are interpolated (own choice)."""
_FEWEST, _EACH = 360, 8
"""Points of simulated outlines: so many, or that many for each undulation at the cut-off (own choice)."""
_TAIL, _TAIL_NEAR = 0.02, 0.025
"""Of each side of a 95 % interval: the shape is itself seen through noise, which costs some of what 0.025 would hold;
not where two shapes are tried and the wider ends taken (own choice, held by simulation)."""
_BOUND = 0.05
"""Of the one side of an interval whose lower end is 0, "at most": a round ball is not ruled out."""
_NEAR_ROUND = 1.5
"""Times what a round ball shows, under which two shapes are tried and the wider interval is given (own choice)."""
SPAN = 4.11
"""Standard uncertainties from end to end of such an interval: twice 2.054, the normal quantile of 0.98. Near round it
would be 3.92; the 5 % are left."""


class Noise(Protocol):
    """What is uncertain about the radii of one outline."""

    def draws(self, n: int, many: int, rng: np.random.Generator) -> Floats:
        """Give errors of outlines of n points, (many, n)."""

    def power(self, n: int) -> Floats:
        """Give the mean squared amplitude that it adds to the harmonics 0 to n // 2 of n points, (n // 2 + 1,)."""


@dataclass(frozen=True, slots=True)
class EdgeNoise:
    """Noise of edge points, what the coding of a picture leaves, and the oval that a camera may leave.

    Parameters
    ----------
    sd : float or (n,) float array
        Of one point, independent of its neighbours, in the unit of the radius.
    oval : float
        Standard uncertainty of an oval that the camera may leave: amplitude of two lobes, in the same unit.
    coded : float
        Standard uncertainty of the cosine part of four lobes from the coding of a picture, which treats edges along
        rows and columns of pixels otherwise than slanting ones, in the same unit; half as much in that of eight lobes,
        of the same sign.
    dof : float
        Degrees of freedom behind `sd`; every drawn outline has an `sd` of its own by them.
    """

    sd: float | Floats
    oval: float = 0.0
    coded: float = 0.0
    dof: float = math.inf

    def draws(self, n: int, many: int, rng: np.random.Generator) -> Floats:
        """Give errors of outlines of n points, (many, n)."""
        errors = np.asarray(self.sd) * rng.standard_normal((many, n))
        theta = np.arange(n) * 2.0 * math.pi / n
        if self.coded > 0.0:
            part = rng.standard_normal((many, 1)) * self.coded
            errors += part * (np.cos(4.0 * theta) + 0.5 * np.cos(8.0 * theta))
        if math.isfinite(self.dof):
            errors *= np.sqrt(self.dof / rng.chisquare(self.dof, (many, 1)))
        return np.asarray(errors) + self.ovals(n, many, rng)

    def ovals(self, n: int, many: int, rng: np.random.Generator) -> Floats:
        """Give ovals that the camera may leave in outlines of n points, (many, n)."""
        if self.oval <= 0.0:
            return np.zeros((many, n))
        theta = np.arange(n) * 4.0 * math.pi / n
        parts = rng.standard_normal((2, many, 1)) * self.oval / math.sqrt(2.0)
        return np.asarray(parts[0] * np.cos(theta) + parts[1] * np.sin(theta))

    def power(self, n: int) -> Floats:
        """Give the mean squared amplitude that it adds to the harmonics 0 to n // 2 of n points, (n // 2 + 1,)."""
        added = np.full(n // 2 + 1, 4.0 * float(np.mean(np.square(np.broadcast_to(self.sd, n)))) / n)
        added[2] += self.oval**2
        added[[4, 8]] += self.coded**2 * np.array((1.0, 0.25))
        return added


@dataclass(frozen=True, slots=True)
class HarmonicNoise:
    """Noise of harmonics, each with its own.

    Parameters
    ----------
    u : (m,) float array
        Standard uncertainty of the cosine and of the sine coefficient of the harmonics 1 to m; NaN counts as 0.
    """

    u: Floats

    def draws(self, n: int, many: int, rng: np.random.Generator) -> Floats:
        """Give errors of outlines of n points, (many, n)."""
        parts = rng.standard_normal((2, many, len(self.u))) * np.nan_to_num(self.u)
        spectrum = np.zeros((many, n // 2 + 1), dtype=np.complex128)
        spectrum[:, 1 : len(self.u) + 1] = (parts[0] + 1j * parts[1]) * n / 2.0
        return np.asarray(np.fft.irfft(spectrum, n, axis=1))

    def power(self, n: int) -> Floats:
        """Give the mean squared amplitude that it adds to the harmonics 0 to n // 2 of n points, (n // 2 + 1,)."""
        added = np.zeros(n // 2 + 1)
        added[1 : len(self.u) + 1] = 2.0 * np.nan_to_num(self.u) ** 2
        return added


@dataclass(frozen=True, slots=True)
class FormFound:
    """Form by one reference circle, after the filter.

    Parameters
    ----------
    kind : str
        Which circle.
    seen : float
        As the outline shows it, noise and all.
    value : float
        Without what noise adds: the form that would show as much in every second case; 0 where a round ball would.
    low, high : float
        95 % interval; `low` is 0 where a round ball may show as much, and `high` then a bound to one side.
    u : float
        Standard uncertainty: the interval's width over 4.11.
    floor : float
        What a round ball stays under in nineteen cases of twenty.
    told : bool
        More was seen than that.
    """

    kind: Kind
    seen: float
    value: float
    low: float
    high: float
    u: float
    floor: float
    told: bool


def forms_of(
    radius: ArrayLike,
    noise: Noise,
    cutoff: float,
    rng: np.random.Generator,
    *,
    seen: ArrayLike | None = None,
    draws: int = _DRAWS,
    kinds: Sequence[Kind] = KINDS,
) -> dict[Kind, FormFound]:
    """Give the form of an outline by reference circles, with what noise leaves open.

    Parameters
    ----------
    radius : (n,) array_like of float
        Radii at equally spaced angles from 0 over the whole turn, about a place near the centre, any unit of length.
    noise : Noise
        In the same unit.
    cutoff : float
        Of the Gaussian filter, undulations per revolution.
    rng : numpy.random.Generator
        Seeded by the caller.
    seen : (n,) array_like of bool or None
        Which points were seen; None: all. The form is that of the part that the filter reaches.
    draws : int
        Simulated outlines of each height, at least 40.
    kinds : sequence of str
        Which reference circles.

    Returns
    -------
    dict of str to FormFound
        By kind, in the order of `kinds`.

    Raises
    ------
    BadRequest
        Too few points for the cut-off, or too few draws.
    NotConverged
        A reference circle that fails its proof.

    Notes
    -----
    Test inversion (a confidence interval as the set of values that are not rejected), along the one line of shapes that
    runs from a circle through the harmonics of the outline that noise does not explain. Near a circle these are few, so
    the line through all of them, each shrunk by what noise adds, is tried as well, and the wider ends are taken.
    An oval that the camera may leave is a bound: the interval holds that with it, that without it, and the form of a
    ball whose own oval it cancelled.
    Simulated forms are to first order in form over radius, as the linear programs of `circle_exchange` have it. By
    definition no form is less than that of the minimum zone, so none is said to be.
    """
    values = np.asarray(radius, dtype=np.float64)
    if draws < 40:
        raise BadRequest(Fault("draws", str(draws), "40 or more", "take more draws"))
    n = len(values)
    theta = np.arange(n) * 2.0 * math.pi / n
    mask = np.ones(n, dtype=bool) if seen is None else np.asarray(seen, dtype=bool)
    smooth = filtered(values, cutoff, mask)
    reached = np.isfinite(smooth)
    circles = reference_circles(points_of(theta[reached], smooth[reached]))
    chosen = _thinned(n, cutoff)[reached[_thinned(n, cutoff)]]
    mean = float(smooth[reached].mean())

    def under(own: Noise) -> dict[Kind, FormFound]:
        errors = filtered(own.draws(n, draws, rng), cutoff, mask)[:, chosen]
        sure, every = _shapes(np.where(reached, smooth - mean, 0.0), own, cutoff)
        return {
            kind: _found(kind, circles[kind].form, _Forms(theta[chosen], kind), (sure[chosen], every[chosen]), errors)
            for kind in kinds
        }

    found = under(noise)
    if isinstance(noise, EdgeNoise) and noise.oval > 0.0:
        plain = replace(noise, oval=0.0)
        bare = under(plain)
        sure, _ = _shapes(np.where(reached, smooth - mean, 0.0), plain, cutoff)
        apart = sure[chosen] - filtered(noise.ovals(n, draws, rng), cutoff)[:, chosen]
        without = {kind: np.quantile(many_forms(theta[chosen], apart, kind), (_TAIL, 1.0 - _TAIL)) for kind in kinds}
        found = {kind: _either(found[kind], bare[kind], without[kind]) for kind in kinds}
    zone = found.get("minimum zone")
    return found if zone is None else {kind: _no_less(one, zone) for kind, one in found.items()}


def _either(ovalled: FormFound, bare: FormFound, without: Floats) -> FormFound:
    """Put the intervals with and without the camera's oval together.

    The oval is no noise that is there in every photograph but a bound: a camera that leaves none must not make what was
    seen look like luck, and the form smaller than it was seen. Nor is the ball what was seen: `without` has both ends
    of the form of what was seen less an oval that the camera may have left, which may have cancelled the ball's own.
    """
    low = min(ovalled.low, bare.low, float(without[0]))
    high = max(ovalled.high, bare.high, float(without[1]))
    value = ovalled.value if ovalled.told else bare.value
    return replace(ovalled, value=value, low=low, high=high, u=(high - low) / SPAN)


def _no_less(one: FormFound, zone: FormFound) -> FormFound:
    """Raise a form that noise left below that of the minimum zone, which no other is less than."""
    value, low, high = max(one.value, zone.value), max(one.low, zone.low), max(one.high, zone.value)
    return replace(one, value=value, low=low, high=high, u=(high - low) / SPAN)


def many_forms(theta: Floats, deviation: Floats, kind: Kind) -> Floats:
    """Give the form of many outlines to first order in form over radius.

    Parameters
    ----------
    theta : (n,) float array
        Angles, rising over a whole turn.
    deviation : (B, n) float array
        Radii less a common one.
    kind : str
        Which reference circle.

    Returns
    -------
    (B,) float array
        In the unit of the deviations.

    Raises
    ------
    NotConverged
        Contacts that do not settle.
    """
    return _Forms(theta, kind)(deviation)


class _Forms:
    """Forms by one kind of circle of outlines that share their angles; a call begins with the last one's contacts."""

    def __init__(self, theta: Floats, kind: Kind) -> None:
        self.ux, self.uy = np.cos(theta), np.sin(theta)
        self.kind = kind
        self.contacts: NDArray[np.intp] | None = None
        self.rows = np.column_stack([np.ones_like(self.ux), self.ux, self.uy])
        self.inverse = np.linalg.pinv(self.rows)

    def __call__(self, deviation: Floats) -> Floats:
        if self.kind == "least squares":
            left = deviation - (deviation @ self.inverse.T) @ self.rows.T
            return np.asarray(np.ptp(left, axis=1))
        known = self.contacts if self.contacts is not None and len(self.contacts) == len(deviation) else None
        found = _SOLVERS[self.kind](self.ux, self.uy, deviation, known)
        self.contacts = found.contacts
        return found.outer - found.inner


_SOLVERS: dict[Kind, Callable[[Floats, Floats, Floats, NDArray[np.intp] | None], Rings]] = {
    "minimum zone": narrowest_rings,
    "minimum circumscribed": outermost_circles,
    "maximum inscribed": innermost_circles,
}


def _thinned(n: int, cutoff: float) -> NDArray[np.intp]:
    """Give the points that a simulated outline keeps: after the filter the others say nothing new."""
    least = max(_FEWEST, math.ceil(_EACH * cutoff), points_needed(cutoff))
    return np.arange(0, n, max(1, n // least))


def _shapes(deviation: Floats, noise: Noise, cutoff: float) -> tuple[Floats, Floats]:
    """Give the outline by the harmonics that noise does not explain, and with all of them shrunk by what it adds."""
    n = len(deviation)
    spectrum = np.fft.rfft(deviation) * 2.0 / n
    share = np.exp2(-((np.arange(len(spectrum)) / cutoff) ** 2))
    power = np.abs(spectrum) ** 2
    power[:2] = 0.0
    ratio = power / np.maximum(noise.power(n) * share**2, 1e-300 + 1e-24 * float(power.max()))
    keep = ratio > -math.log1p(-(0.95 ** (1.0 / max(cutoff, 1.0))))
    if not keep.any():
        keep[int(np.argmax(ratio))] = True
    shrunk = np.where(ratio > 1.0, 1.0 - 1.0 / np.maximum(ratio, 1.0), 0.0)
    if not shrunk.any():
        shrunk = keep.astype(np.float64)
    sure, all_of_them = (np.fft.irfft(spectrum * weights * n / 2.0, n) for weights in (keep, shrunk))
    return sure, all_of_them


def _found(
    kind: Kind, seen: float, forms: Callable[[Floats], Floats], shapes: tuple[Floats, Floats], errors: Floats
) -> FormFound:
    """Turn the simulation round for one kind of circle."""
    own = [float(forms(shape[None])[0]) for shape in shapes]
    alone = forms(errors)
    floor = float(np.quantile(alone, 0.95))
    if min(own) <= 1e-9 * floor or seen <= 0.0:  # a circle: whatever is seen is noise
        high = max(seen, float(np.quantile(alone, 1.0 - _BOUND)))
        return FormFound(kind, seen, 0.0, 0.0, high, high / SPAN, floor, told=False)
    near = seen < _NEAR_ROUND * floor
    ends = [
        _turned_round(seen, forms, shape, height, errors, alone, _TAIL_NEAR if near else _TAIL)
        for shape, height in zip(shapes, own, strict=True)
        if near or shape is shapes[0]
    ]
    low = min(one[0] for one in ends)
    high = max(one[2] if low > 0.0 else one[3] for one in ends)
    middle = sum(one[1] for one in ends) / len(ends)
    return FormFound(kind, seen, middle, low, high, (high - low) / SPAN, floor, told=seen > floor)


def _turned_round(
    seen: float,
    forms: Callable[[Floats], Floats],
    shape: Floats,
    own: float,
    errors: Floats,
    alone: Floats,
    tail: float,
) -> tuple[float, float, float, float]:
    """Give low end, middle, high end and upper bound of the forms of one shape that would show as much as was seen."""
    heights = np.linspace(0.0, (seen + float(alone.max())) / own, _HEIGHTS)
    shown = np.array([alone, *(forms(height * shape + errors) for height in heights[1:])])
    curves = [np.quantile(shown, p, axis=1) for p in (1.0 - tail, 0.5, tail, _BOUND)]
    low, middle, high, bound = (own * _height(heights, curve, seen) for curve in curves)
    return low, middle, high, bound


def _height(heights: Floats, curve: Floats, seen: float) -> float:
    """Give the height at which a curve of quantiles reaches what was seen; 0 where it is above it from the start."""
    if seen <= curve[0]:
        return 0.0
    rising = np.maximum.accumulate(curve)
    above = int(np.argmax(rising >= seen)) or len(heights) - 1
    step = float(rising[above] - rising[above - 1])
    share = (seen - float(rising[above - 1])) / step if step > 0.0 else 1.0
    return float(heights[above - 1] + min(share, 1.0) * (heights[above] - heights[above - 1]))
