"""The noise of repeats that a coarse display hides: every reading is only known to one step.

A cell is one part read n times by one person. Its true value lies anywhere within a step, so with readings ``k`` in
steps the likelihood of the noise SD s is ``integral of product(Phi((k + 1/2 - m)/s) - Phi((k - 1/2 - m)/s)) dm``, cell
by cell: the chance of that pattern where the true value lies anywhere in a step. Where no cell shows two values, the
upper limit is the SD at which such a study is as rare as the confidence says, exactly. Otherwise draws are from the
likelihood with all SDs up to `WIDEST` steps taken as equally likely beforehand. A display that truncates has the same
likelihood, shifted. Own derivation; the tests hold it against simulation.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

from ballbench.statistics.repeat_readings import RepeatCells

__all__ = ["COARSE", "HiddenNoise", "hidden_noise"]

Array = NDArray[np.float64]

COARSE = 0.5
"""Steps: an SD of repeats under this is taken from intervals (methods page on coarse displays; own choice)."""
WIDEST = 30.0
"""Steps: the largest SD that is thought of."""
GRID = np.concatenate(
    (np.geomspace(1e-3, 0.05, 12)[:-1], np.linspace(0.05, 1.0, 77)[:-1], np.geomspace(1.0, WIDEST, 40))
)
CENTRES = 600
"""Points of the integral over m."""


@dataclass(frozen=True, slots=True)
class HiddenNoise:
    """The noise SD before rounding, in the unit of the readings.

    Parameters
    ----------
    sd : float
        Median: as likely above as below; never 0.
    low, high : float
        Ends of the interval; `low` is 0 where no cell shows two values.
    dof : float
        Degrees of freedom with which `sd` has that upper end, for use as a chi-square estimate; at most those of the
        readings.
    sds, shares : (G,) float arrays
        SDs and how much of the distribution lies below each.
    """

    sd: float
    low: float
    high: float
    dof: float
    sds: Array
    shares: Array

    def draws(self, shares: Array) -> Array:
        """Give the SDs below which these shares of the distribution lie.

        Parameters
        ----------
        shares : (D,) float array
            Between 0 and 1.

        Returns
        -------
        (D,) float array
            SDs, above 0.
        """
        found: Array = np.interp(shares, self.shares, self.sds)
        return found


def hidden_noise(cells: RepeatCells, step: float, confidence: float = 0.95) -> HiddenNoise:
    """Say what readings a step apart tell about the noise.

    Parameters
    ----------
    cells : RepeatCells
        At least one cell with two readings.
    step : float
        The display's, in the unit of the readings, above 0.
    confidence : float
        Of the interval, between 0 and 1.

    Returns
    -------
    HiddenNoise
        Never NaN.
    """
    patterns: Counter[tuple[int, ...]] = Counter()
    for values in cells.readings:
        if values.size > 1:
            steps = np.rint((np.sort(values) - values.min()) / step).astype(int)
            patterns[tuple(int(k) for k in steps)] += 1
    logs = np.zeros(GRID.size)
    for pattern, times in patterns.items():
        logs += times * np.array(_log_likelihood(pattern))
    hidden = all(pattern[-1] == 0 for pattern in patterns)
    if hidden:
        shares = np.maximum.accumulate(np.concatenate(([0.0], 1.0 - np.exp(np.minimum(logs, 0.0)))))
    else:
        density = np.exp(logs - logs.max())
        first = density[0] * GRID[0]
        pieces = 0.5 * (density[1:] + density[:-1]) * np.diff(GRID)
        shares = np.concatenate(([0.0, first], first + np.cumsum(pieces)))
        shares = shares / shares[-1]
    at = np.concatenate(([0.0], GRID)) * step
    tail = (1.0 - confidence) / 2.0
    low, middle, high = (float(x) for x in np.interp([tail, 0.5, 1.0 - tail], shares, at))
    dof = _matching_dof(high / middle, tail, cells.within_dof)
    return HiddenNoise(middle, 0.0 if hidden else low, high, dof, at, shares)


@lru_cache(maxsize=1024)
def _log_likelihood(pattern: tuple[int, ...]) -> tuple[float, ...]:
    """Log likelihood of one cell at the SDs of `GRID`, readings in steps from the smallest."""
    kinds, counts = np.unique(np.array(pattern, dtype=np.float64), return_counts=True)
    found = np.empty(GRID.size)
    for index, sd in enumerate(GRID):
        reach = 6.0 * sd
        m = np.linspace(kinds[0] - 0.5 - reach, kinds[-1] + 0.5 + reach, CENTRES)
        gaps = (kinds[:, None] - m) / sd
        half = 0.5 / sd
        log_p = _log_interval(gaps - half, gaps + half)
        summed = counts @ log_p
        found[index] = special.logsumexp(summed) + math.log(m[1] - m[0])
    return tuple(found.tolist())


def _log_interval(low: Array, high: Array) -> Array:
    """Log of the normal probability between `low` and `high`, exact in both tails."""
    flip = low > 0.0
    low, high = np.where(flip, -high, low), np.where(flip, -low, high)
    upper, lower = special.log_ndtr(high), special.log_ndtr(low)
    found: Array = upper + np.log1p(-np.exp(np.minimum(lower - upper, -1e-300)))
    return found


def _matching_dof(ratio: float, tail: float, most: float) -> float:
    """Degrees of freedom at which the upper end of a chi-square interval is `ratio` times the SD."""

    def lacking(dof: float) -> float:
        return math.sqrt(dof / float(stats.chi2.ppf(tail, dof))) - ratio

    if lacking(float(most)) >= 0.0:
        return float(most)
    return 0.5 if lacking(0.5) <= 0.0 else float(optimize.brentq(lacking, 0.5, most))
