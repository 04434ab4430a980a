"""Propagation of whole distributions by simulation, and intervals read from the draws.

The first part says what is known of an input as a distribution; the second draws, computes and reads intervals.
Clause numbers are those of JCGM 101:2008.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.propagation import Budget
from ballbench.quantities.uncertain import Uncertain

__all__ = [
    "Arcsine",
    "Coverage",
    "CurvilinearTrapezoid",
    "Distribution",
    "MultivariateNormal",
    "Normal",
    "Rectangular",
    "ScaledT",
    "SettledCoverage",
    "Triangular",
    "Validation",
    "monte_carlo",
    "monte_carlo_until",
    "numerical_tolerance",
    "shortest_interval",
    "summarise",
    "symmetric_interval",
    "validate_first_order",
]

Array = NDArray[np.float64]

_CHUNK = 100_000  # draws held at once for every input; bounds memory, changes no result but the order of draws
_FIRST_BLOCKS = 5  # own choice: the source begins with 2, whose scatter is often small by luck


class Distribution(Protocol):
    """What is known of one input."""

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values, in the unit of the input."""

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give the estimate and standard uncertainty that first-order propagation uses."""


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal with the given mean and SD, the SD above 0 or 0 for an exact value (6.4.7)."""

    mean: float
    sd: float

    def __post_init__(self) -> None:
        _need("Normal", self.sd >= 0.0 and math.isfinite(self.sd), f"sd {self.sd}", "a finite SD from 0")

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values."""
        return rng.normal(self.mean, self.sd, size)

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give mean and SD, degrees of freedom infinite."""
        return Uncertain(self.mean, self.sd, math.inf, unit)


@dataclass(frozen=True, slots=True)
class Rectangular:
    """Every value between two limits alike (6.4.2)."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _need_order("Rectangular", self.low, self.high)

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values."""
        return rng.uniform(self.low, self.high, size)

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give the middle and half width over root 3 (JCGM 100:2008, 4.3.7)."""
        return Uncertain((self.low + self.high) / 2.0, (self.high - self.low) / math.sqrt(12.0), math.inf, unit)


@dataclass(frozen=True, slots=True)
class Triangular:
    """Symmetric triangle between two limits (6.4.5)."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _need_order("Triangular", self.low, self.high)

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values."""
        return rng.triangular(self.low, (self.low + self.high) / 2.0, self.high, size)

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give the middle and half width over root 6 (JCGM 100:2008, 4.3.9)."""
        return Uncertain((self.low + self.high) / 2.0, (self.high - self.low) / math.sqrt(24.0), math.inf, unit)


@dataclass(frozen=True, slots=True)
class Arcsine:
    """A sine swing between two limits, met at an unknown moment (6.4.6)."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _need_order("Arcsine", self.low, self.high)

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values."""
        half = (self.high - self.low) / 2.0
        return np.asarray((self.low + self.high) / 2.0 + half * np.sin(2.0 * np.pi * rng.random(size)))

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give the middle and half width over root 2."""
        return Uncertain((self.low + self.high) / 2.0, (self.high - self.low) / math.sqrt(8.0), math.inf, unit)


@dataclass(frozen=True, slots=True)
class ScaledT:
    """A mean of few readings: scaled and shifted t (6.4.9). `scale` is the standard uncertainty as a mean gives it."""

    location: float
    scale: float
    dof: float

    def __post_init__(self) -> None:
        good = self.scale >= 0.0 and math.isfinite(self.scale) and self.dof > 0.0
        _need("ScaledT", good, f"scale {self.scale}, dof {self.dof}", "a finite scale from 0 and dof above 0")

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values."""
        return np.asarray(self.location + self.scale * rng.standard_t(self.dof, size))

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give location, scale and degrees of freedom, as JCGM 100:2008, 4.2.3 does for a mean of readings."""
        return Uncertain(self.location, self.scale, self.dof, unit)


@dataclass(frozen=True, slots=True)
class CurvilinearTrapezoid:
    """Limits that are themselves known within plus or minus `inexact` only (6.4.3)."""

    low: float
    high: float
    inexact: float

    def __post_init__(self) -> None:
        _need_order("CurvilinearTrapezoid", self.low, self.high)
        good = 0.0 < self.inexact <= (self.high - self.low) / 2.0
        _need("CurvilinearTrapezoid", good, f"inexact {self.inexact}", "above 0, at most half the width")

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw `size` values (6.4.3.4)."""
        low = self.low - self.inexact + 2.0 * self.inexact * rng.random(size)
        high = self.low + self.high - low
        return np.asarray(low + (high - low) * rng.random(size))

    def uncertain(self, unit: str = "1") -> Uncertain:
        """Give middle, half width over root 3, and the degrees of freedom of inexact limits (JCGM 100:2008, G.4.2)."""
        half = (self.high - self.low) / 2.0
        dof = 0.5 / (self.inexact / half) ** 2
        return Uncertain((self.low + self.high) / 2.0, half / math.sqrt(3.0), dof, unit)


