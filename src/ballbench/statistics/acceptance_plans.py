"""Sampling plans for a box or a consignment: how many balls to look at, and what the plan then accepts.

By counting bad balls: plans that allow none, and plans found from two points of the operating characteristic. By
values: the mean must lie k standard deviations inside a limit, sigma unknown. Finite boxes throughout. The code letters
of ISO 2859-1 stand here to hold a plan against, not to choose one by.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.statistics.counts import acceptance, acceptance_lot
from ballbench.statistics.tolerance import one_sided_factor

__all__ = [
    "CODE_SAMPLES",
    "CountPlan",
    "ValuePlan",
    "acceptance_by_values",
    "code_letter",
    "count_plan",
    "share_accepted_with",
    "value_plan",
    "zero_bad_of_lot",
]

Array = NDArray[np.float64]

MOST = 5000
"""Largest sample that a search goes to; beyond it no bench goes (own choice)."""
MOST_VALUES = 500
"""The same for values; more balls than that are read by no hand (own choice)."""
NODES = 512
"""Of the integral over the box; it has corners, and is right to 0.001."""

CODE_SAMPLES = {
    "A": 2, "B": 3, "C": 5, "D": 8, "E": 13, "F": 20, "G": 32, "H": 50, "J": 80, "K": 125, "L": 200, "M": 315,
    "N": 500, "P": 800, "Q": 1250, "R": 2000,
}  # fmt: skip
"""Sample sizes of the code letters, ISO 2859-1:1999, as shown on two teaching pages; the standard was not opened."""
_LOTS = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000)
_LETTERS = {
    "S-1": "AAAABBBBCCCCDDD",
    "S-2": "AAABBBCCCDDDEEE",
    "S-3": "AABBCCDDEEFFGGH",
    "S-4": "AABCCDEEFGGHJJK",
    "I": "AABCCDEFGHJKLMN",
    "II": "ABCDEFGHJKLMNPQ",
    "III": "BCDEFGHJKLMNPQR",
}
"""ISO 2859-1:1999, Table 1, likewise; the letter of each lot size, the last for all above 500,000."""


@dataclass(frozen=True, slots=True)
class CountPlan:
    """Look at `n` balls and accept up to `c` bad ones."""

    n: int
    c: int


@dataclass(frozen=True, slots=True)
class ValuePlan:
    """Read `n` balls and accept when the mean lies at least `k` of their SDs inside the limit."""

    n: int
    k: float


def zero_bad_of_lot(lot: int, bad: int, confidence: float = 0.95) -> int:
    """Say how many balls of a box to look at, so that none bad among them speaks against `bad` in the box.

    Parameters
    ----------
    lot : int
        Balls in the box, at least 1.
    bad : int
        Bad balls in the box that are to be noticed, 1 to `lot`.
    confidence : float
        Chance of seeing at least one of them, between 0 and 1.

    Returns
    -------
    int
        Smallest n, 1 to lot - bad + 1.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Hypergeometric distribution: the chance of none among n is C(lot - bad, n) / C(lot, n). Exact algebra.
    """
    faults = _chance_faults(confidence=confidence)
    if not 1 <= bad <= lot:
        faults.append(Fault("bad", f"{bad} of a box of {lot}", f"1 to {max(lot, 1)}", "count the balls of the box"))
    if faults:
        raise BadRequest(faults)
    missed = 1.0
    for n in range(lot - bad + 1):
        missed *= (lot - bad - n) / (lot - n)  # the next ball is good again
        if missed <= (1.0 - confidence) * (1.0 + 1e-12):
            return n + 1
    raise AssertionError("the last factor is 0")  # pragma: no cover


def share_accepted_with(n: int, c: int, chance: ArrayLike) -> Array:
    """Give the share of bad balls in a large batch at which a plan accepts with a stated chance.

    Parameters
    ----------
    n, c : int
        Balls looked at, and the largest number of bad ones that is accepted; 0 <= c < n.
    chance : array_like of float
        Of acceptance, between 0 and 1, of any shape.

    Returns
    -------
    ndarray of float
        Shape of `chance`; never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Inverse of the binomial distribution function by the beta distribution (NIST/SEMATECH handbook 6.2.3.2 for the
    characteristic itself).
    """
    wanted = np.asarray(chance, dtype=np.float64)
    faults = []
    if not 0 <= c < n:
        faults.append(Fault("plan", f"{n} balls, {c} bad accepted", "n from 1 and c from 0 to n - 1", "correct it"))
    if not np.all((wanted > 0.0) & (wanted < 1.0)):
        faults.append(Fault("chance", str(chance), "numbers between 0 and 1", "give 0.95 for 95 %"))
    if faults:
        raise BadRequest(faults)
    return np.asarray(stats.beta.isf(wanted, c + 1, n - c), dtype=np.float64)


def count_plan(
    good: float, poor: float, alpha: float = 0.05, beta: float = 0.10, lot: int | None = None
) -> CountPlan:  # fmt: skip
    """Find the smallest plan by counting that passes two points of the operating characteristic.

    Parameters
    ----------
    good, poor : float
        Shares of bad balls: a batch with `good` must be accepted with a chance of at least 1 - alpha, one with `poor`
        with at most beta; 0 < good < poor < 1. In a box `good` is rounded down and `poor` up to whole balls.
    alpha, beta : float
        Between 0 and 1, together below 1.
    lot : int, optional
        Balls in the box; a large batch by default.

    Returns
    -------
    CountPlan
        Smallest n, and the smallest c that goes with it.

    Raises
    ------
    BadRequest
        Arguments outside these ranges; or no sample of up to 5,000 balls is enough.

    Notes
    -----
    Binomial distribution, in a box hypergeometric; the search is exact, not by an approximation.
    """
    _check_points(good, poor, alpha, beta)
    if lot is not None and lot < 1:
        raise BadRequest(Fault("box", str(lot), "a whole number from 1", "count the balls of the box"))
    c = 0
    for n in range(1, min(MOST, lot or MOST) + 1):
        while c < n and _accepted(n, c, good, lot, up=False) < 1.0 - alpha:
            c += 1
        if c < n and _accepted(n, c, poor, lot, up=True) <= beta:
            return CountPlan(n, c)
    room = f"{min(MOST, lot or MOST)} balls"
    raise BadRequest(
        Fault("plan", f"{good:g} and {poor:g} bad with risks {alpha:g} and {beta:g}", f"points that {room} can part",
              "put them further apart, or accept larger risks")
    )  # fmt: skip


def _accepted(n: int, c: int, share: float, lot: int | None, *, up: bool) -> float:
    """Chance that a plan accepts a batch, or a box with a whole number of bad balls."""
    if lot is None:
        return float(acceptance(n, c, share))
    bad = math.ceil(share * lot - 1e-9) if up else math.floor(share * lot + 1e-9)
    return float(acceptance_lot(n, c, lot, bad))


def acceptance_by_values(n: int, k: float, share: ArrayLike, lot: int | None = None) -> Array:
    """Give the chance that a plan by values accepts: mean plus k SDs is inside the one limit, sigma unknown.

    Parameters
    ----------
    n : int
        Balls read, at least 2.
    k : float
        Acceptability constant.
    share : array_like of float
        Share of bad balls, between 0 and 1, of any shape; for a box: that of a normal distribution with the box's own
        mean and SD (divisor lot - 1).
    lot : int, optional
        Balls in the box, at least n; a large batch by default.

    Returns
    -------
    ndarray of float
        Shape of `share`; never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    With z the normal quantile of 1 - share, a large batch is accepted when a noncentral t variable with n - 1 degrees
    of freedom and noncentrality z sqrt(n) is at least k sqrt(n) (ISO 3951, s method, form from memory). For a box drawn
    from a normal population: of the box's squares about its mean, the parts that lie in the sample's own squares, in
    the sample mean's distance and in the rest have a Dirichlet distribution with (n - 1)/2, 1/2 and (lot - n - 1)/2
    (own derivation, from the symmetry of the normal distribution; held against simulation).
    """
    shares = np.asarray(share, dtype=np.float64)
    faults = []
    if n < 2:
        faults.append(Fault("n", str(n), "a whole number from 2", "read two balls at least"))
    if not math.isfinite(k):
        faults.append(Fault("k", str(k), "a finite number", "give the acceptability constant"))
    if not np.all((shares > 0.0) & (shares < 1.0)):
        faults.append(Fault("share", str(share), "numbers between 0 and 1", "give 0.05 for 5 %"))
    if lot is not None and lot < n:
        faults.append(Fault("n", f"{n} of a box of {lot}", f"2 to {lot}", "count the balls of the box"))
    if faults:
        raise BadRequest(faults)
    z = stats.norm.isf(shares)
    if lot is not None:
        return _accepted_of_box(n, k, z, lot)
    return np.asarray(stats.nct.sf(k * math.sqrt(n), n - 1, z * math.sqrt(n)), dtype=np.float64)


def _accepted_of_box(n: int, k: float, z: Array, lot: int) -> Array:
    """Chance of acceptance of a box whose limit lies z of its SDs from its mean."""
    if lot == n:
        return np.asarray(z >= k, dtype=np.float64)
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    own = stats.beta.ppf(0.5 * (nodes + 1.0), 0.5 * (n - 1), 0.5 * (lot - n))  # the sample's share of the squares
    far = math.sqrt((lot - 1) * (1.0 / n - 1.0 / lot))
    room = (np.asarray(z)[..., None] - k * np.sqrt(own * (lot - 1) / (n - 1))) / far
    reach = np.clip(room / np.sqrt(1.0 - own), -1.0, 1.0)
    rest = 0.5 * (lot - n - 1)
    if rest == 0.0:
        below = np.where(reach >= 1.0, 1.0, np.where(reach >= -1.0, 0.5, 0.0))
        below = np.where(reach <= -1.0, 0.0, below)
    else:
        below = 0.5 + 0.5 * np.sign(reach) * stats.beta.cdf(reach**2, 0.5, rest)
    return np.asarray(below @ (0.5 * weights), dtype=np.float64)


def value_plan(good: float, poor: float, alpha: float = 0.05, beta: float = 0.10) -> ValuePlan:
    """Find the smallest plan by values, sigma unknown, one limit, for a large batch.

    Parameters
    ----------
    good, poor, alpha, beta : float
        As for `count_plan`.

    Returns
    -------
    ValuePlan
        Smallest n; k so that the batch with `poor` is accepted with a chance of exactly beta.

    Raises
    ------
    BadRequest
        Arguments outside their ranges; or no sample of up to 500 balls is enough.

    Notes
    -----
    k is the one-sided tolerance factor for a share 1 - poor with confidence 1 - beta (`tolerance.one_sided_factor`).
    The values must be normal and free of the instrument's own spread; a box needs no more than a large batch does.
    """
    _check_points(good, poor, alpha, beta)
    low, high = 1, 2
    while _falls_short(high, good, poor, alpha, beta):
        low, high = high, 2 * high
        if low >= MOST_VALUES:
            raise BadRequest(
                Fault("plan", f"{good:g} and {poor:g} bad with risks {alpha:g} and {beta:g}",
                      f"points that {MOST_VALUES} balls can part", "put them further apart, or accept larger risks")
            )  # fmt: skip
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _falls_short(middle, good, poor, alpha, beta) else (low, middle)
    return ValuePlan(high, one_sided_factor(high, 1.0 - poor, 1.0 - beta))


def _falls_short(n: int, good: float, poor: float, alpha: float, beta: float) -> bool:
    """Whether n balls accept the good batch too seldom when they accept the poor one with chance beta."""
    k = one_sided_factor(n, 1.0 - poor, 1.0 - beta)
    return float(acceptance_by_values(n, k, good)) < 1.0 - alpha


def code_letter(lot: int, level: str = "II") -> tuple[str, int]:
    """Give the code letter of ISO 2859-1 for a lot, and its sample size: a cross-check, no plan of its own.

    Parameters
    ----------
    lot : int
        Balls in the lot, at least 2.
    level : str
        ``I``, ``II``, ``III``, or the special levels ``S-1`` to ``S-4``.

    Returns
    -------
    letter, n
        The sample size as tabulated; where it exceeds the lot, the whole lot is looked at.

    Raises
    ------
    BadRequest
        Another level, or a lot below 2.

    Notes
    -----
    ISO 2859-1:1999, Table 1, as shown on two teaching pages; the standard itself was not opened. With its limits of
    quality and its rules of switching, which are not here, it is a scheme for lots in a series.
    """
    faults = []
    if level not in _LETTERS:
        faults.append(Fault("inspection level", repr(level), ", ".join(_LETTERS), "choose one"))
    if lot < 2:
        faults.append(Fault("lot", str(lot), "a whole number from 2", "count the balls"))
    if faults:
        raise BadRequest(faults)
    letter = _LETTERS[level][int(np.searchsorted(_LOTS, lot, side="left"))]
    return letter, min(CODE_SAMPLES[letter], lot)


def _check_points(good: float, poor: float, alpha: float, beta: float) -> None:
    """Say all that is wrong with two points of an operating characteristic."""
    faults = _chance_faults(alpha=alpha, beta=beta)
    if not 0.0 < good < poor < 1.0:
        found = f"{good:g} and {poor:g}"
        faults.append(Fault("shares of bad balls", found, "0 < good < poor < 1", "give the smaller share first"))
    if not faults and alpha + beta >= 1.0:
        faults.append(Fault("alpha and beta", f"{alpha:g} and {beta:g}", "together below 1", "take 0.05 and 0.10"))
    if faults:
        raise BadRequest(faults)


def _chance_faults(**chances: float) -> list[Fault]:
    """Faults of chances that do not lie between 0 and 1."""
    return [
        Fault(name, str(value), "a number between 0 and 1", "give 0.05 for 5 %")
        for name, value in chances.items()
        if not 0.0 < value < 1.0
    ]
