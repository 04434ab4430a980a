"""The range of k normal readings: what a perfectly round ball shows when read k times with a noisy instrument."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from ballbench.errors import BadRequest, Fault

__all__ = ["d2", "d3", "noise_floor", "range_cdf", "range_quantile"]

Array = NDArray[np.float64]

_REACH = 9.0  # standard deviations; beyond lies 1e-19
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(160)
_PLACES, _SHARES = _REACH * _NODES, _REACH * _WEIGHTS * np.exp(-0.5 * (_REACH * _NODES) ** 2) / math.sqrt(2.0 * math.pi)


def range_cdf(w: ArrayLike, k: int) -> Array:
    """Give the chance that the range of k normal readings with SD 1 is at most w.

    Parameters
    ----------
    w : array_like of float
        Ranges in units of the SD, not negative, of any shape.
    k : int
        Readings, at least 2.

    Returns
    -------
    ndarray of float
        Shape of `w`; NaN where `w` is NaN.

    Raises
    ------
    BadRequest
        Fewer than two readings.

    Notes
    -----
    F(w) = k integral of phi(x) (Phi(x + w) - Phi(x))^(k - 1) dx, by Gauss-Legendre quadrature with 160 nodes over plus
    and minus 9.
    """
    _check(k)
    ranges = np.asarray(w, dtype=np.float64)
    inside = special.ndtr(_PLACES + ranges[..., np.newaxis]) - special.ndtr(_PLACES)
    return np.asarray(np.clip(k * (inside ** (k - 1) @ _SHARES), 0.0, 1.0))


def range_quantile(k: int, p: float) -> float:
    """Give the range that k normal readings with SD 1 stay under with chance p.

    Parameters
    ----------
    k : int
        Readings, at least 2.
    p : float
        Between 0 and 1.

    Returns
    -------
    float
        In units of the SD.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    The studentized range with infinite degrees of freedom, by ``scipy.stats.studentized_range``.
    """
    _check(k)
    if not 0.0 < p < 1.0:
        raise BadRequest(Fault("range_quantile, p", str(p), "a number between 0 and 1", "give 0.95 for 95 %"))
    return float(stats.studentized_range.ppf(p, k, np.inf))


@lru_cache(maxsize=256)
def d2(k: int) -> float:
    """Give the mean range of k normal readings with SD 1.

    Parameters
    ----------
    k : int
        Readings, at least 2.

    Returns
    -------
    float
        In units of the SD.

    Raises
    ------
    BadRequest
        Fewer than two readings.

    Notes
    -----
    Integral of 1 - Phi^k - (1 - Phi)^k (Tippett 1925: from memory), by quadrature; tabled as d2 in ASTM control chart
    constants.
    """
    _check(k)
    below, above = special.ndtr(_PLACES), special.ndtr(-_PLACES)
    return float(_REACH * _WEIGHTS @ (1.0 - below**k - above**k))


@lru_cache(maxsize=256)
def d3(k: int) -> float:
    """Give the SD of the range of k normal readings with SD 1.

    Parameters
    ----------
    k : int
        Readings, at least 2.

    Returns
    -------
    float
        In units of the SD.

    Raises
    ------
    BadRequest
        Fewer than two readings.

    Notes
    -----
    From the mean square range, 2 integral of w (1 - F(w)) dw with F of `range_cdf`; tabled as d3 in ASTM control chart
    constants.
    """
    _check(k)
    ranges = _REACH * (_NODES + 1.0)  # 0 to 18
    square = 2.0 * float(_REACH * _WEIGHTS @ (ranges * (1.0 - range_cdf(ranges, k))))
    return math.sqrt(square - d2(k) ** 2)


def noise_floor(k: int, sd: float) -> float:
    """Give the mean range that a perfect ball shows in k readings.

    Parameters
    ----------
    k : int
        Readings, at least 2.
    sd : float
        SD of displayed readings at one place, not negative, NaN where not known.

    Returns
    -------
    float
        In the unit of `sd`; NaN where `sd` is NaN.

    Raises
    ------
    BadRequest
        Fewer than two readings, or a negative SD.

    Notes
    -----
    d2(k) times sd. Not for an SD under half a display step, where readings are no longer normal.
    """
    if sd < 0.0:
        raise BadRequest(Fault("noise_floor, sd", str(sd), "a number from 0", "give the repeatability SD"))
    return d2(k) * sd


def _check(k: int) -> None:
    """Say so when there are fewer than two readings."""
    if k < 2:
        raise BadRequest(Fault("k", str(k), "a whole number from 2", "a range needs two readings"))