@dataclass(frozen=True, slots=True)
class MultivariateNormal:
    """Several inputs known together (6.4.8).

    Parameters
    ----------
    names : tuple of str
        The inputs, as the equation names them.
    mean : tuple of float
        Their estimates.
    covariance : tuple of tuple of float
        Covariance matrix in that order, symmetric, no negative eigenvalue.
    """

    names: tuple[str, ...]
    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        size = len(self.names)
        matrix = np.asarray(self.covariance, dtype=np.float64)
        square = len(self.mean) == size and matrix.shape == (size, size)
        _need("MultivariateNormal", square, f"{size} names, shape {matrix.shape}", "a mean and a row for each name")
        good = bool(np.allclose(matrix, matrix.T, rtol=1e-9, atol=0.0))
        good = good and float(np.linalg.eigvalsh(matrix).min()) >= -1e-9 * float(np.trace(matrix))
        _need("MultivariateNormal", good, "a matrix that is none", "a covariance matrix: symmetric, never negative")

    def draw(self, rng: np.random.Generator, size: int) -> Array:
        """Draw (size, names) values."""
        return rng.multivariate_normal(np.array(self.mean), np.array(self.covariance), size, method="eigh")


@dataclass(frozen=True, slots=True)
class Coverage:
    """What the draws of one result say, all in its unit.

    Parameters
    ----------
    mean, u : float
        Mean and standard deviation of the draws (7.6); for very long tails these need not settle, the intervals do.
    low, high : float
        Probabilistically symmetric interval: as many draws below as above it.
    shortest_low, shortest_high : float
        Shortest interval that holds the share `p`.
    draws : int
        How many.
    p : float
        Coverage probability.
    """

    mean: float
    u: float
    low: float
    high: float
    shortest_low: float
    shortest_high: float
    draws: int
    p: float


@dataclass(frozen=True, slots=True)
class SettledCoverage:
    """A simulation that ran until its interval stood still, or until it was stopped.

    Parameters
    ----------
    coverage : Coverage
        Over the draws of all blocks.
    blocks : int
        How many blocks were run.
    scatter : float
        Twice the standard deviation of the mean of the less settled interval end over the blocks.
    tolerance : float
        What `scatter` had to come under.
    settled : bool
        False: the cap came first, and the ends are known to `scatter` only.
    """

    coverage: Coverage
    blocks: int
    scatter: float
    tolerance: float
    settled: bool


@dataclass(frozen=True, slots=True)
class Validation:
    """First-order propagation held against the simulation (8.1).

    Parameters
    ----------
    d_low, d_high : float
        Absolute differences of the interval ends.
    delta : float
        Numerical tolerance that both must keep.
    validated : bool
        Both do.
    """

    d_low: float
    d_high: float
    delta: float
    validated: bool


def monte_carlo(
    equation: Callable[..., Any],
    inputs: Mapping[str, Distribution],
    draws: int,
    rng: np.random.Generator,
    p: float = 0.95,
    *,
    joint: Sequence[MultivariateNormal] = (),
) -> Coverage:
    """Propagate distributions through a measurement equation.

    Parameters
    ----------
    equation : callable
        Takes every input as a keyword argument, an array of float of one shape, and returns the result for each.
    inputs : mapping of str to Distribution
        What is known of each input by itself.
    draws : int
        Number of draws, at least 1/(1 - p).
    rng : numpy.random.Generator
        Seeded by the caller; the same seed gives the same result.
    p : float
        Coverage probability, between 0 and 1.
    joint : sequence of MultivariateNormal
        Inputs that are known together.

    Returns
    -------
    Coverage
        In the unit of the result.

    Raises
    ------
    BadRequest
        Too few draws, `p` not between 0 and 1, or a result that is not finite for some draws.

    Notes
    -----
    JCGM 101:2008, 5.9 and 7.2 to 7.7.
    """
    return summarise(_simulate(equation, inputs, joint, draws, rng), p)


