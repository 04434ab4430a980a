"""Readings that do not belong to the rest: shown and named, never dropped."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault

__all__ = ["GrubbsTest", "OutlierStep", "OutlierTest", "generalized_esd", "grubbs"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OutlierStep:
    """One value taken out.

    Parameters
    ----------
    index : int
        Its place in the input, from 0.
    value : float
        The value, in its unit.
    statistic : float
        Its distance from the mean of the values still there, in their SD.
    critical : float
        What that distance reaches by chance with probability alpha.
    """

    index: int
    value: float
    statistic: float
    critical: float


@dataclass(frozen=True, slots=True)
class OutlierTest:
    """The generalized extreme Studentized deviate test.

    Parameters
    ----------
    steps : tuple of OutlierStep
        The values most far out, in the order in which they were taken out.
    outliers : tuple of int
        Places of those that are outliers, in that order: all up to the last step beyond its critical value.
    alpha : float
        Chance of naming any outlier in a normal sample.
    notes : tuple of str
        Where the critical values are only rough.
    """

    steps: tuple[OutlierStep, ...]
    outliers: tuple[int, ...]
    alpha: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class GrubbsTest:
    """The test for one outlier: place, value, statistic, critical value, and whether it is beyond."""

    index: int
    value: float
    statistic: float
    critical: float
    outlier: bool


def generalized_esd(values: ArrayLike, most: int, alpha: float = 0.05) -> OutlierTest:
    """Look for up to `most` outliers in a sample that is normal otherwise.

    Parameters
    ----------
    values : (n,) array_like of float
        One unit, finite, n at least 3.
    most : int
        Largest number of outliers looked for, 1 to n - 2.
    alpha : float
        Between 0 and 1.

    Returns
    -------
    OutlierTest
        Fewer steps than `most` when the values left are all equal.

    Raises
    ------
    BadRequest
        Arguments outside these ranges, or values that are not finite.

    Notes
    -----
    Rosner (1983); NIST/SEMATECH handbook 1.3.5.17.3. Outliers that hide each other are found because the *last* step
    beyond its critical value counts, not the first one inside. The critical values are very accurate for n >= 25 and
    reasonably so for n >= 15 (the handbook's words, from memory); below that a note says so.
    """
    data = _checked(values, alpha)
    n = data.size
    if not 1 <= most <= n - 2:
        raise BadRequest(Fault("generalized_esd, most", str(most), f"1 to {n - 2}", "look for fewer outliers"))
    left = np.arange(n)
    steps: list[OutlierStep] = []
    for i in range(1, most + 1):
        rest = data[left]
        sd = float(np.std(rest, ddof=1))
        if sd == 0.0 or np.ptp(rest) == 0.0:
            break
        distances = np.abs(rest - np.mean(rest)) / sd
        far = int(np.argmax(distances))
        place = int(left[far])
        critical = _critical(n - i + 1, alpha / 2.0)
        steps.append(OutlierStep(place, float(data[place]), float(distances[far]), critical))
        left = np.delete(left, far)
    beyond = [i for i, step in enumerate(steps, 1) if step.statistic > step.critical]
    found = max(beyond, default=0)
    notes = ("fewer than 15 values: the critical values are rough",) if n < 15 else ()
    return OutlierTest(tuple(steps), tuple(step.index for step in steps[:found]), alpha, notes)


def grubbs(values: ArrayLike, alpha: float = 0.05, side: Literal["both", "low", "high"] = "both") -> GrubbsTest:
    """Test whether the value farthest out is one outlier in a sample that is normal otherwise.

    Parameters
    ----------
    values : (n,) array_like of float
        One unit, finite, n at least 3.
    alpha : float
        Chance of naming one in a normal sample, between 0 and 1.
    side : str
        ``both``: the farthest on either side; ``low`` or ``high``: the smallest or largest only.

    Returns
    -------
    GrubbsTest
        Statistic 0 and no outlier when all values are equal.

    Raises
    ------
    BadRequest
        Arguments outside these ranges, or values that are not finite.

    Notes
    -----
    NIST/SEMATECH handbook 1.3.5.17.1. Two outliers can hide each other from it; `generalized_esd` sees them.
    """
    if side not in {"both", "low", "high"}:
        raise BadRequest(Fault("grubbs, side", repr(side), "both, low or high", "choose one"))
    data = _checked(values, alpha)
    sd = float(np.std(data, ddof=1))
    away = data - np.mean(data)
    distances = {"both": np.abs(away), "low": -away, "high": away}[side]
    far = int(np.argmax(distances))
    statistic = float(distances[far]) / sd if np.ptp(data) > 0.0 else 0.0
    critical = _critical(data.size, alpha / 2.0 if side == "both" else alpha)
    return GrubbsTest(far, float(data[far]), statistic, critical, statistic > critical)


def _critical(n: int, tail: float) -> float:
    """Give the critical distance of the farthest of n values (NIST/SEMATECH handbook 1.3.5.17.1 and .3)."""
    t = float(stats.t.isf(tail / n, n - 2))
    return (n - 1) * t / math.sqrt(n * (n - 2 + t**2))


def _checked(values: ArrayLike, alpha: float) -> Array:
    """Return the values, or say all that is wrong."""
    data = np.asarray(values, dtype=np.float64).ravel()
    faults = []
    if data.size < 3:
        faults.append(Fault("values", f"{data.size} of them", "3 at least", "read more"))
    if not np.all(np.isfinite(data)):
        faults.append(Fault("values", "some that are not finite", "finite numbers", "leave out what was not read"))
    if not 0.0 < alpha < 1.0:
        faults.append(Fault("alpha", str(alpha), "a number between 0 and 1", "give 0.05 for 5 %"))
    if faults:
        raise BadRequest(faults)
    return data
