"""Two samples held against each other: means, ranks, spreads, many comparisons at once, and what could be told.

These are second opinions beside the joint draws, and the arithmetic of planning. Where neither sample has any spread
there is nothing to test with: the results say NaN, and the caller says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats

from ballbench.errors import BadRequest, Fault

__all__ = ["RankTest", "SpreadTest", "WelchTest", "brown_forsythe", "holm", "rank_test", "smallest_difference", "welch"]

Array = NDArray[np.float64]


POINTS = 4000
"""Equally probable values of the estimated SD: a difference to five figures."""


@dataclass(frozen=True, slots=True)
class WelchTest:
    """Difference of two means, a minus b, without assuming equal spread.

    Parameters
    ----------
    difference, u : float
        In the unit of the samples: the difference and its standard uncertainty.
    low, high : float
        Interval of the difference at `confidence`; NaN where `u` is 0.
    t, dof, p : float
        Statistic, Welch's degrees of freedom, two-sided p; NaN where `u` is 0.
    confidence : float
        As asked for.
    """

    difference: float
    u: float
    low: float
    high: float
    t: float
    dof: float
    p: float
    confidence: float


@dataclass(frozen=True, slots=True)
class SpreadTest:
    """Equality of spreads: statistic, both degrees of freedom, p; NaN where no sample has spread about its median."""

    statistic: float
    dof_between: int
    dof_within: int
    p: float


@dataclass(frozen=True, slots=True)
class RankTest:
    """Order of two samples.

    Parameters
    ----------
    share : float
        Share of pairs in which a is above b, ties counted half.
    p : float
        Two-sided; 1 where all values are equal.
    """

    share: float
    p: float


def welch(a: ArrayLike, b: ArrayLike, confidence: float = 0.95) -> WelchTest:
    """Compare two means without assuming equal spread.

    Parameters
    ----------
    a, b : (n,), (m,) array_like of float
        One unit, finite, at least two values each.
    confidence : float
        Of the interval, between 0 and 1.

    Returns
    -------
    WelchTest
        a minus b.

    Raises
    ------
    BadRequest
        Too few values, values that are not finite, or `confidence` out of range.

    Notes
    -----
    Welch (1947); NIST/SEMATECH handbook 1.3.5.3.
    """
    first, second = _samples((a, b))
    if not 0.0 < confidence < 1.0:
        raise BadRequest(Fault("confidence", str(confidence), "a number between 0 and 1", "give 0.95 for 95 %"))
    difference = float(np.mean(first) - np.mean(second))
    parts = [_variance_of_mean(sample) for sample in (first, second)]
    u = math.sqrt(sum(parts))
    if u == 0.0:
        return WelchTest(difference, 0.0, math.nan, math.nan, math.nan, math.nan, math.nan, confidence)
    dof = sum(parts) ** 2 / sum(part**2 / (s.size - 1) for part, s in zip(parts, (first, second), strict=True))
    half = float(stats.t.isf((1.0 - confidence) / 2.0, dof)) * u
    t = difference / u
    return WelchTest(
        difference, u, difference - half, difference + half, t, dof, 2.0 * float(stats.t.sf(abs(t), dof)), confidence
    )


def brown_forsythe(*samples: ArrayLike) -> SpreadTest:
    """Test whether samples have equal spread, by distances from their medians.

    Parameters
    ----------
    *samples : (n,) array_like of float
        Two or more, one unit, finite, at least two values each.

    Returns
    -------
    SpreadTest
        NaN statistic and p when no value of any sample differs from its median in a way that can be tested.

    Raises
    ------
    BadRequest
        Fewer than two samples, too few values, or values that are not finite.

    Notes
    -----
    Brown and Forsythe (1974); NIST/SEMATECH handbook 1.3.5.10 (the variant with medians).
    """
    arrays = _samples(samples)
    between, within = len(arrays) - 1, sum(sample.size for sample in arrays) - len(arrays)
    distances = [np.abs(sample - np.median(sample)) for sample in arrays]
    if all(np.ptp(distance) == 0.0 for distance in distances):
        return SpreadTest(math.nan, between, within, math.nan)
    outcome = stats.levene(*arrays, center="median")
    return SpreadTest(float(outcome.statistic), between, within, float(outcome.pvalue))


def rank_test(a: ArrayLike, b: ArrayLike) -> RankTest:
    """Compare two samples by order alone.

    Parameters
    ----------
    a, b : (n,), (m,) array_like of float
        One unit, finite, at least two values each.

    Returns
    -------
    RankTest
        Exact p for small samples without ties, otherwise the normal approximation with ties corrected.

    Raises
    ------
    BadRequest
        Too few values, or values that are not finite.

    Notes
    -----
    Mann and Whitney (1947), by ``scipy.stats.mannwhitneyu``. It asks whether one sample tends to be above the other;
    with very unequal spreads a small p may come from the spread.
    """
    first, second = _samples((a, b))
    if np.ptp(np.concatenate((first, second))) == 0.0:
        return RankTest(0.5, 1.0)
    outcome = stats.mannwhitneyu(first, second, alternative="two-sided")
    return RankTest(float(outcome.statistic) / (first.size * second.size), float(outcome.pvalue))


def holm(p: ArrayLike) -> Array:
    """Adjust p values for looking at several comparisons at once.

    Parameters
    ----------
    p : (m,) array_like of float
        p values, 0 to 1; NaN for a comparison that could not be made.

    Returns
    -------
    (m,) ndarray of float
        Adjusted p values in the same order, at most 1; NaN stays NaN and is not counted as a comparison.

    Raises
    ------
    BadRequest
        A value outside 0 to 1.

    Notes
    -----
    Holm (1979): the k-th smallest of m is multiplied by m - k + 1, and none may be under the one before it. The chance
    of any false claim is kept whatever the comparisons have in common.
    """
    values = np.asarray(p, dtype=np.float64).ravel()
    known = np.flatnonzero(~np.isnan(values))
    if np.any((values[known] < 0.0) | (values[known] > 1.0)):
        raise BadRequest(Fault("holm, p", str(p), "numbers from 0 to 1", "give p values"))
    order = known[np.argsort(values[known], kind="stable")]
    adjusted = np.full(values.shape, math.nan)
    adjusted[order] = np.minimum(1.0, np.maximum.accumulate(values[order] * np.arange(order.size, 0, -1)))
    return adjusted


def smallest_difference(
    sd_a: float, sd_b: float, n_a: int, n_b: int, *, power: float = 0.8, alpha: float = 0.05
) -> float:
    """Give the smallest true difference of two means that such samples tell apart with a stated chance.

    Parameters
    ----------
    sd_a, sd_b : float
        SD of the values of each, in one unit, not negative, not both 0.
    n_a, n_b : int
        Values of each, at least 2.
    power : float
        Chance of telling them apart, between `alpha` and 1.
    alpha : float
        Two-sided chance of telling equal ones apart, between 0 and 1.

    Returns
    -------
    float
        In the unit of the SDs; never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Power of the two-sided t test by the noncentral t distribution: exact for equal SDs and sizes, otherwise with
    Welch's degrees of freedom at the given SDs. Where the library gives none (few degrees of freedom), the normal power
    is averaged over equally probable values of the estimated SD, which is that distribution's definition.
    """
    _check_power((sd_a, sd_b), (n_a, n_b), power, alpha)
    parts = (sd_a**2 / n_a, sd_b**2 / n_b)
    u = math.sqrt(sum(parts))
    dof = sum(parts) ** 2 / (parts[0] ** 2 / (n_a - 1) + parts[1] ** 2 / (n_b - 1))
    critical = float(stats.t.isf(alpha / 2.0, dof))

    points = np.sqrt(stats.chi2.ppf((np.arange(POINTS) + 0.5) / POINTS, dof) / dof)

    def lacking(shift: float) -> float:
        told = float(stats.nct.sf(critical, dof, shift) + stats.nct.cdf(-critical, dof, shift))
        if not math.isfinite(told):
            averaged = stats.norm.cdf(shift - critical * points) + stats.norm.cdf(-shift - critical * points)
            told = float(averaged.mean())
        return told - power

    upper = critical + 1.0
    while lacking(upper) < 0.0:
        upper *= 1.5
    return u * float(optimize.brentq(lacking, 0.0, upper, xtol=1e-12))


def _variance_of_mean(sample: Array) -> float:
    """Give s^2/n, and exactly 0 where all values are equal."""
    return float(np.var(sample, ddof=1)) / sample.size if np.ptp(sample) > 0.0 else 0.0


def _samples(samples: tuple[ArrayLike, ...]) -> list[Array]:
    """Return the samples as arrays, or say all that is wrong."""
    arrays = [np.asarray(sample, dtype=np.float64).ravel() for sample in samples]
    faults = []
    if len(arrays) < 2:
        faults.append(Fault("samples", f"{len(arrays)}", "two at least", "give another one"))
    for number, sample in enumerate(arrays, 1):
        if sample.size < 2:
            faults.append(Fault(f"sample {number}", f"{sample.size} values", "two at least", "read more"))
        if not np.all(np.isfinite(sample)):
            faults.append(Fault(f"sample {number}", "values that are not finite", "finite numbers", "leave them out"))
    if faults:
        raise BadRequest(faults)
    return arrays


def _check_power(sds: tuple[float, float], sizes: tuple[int, int], power: float, alpha: float) -> None:
    """Say all that is out of range."""
    faults = []
    if not (min(sds) >= 0.0 < max(sds) < math.inf):
        faults.append(Fault("sd", f"{sds[0]} and {sds[1]}", "finite, not negative, not both 0", "give the spreads"))
    if min(sizes) < 2:
        faults.append(Fault("n", f"{sizes[0]} and {sizes[1]}", "whole numbers from 2", "read more"))
    if not 0.0 < alpha < power < 1.0:
        faults.append(Fault("alpha, power", f"{alpha}, {power}", "0 < alpha < power < 1", "give 0.05 and 0.8"))
    if faults:
        raise BadRequest(faults)