def monte_carlo_until(
    equation: Callable[..., Any],
    inputs: Mapping[str, Distribution],
    tolerance: float,
    rng: np.random.Generator,
    p: float = 0.95,
    *,
    most: int = 2_000_000,
    joint: Sequence[MultivariateNormal] = (),
) -> SettledCoverage:
    """Propagate distributions in blocks until the ends of the symmetric interval stand still.

    Parameters
    ----------
    equation, inputs, rng, p, joint
        As for `monte_carlo`.
    tolerance : float
        In the unit of the result, above 0; `numerical_tolerance` gives one for a number of figures.
    most : int
        Cap on the draws; at least five blocks are run whatever it says.

    Returns
    -------
    SettledCoverage
        Says whether it settled.

    Raises
    ------
    BadRequest
        As for `monte_carlo`, or a tolerance that is not above 0.

    Notes
    -----
    JCGM 101:2008, 7.9.4, on the two interval ends only: the scatter of an SD never settles for very long tails, that
    of a quantile does. Five blocks at the start instead of two, and the cap, are own choices.
    """
    _need("monte_carlo_until, tolerance", tolerance > 0.0, str(tolerance), "a number above 0")
    _need_share(p)
    block = max(math.ceil(100.0 / (1.0 - p)), 10_000)
    values: list[Array] = []
    ends: list[tuple[float, float]] = []
    scatter = math.inf
    while len(ends) < _FIRST_BLOCKS or (scatter >= tolerance and (len(ends) + 1) * block <= most):
        values.append(_simulate(equation, inputs, joint, block, rng))
        ends.append(symmetric_interval(values[-1], p))
        if len(ends) > 1:
            scatter = 2.0 * float(np.max(np.std(ends, axis=0, ddof=1))) / math.sqrt(len(ends))
    return SettledCoverage(summarise(np.concatenate(values), p), len(ends), scatter, tolerance, scatter < tolerance)


def summarise(values: ArrayLike, p: float = 0.95) -> Coverage:
    """Read mean, SD and both intervals from draws.

    Parameters
    ----------
    values : (n,) array_like of float
        Draws of one result, finite, at least 1/(1 - p) of them.
    p : float
        Coverage probability, between 0 and 1.

    Returns
    -------
    Coverage
        In the unit of `values`.

    Raises
    ------
    BadRequest
        `p` not between 0 and 1, too few draws, or draws that are not finite.

    Notes
    -----
    JCGM 101:2008, 7.6 and 7.7.
    """
    ordered = _ordered(values, p)
    low, high = _symmetric(ordered, p)
    short_low, short_high = _shortest(ordered, p)
    return Coverage(
        float(np.mean(ordered)), float(np.std(ordered, ddof=1)), low, high, short_low, short_high, ordered.size, p
    )


def symmetric_interval(values: ArrayLike, p: float = 0.95) -> tuple[float, float]:
    """Give the interval that leaves as many draws below as above it (JCGM 101:2008, 7.7.2).

    `values` are draws of shape (M,); parameters, unit and errors as for `summarise`.
    """
    return _symmetric(_ordered(values, p), p)


def shortest_interval(values: ArrayLike, p: float = 0.95) -> tuple[float, float]:
    """Give the shortest interval that holds the share `p` of the draws (JCGM 101:2008, 7.7.4).

    `values` are draws of shape (M,); parameters, unit and errors as for `summarise`.
    """
    return _shortest(_ordered(values, p), p)


def numerical_tolerance(u: float, digits: int = 2) -> float:
    """Give the tolerance within which `digits` figures of a standard uncertainty count as right.

    Parameters
    ----------
    u : float
        Standard uncertainty, finite and above 0.
    digits : int
        Figures of `u` that matter, at least 1.

    Returns
    -------
    float
        Half a unit of the last of these figures, in the unit of `u`.

    Raises
    ------
    BadRequest
        `u` is not above 0, or `digits` under 1.

    Notes
    -----
    JCGM 101:2008, 7.9.2.
    """
    _need("numerical_tolerance, u", math.isfinite(u) and u > 0.0, str(u), "a finite number above 0")
    _need("numerical_tolerance, digits", digits >= 1, str(digits), "a whole number from 1")
    exponent = int(f"{u:.{digits - 1}e}".split("e")[1])  # after rounding: 0.0996 to two figures is 1.0e-01
    return 0.5 * 10.0 ** (exponent - digits + 1)


