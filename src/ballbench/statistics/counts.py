"""What a count of bad balls says about the batch, and the chance that a sampling plan accepts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault

__all__ = [
    "ShareBounds",
    "acceptance",
    "acceptance_lot",
    "lot_bad_upper_bound",
    "share_bounds",
    "share_upper_bound",
    "zero_bad_sample",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ShareBounds:
    """Interval of a share, both ends between 0 and 1."""

    low: float
    high: float
    confidence: float


def share_bounds(bad: int, n: int, confidence: float = 0.95) -> ShareBounds:
    """Give the two-sided interval of the share of bad balls in a large batch.

    Parameters
    ----------
    bad, n : int
        Bad balls seen, balls looked at; 0 <= bad <= n, n >= 1.
    confidence : float
        Between 0 and 1; half of the rest lies on either side.

    Returns
    -------
    ShareBounds
        Never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Clopper and Pearson (1934), by quantiles of the beta distribution. Holds at least the stated confidence.
    """
    _check_counts(bad, n)
    _check_confidence(confidence)
    tail = (1.0 - confidence) / 2.0
    low = float(stats.beta.ppf(tail, bad, n - bad + 1)) if bad > 0 else 0.0
    high = float(stats.beta.isf(tail, bad + 1, n - bad)) if bad < n else 1.0
    return ShareBounds(low, high, confidence)


def share_upper_bound(bad: ArrayLike, n: int, confidence: float = 0.95) -> Array:
    """Give the one-sided upper bound of the share of bad balls in a large batch.

    Parameters
    ----------
    bad : array_like of int
        Bad balls seen, of any shape; each from 0 to n.
    n : int
        Balls looked at, at least 1.
    confidence : float
        Between 0 and 1, all of the rest on one side.

    Returns
    -------
    ndarray of float
        Shape of `bad`; between 0 and 1, never NaN. For 0 bad it is 1 - (1 - confidence)**(1/n).

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Clopper and Pearson (1934), one-sided.
    """
    _check_counts(bad, n)
    _check_confidence(confidence)
    counts = np.asarray(bad, dtype=np.int64)
    distinct, places = np.unique(counts, return_inverse=True)
    below = np.minimum(distinct, n - 1)  # all bad: no bound below 1
    bounds = np.where(distinct < n, stats.beta.isf(1.0 - confidence, below + 1, n - below), 1.0)
    return np.asarray(bounds[places].reshape(counts.shape), dtype=np.float64)


def zero_bad_sample(share: float, confidence: float = 0.95) -> int:
    """Say how many good balls in a row show that at most `share` of a large batch is bad.

    Parameters
    ----------
    share, confidence : float
        Between 0 and 1.

    Returns
    -------
    int
        Smallest n with (1 - share)**n <= 1 - confidence.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Exact algebra on the binomial distribution.
    """
    _check_confidence(confidence)
    _check_shares(share, open_ended=True)
    return math.ceil(math.log1p(-confidence) / math.log1p(-share) - 1e-12)


def lot_bad_upper_bound(bad: ArrayLike, n: int, lot: int, confidence: float = 0.95) -> NDArray[np.int64]:
    """Give the upper bound of the number of bad balls in a finite box.

    Parameters
    ----------
    bad : array_like of int
        Bad balls seen, of any shape; each from 0 to n.
    n : int
        Balls looked at, drawn at random without putting back, 1 <= n <= lot.
    lot : int
        Balls in the box, those looked at included.
    confidence : float
        Between 0 and 1, all of the rest on one side.

    Returns
    -------
    ndarray of int
        Shape of `bad`: the largest number of bad balls in the box for which so few bad ones in the sample would
        still have a chance above 1 - confidence. At least `bad`, at most lot - n + bad.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Inversion of the hypergeometric distribution function, the finite counterpart of Clopper and Pearson.
    """
    _check_counts(bad, n)
    _check_confidence(confidence)
    _check_lot(n, lot)
    counts = np.asarray(bad, dtype=np.int64)
    distinct, places = np.unique(counts, return_inverse=True)
    bounds = np.empty(distinct.size, dtype=np.int64)
    for i, seen in enumerate(distinct.tolist()):
        plausible, beyond = seen, lot - n + seen + 1  # the chance only falls as the box holds more bad balls
        while beyond - plausible > 1:
            middle = (plausible + beyond) // 2
            likely = float(stats.hypergeom.cdf(seen, lot, middle, n)) > 1.0 - confidence
            plausible, beyond = (middle, beyond) if likely else (plausible, middle)
        bounds[i] = plausible
    return bounds[places].reshape(counts.shape)


def acceptance(n: int, c: int, p: ArrayLike) -> Array:
    """Give the chance that a plan accepts a large batch.

    Parameters
    ----------
    n, c : int
        Balls looked at, and the largest number of bad ones that is accepted; n >= 1, c >= 0.
    p : array_like of float
        Share of bad balls in the batch, of any shape, 0 to 1.

    Returns
    -------
    ndarray of float
        Shape of `p`; never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Binomial distribution; NIST/SEMATECH handbook 6.2.3.2.
    """
    _check_plan(n, c)
    _check_shares(p)
    return np.asarray(stats.binom.cdf(c, n, np.asarray(p, dtype=np.float64)), dtype=np.float64)


def acceptance_lot(n: int, c: int, lot: int, bad: ArrayLike) -> Array:
    """Give the chance that a plan accepts a finite box.

    Parameters
    ----------
    n, c : int
        Balls looked at, and the largest number of bad ones that is accepted; 1 <= n <= lot, c >= 0.
    lot : int
        Balls in the box.
    bad : array_like of int
        Bad balls in the box, of any shape, 0 to lot.

    Returns
    -------
    ndarray of float
        Shape of `bad`; never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Hypergeometric distribution.
    """
    _check_plan(n, c)
    _check_lot(n, lot)
    counts = np.asarray(bad)
    if counts.size and (counts.min() < 0 or counts.max() > lot):
        raise BadRequest(Fault("bad", str(bad), f"whole numbers from 0 to {lot}", "count bad balls in the box"))
    return np.asarray(stats.hypergeom.cdf(c, lot, counts, n), dtype=np.float64)


def _check_counts(bad: ArrayLike, n: int) -> None:
    """Say what is wrong with counts out of a sample of n."""
    faults = []
    counts = np.asarray(bad, dtype=np.float64)
    if n < 1:
        faults.append(Fault("n", str(n), "a whole number from 1", "look at one ball at least"))
    if not np.all((counts >= 0) & (counts <= n) & (counts == np.floor(counts))):
        faults.append(Fault("bad", str(bad), f"whole numbers from 0 to {n}", "count the bad balls"))
    if faults:
        raise BadRequest(faults)


def _check_plan(n: int, c: int) -> None:
    """Say what is wrong with a sampling plan."""
    faults = []
    if n < 1:
        faults.append(Fault("n", str(n), "a whole number from 1", "look at one ball at least"))
    if c < 0:
        faults.append(Fault("c", str(c), "a whole number from 0", "say how many bad balls are accepted"))
    if faults:
        raise BadRequest(faults)


def _check_lot(n: int, lot: int) -> None:
    """Say so when a sample does not fit in its box."""
    if not 1 <= n <= lot:
        raise BadRequest(Fault("n", f"{n} of a box of {lot}", f"1 to {lot}", "count the balls of the box"))


def _check_confidence(confidence: float) -> None:
    """Say so when a confidence is out of range."""
    if not 0.0 < confidence < 1.0:
        raise BadRequest(Fault("confidence", str(confidence), "a number between 0 and 1", "give 0.95 for 95 %"))


def _check_shares(p: ArrayLike, *, open_ended: bool = False) -> None:
    """Say so when shares are out of range; the ends are allowed unless `open_ended`."""
    shares = np.asarray(p, dtype=np.float64)
    good = (shares > 0.0) & (shares < 1.0) if open_ended else (shares >= 0.0) & (shares <= 1.0)
    if not np.all(good):
        raise BadRequest(Fault("share", str(p), "numbers from 0 to 1", "give 0.05 for 5 %"))
