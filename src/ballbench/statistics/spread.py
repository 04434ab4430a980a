"""Standard deviations: what a sample says about one, and about the ratio of two."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from ballbench.errors import BadRequest, Fault

__all__ = ["PooledSd", "SdInterval", "SdRatio", "SdTest", "c4", "pooled_sd", "sd_interval", "sd_ratio", "sd_test"]


@dataclass(frozen=True, slots=True)
class SdInterval:
    """Interval of a standard deviation, in its unit."""

    low: float
    high: float
    confidence: float


@dataclass(frozen=True, slots=True)
class SdTest:
    """A standard deviation held against a stated one.

    Parameters
    ----------
    statistic : float
        dof (sd/against)^2, chi-square distributed where the true SD is the stated one.
    p_above, p_below : float
        Chance of a sample SD as large, or as small, as this if the true one were the stated one.
    """

    statistic: float
    p_above: float
    p_below: float


@dataclass(frozen=True, slots=True)
class SdRatio:
    """Ratio of two standard deviations, a over b.

    Parameters
    ----------
    ratio, low, high : float
        Pure numbers: of the samples, and the interval of the true ratio.
    f : float
        Ratio of the variances.
    p : float
        Two-sided, for equal true SDs.
    confidence : float
        Of the interval.
    """

    ratio: float
    low: float
    high: float
    f: float
    p: float
    confidence: float


@dataclass(frozen=True, slots=True)
class PooledSd:
    """One standard deviation out of several samples, and its degrees of freedom."""

    sd: float
    dof: float


def sd_interval(sd: float, dof: float, confidence: float = 0.95) -> SdInterval:
    """Give the interval of a standard deviation of normal values.

    Parameters
    ----------
    sd : float
        Of the sample, not negative.
    dof : float
        Its degrees of freedom, n - 1 for a simple sample; above 0.
    confidence : float
        Between 0 and 1; half of the rest lies on either side.

    Returns
    -------
    SdInterval
        In the unit of `sd`.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    NIST/SEMATECH handbook 1.3.5.8: sd sqrt(dof/chi2) at both quantiles of the chi-square distribution.
    """
    _check(("sd", sd, True), ("dof", dof, False), confidence=confidence)
    tail = (1.0 - confidence) / 2.0
    low, high = (sd * math.sqrt(dof / float(q)) for q in (stats.chi2.isf(tail, dof), stats.chi2.ppf(tail, dof)))
    return SdInterval(low, high, confidence)


def sd_test(sd: float, dof: float, against: float) -> SdTest:
    """Hold a standard deviation of normal values against a stated one.

    Parameters
    ----------
    sd, against : float
        In one unit; `sd` not negative, `against` above 0.
    dof : float
        Degrees of freedom of `sd`, above 0.

    Returns
    -------
    SdTest
        Never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    NIST/SEMATECH handbook 1.3.5.8.
    """
    _check(("sd", sd, True), ("dof", dof, False), ("against", against, False))
    statistic = dof * (sd / against) ** 2
    return SdTest(statistic, float(stats.chi2.sf(statistic, dof)), float(stats.chi2.cdf(statistic, dof)))


def sd_ratio(sd_a: float, dof_a: float, sd_b: float, dof_b: float, confidence: float = 0.95) -> SdRatio:
    """Give the ratio of two standard deviations of normal values, with its interval and F test.

    Parameters
    ----------
    sd_a, sd_b : float
        In one unit, above 0.
    dof_a, dof_b : float
        Their degrees of freedom, above 0.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    SdRatio
        a over b.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    NIST/SEMATECH handbook 1.3.5.9. The F test leans heavily on normal values; ``brown_forsythe`` does not.
    """
    _check(("sd_a", sd_a, False), ("dof_a", dof_a, False), ("sd_b", sd_b, False), ("dof_b", dof_b, False),
           confidence=confidence)  # fmt: skip
    f = (sd_a / sd_b) ** 2
    tail = (1.0 - confidence) / 2.0
    upper, lower = (float(q) for q in (stats.f.isf(tail, dof_a, dof_b), stats.f.ppf(tail, dof_a, dof_b)))
    p = 2.0 * min(float(stats.f.sf(f, dof_a, dof_b)), float(stats.f.cdf(f, dof_a, dof_b)))
    return SdRatio(math.sqrt(f), math.sqrt(f / upper), math.sqrt(f / lower), f, min(p, 1.0), confidence)


def pooled_sd(sds: Sequence[float], dofs: Sequence[float]) -> PooledSd:
    """Pool the standard deviations of several samples with one true SD.

    Parameters
    ----------
    sds : sequence of float
        In one unit, not negative; at least one.
    dofs : sequence of float
        Their degrees of freedom, above 0, as many.

    Returns
    -------
    PooledSd
        Root of the mean variance, weighted by degrees of freedom, and their sum.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    The residual SD of a one-way analysis of variance; NIST/SEMATECH handbook 1.3.5.3 for two samples.
    """
    if not sds or len(sds) != len(dofs):
        raise BadRequest(
            Fault("sds, dofs", f"{len(sds)} and {len(dofs)}", "as many of both, one at least", "pair them")
        )
    _check(*(("sds", sd, True) for sd in sds), *(("dofs", dof, False) for dof in dofs))
    total = math.fsum(dofs)
    return PooledSd(math.sqrt(math.fsum(dof * sd**2 for sd, dof in zip(sds, dofs, strict=True)) / total), total)


def c4(n: ArrayLike) -> NDArray[np.float64]:
    """Give the mean of the sample SD of n normal values with true SD 1.

    Parameters
    ----------
    n : array_like of float
        Size of the sample, at least 2, of any shape.

    Returns
    -------
    ndarray of float
        Shape of `n`; under 1.

    Raises
    ------
    BadRequest
        A size under 2.

    Notes
    -----
    sqrt(2/(n - 1)) Gamma(n/2) / Gamma((n - 1)/2), exact; tabled in ASTM control chart constants.
    """
    sizes = np.asarray(n, dtype=np.float64)
    if not np.all(sizes >= 2.0):
        raise BadRequest(Fault("c4, n", str(n), "numbers from 2", "an SD needs two values"))
    return np.asarray(
        np.sqrt(2.0 / (sizes - 1.0)) * np.exp(special.gammaln(sizes / 2) - special.gammaln(sizes / 2 - 0.5))
    )


def _check(*arguments: tuple[str, float, bool], confidence: float = 0.95) -> None:
    """Say all that is out of range; the flag says that 0 is allowed."""
    faults = [
        Fault(name, str(value), f"a finite number {'from' if zero else 'above'} 0", "change the argument")
        for name, value, zero in arguments
        if not (math.isfinite(value) and (value > 0.0 or (zero and value == 0.0)))
    ]
    if not 0.0 < confidence < 1.0:
        faults.append(Fault("confidence", str(confidence), "a number between 0 and 1", "give 0.95 for 95 %"))
    if faults:
        raise BadRequest(faults)