def validate_first_order(budget: Budget, coverage: Coverage, digits: int = 1, *, shortest: bool = False) -> Validation:
    """Hold the interval of first-order propagation against the simulated one.

    Parameters
    ----------
    budget : Budget
        From `ballbench.quantities.propagation.propagate`, of the same equation.
    coverage : Coverage
        From `monte_carlo`; its `p` is used for both.
    digits : int
        Figures of the simulated standard uncertainty that matter.
    shortest : bool
        Compare with the shortest interval instead of the symmetric one.

    Returns
    -------
    Validation
        In the unit of the result.

    Raises
    ------
    BadRequest
        The simulated standard uncertainty is 0.

    Notes
    -----
    JCGM 101:2008, 8.1, with the tolerance of 7.9.2. The source asks that the simulation be settled to a fifth of the
    tolerance (8.2); `monte_carlo_until` can see to that.
    """
    low, high = budget.result.interval(coverage.p)
    ends = (coverage.shortest_low, coverage.shortest_high) if shortest else (coverage.low, coverage.high)
    delta = numerical_tolerance(coverage.u, digits)
    d_low, d_high = abs(low - ends[0]), abs(high - ends[1])
    return Validation(d_low, d_high, delta, d_low <= delta and d_high <= delta)


def _simulate(
    equation: Callable[..., Any],
    inputs: Mapping[str, Distribution],
    joint: Sequence[MultivariateNormal],
    draws: int,
    rng: np.random.Generator,
) -> Array:
    """Draw in chunks and compute; say when a result is not finite."""
    _need("monte_carlo, draws", draws >= 1, str(draws), "a whole number from 1")
    values = np.empty(draws)
    for start in range(0, draws, _CHUNK):
        size = min(_CHUNK, draws - start)
        drawn = {name: known.draw(rng, size) for name, known in inputs.items()}
        for known in joint:
            drawn.update(zip(known.names, known.draw(rng, size).T, strict=True))
        values[start : start + size] = equation(**drawn)
    return values


def _ordered(values: ArrayLike, p: float) -> Array:
    """Sort the draws after checking them."""
    _need_share(p)
    ordered = np.sort(np.asarray(values, dtype=np.float64).ravel())
    lost = int(np.count_nonzero(~np.isfinite(ordered)))
    _need("draws", lost == 0, f"{lost} of {ordered.size} results not finite", "finite results")
    enough = ordered.size * (1.0 - p) >= 1.0 - 1e-9
    _need("draws", enough, f"{ordered.size} draws", f"at least {math.ceil(1.0 / (1.0 - p) - 1e-9)} for p = {p}")
    return ordered


def _symmetric(ordered: Array, p: float) -> tuple[float, float]:
    """Take numbers r and r + q of the ordered draws, counted from 1."""
    held = int(p * ordered.size + 0.5)
    start = max((ordered.size - held + 1) // 2, 1)
    return float(ordered[start - 1]), float(ordered[min(start + held, ordered.size) - 1])


def _shortest(ordered: Array, p: float) -> tuple[float, float]:
    """Slide a window of q steps along the ordered draws and keep the narrowest."""
    held = min(int(p * ordered.size + 0.5), ordered.size - 1)
    widths = ordered[held:] - ordered[: ordered.size - held]
    start = int(np.argmin(widths))
    return float(ordered[start]), float(ordered[start + held])


def _need(where: str, good: bool, found: str, allowed: str) -> None:
    """Raise one fault unless `good`."""
    if not good:
        raise BadRequest(Fault(where, found, allowed, "change the argument"))


def _need_order(where: str, low: float, high: float) -> None:
    """Two finite limits in order."""
    good = math.isfinite(low) and math.isfinite(high) and low < high
    _need(where, good, f"{low} to {high}", "two finite limits, the lower one first")


def _need_share(p: float) -> None:
    """Coverage probability between 0 and 1."""
    _need("p", 0.0 < p < 1.0, str(p), "a number between 0 and 1")
