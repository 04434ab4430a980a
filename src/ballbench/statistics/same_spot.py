"""Whether a ball comes to rest with the same marked spot up more often than chance: exact, whichever spot it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault

__all__ = ["SpotTest", "all_at_most", "spot_tests", "trials_up_to_tell"]

_MOST_TRIALS = 1000
"""More nobody does by hand; the exact sums grow with it (own choice)."""
_SAME = 1.0 + 1e-9
"""Chances that differ by less are one chance: they come from different sums (own choice)."""


@dataclass(frozen=True, slots=True)
class SpotTest:
    """One spot, in the order in which spots stand out.

    Parameters
    ----------
    spot : int
        Its place among the counts.
    p : float
        Chance that the most telling of the spots that are left stands out so much, if none of them is heavy; never less
        than that of the spot before it.
    """

    spot: int
    p: float


def all_at_most(trials: int, shares: Sequence[float], most: Sequence[int]) -> float:
    """Give the chance that no spot is up more often than its own bound.

    Parameters
    ----------
    trials : int
        How many, from 0.
    shares : sequence of float, (m,)
        Chance of each spot; above 0, together 1.
    most : sequence of int, (m,)
        Bounds of the counts; below 0: the chance is 0.

    Returns
    -------
    float
        Multinomial, exact: spots are taken one after another, each binomial out of the trials that are left.
    """
    if min(most) < 0:
        return 0.0
    chances = np.zeros(trials + 1)
    chances[trials] = 1.0
    left = 1.0
    for share, bound in zip(shares[:-1], most[:-1], strict=True):
        chances = _after(chances, min(share / left, 1.0), bound)
        left = max(left - share, 1e-300)
    return float(chances[: most[-1] + 1].sum())


def _after(chances: NDArray[np.float64], share: float, bound: int) -> NDArray[np.float64]:
    """Take one spot's trials off: chance of so many left, that spot having been up `bound` times at most."""
    after = np.zeros_like(chances)
    remaining = np.flatnonzero(chances > 0.0)
    for up in range(min(bound, chances.size - 1) + 1):
        kept = remaining[remaining >= up]
        after[kept - up] += chances[kept] * stats.binom.pmf(up, kept, share)
    return after


def spot_tests(counts: Sequence[int], shares: Sequence[float], until: float = 1.0) -> tuple[SpotTest, ...]:
    """Test spot by spot whether it was up more often than chance, the most telling first.

    Parameters
    ----------
    counts : sequence of int, (m,)
        Trials with each spot up; those never up belong to it too.
    shares : sequence of float, (m,)
        Share of the sphere of each, together 1.
    until : float
        No further spot is tested after one whose chance is as large.

    Returns
    -------
    tuple of SpotTest
        One for each spot that was up, but the last spot of all, which takes what the others leave.

    Raises
    ------
    BadRequest
        Counts or shares that cannot be.

    Notes
    -----
    A spot stands out by its own binomial tail, the chance that it is up so often or more; with equal shares that is by
    its count. That of the spot that stands out most is not a fair chance, since it was chosen afterwards: the chance
    that any of the m tails is so small is exact, one less `all_at_most` of the largest counts with larger tails. Then
    that spot is left aside with its trials; the rest are multinomial again with shares that add up to 1, and the second
    is tested in the same way. Reading on only while each is told keeps the risk over all of them (closed in order).
    """
    _check(counts, shares)
    left = list(range(len(counts)))
    found: list[SpotTest] = []
    least = 0.0
    while len(left) > 1 and sum(counts[k] for k in left) > 0 and least < until:
        trials, total = sum(counts[k] for k in left), math.fsum(shares[k] for k in left)
        own = [shares[k] / total for k in left]
        tails = [_tail(counts[k], trials, share) for k, share in zip(left, own, strict=True)]
        best = min(range(len(left)), key=tails.__getitem__)
        least = max(least, _chance_of(tails[best], trials, own))
        found.append(SpotTest(left[best], least))
        left.pop(best)
    return tuple(found)


def _chance_of(tail: float, trials: int, shares: Sequence[float]) -> float:
    """Chance that some spot has so small a tail."""
    bounds = {share: _first_count(tail, trials, share) - 1 for share in set(shares)}
    together = 1.0 - all_at_most(trials, shares, [bounds[share] for share in shares])
    return min(max(together, tail), 1.0)  # a difference from 1 has no figures left where it is tiny


def _tail(count: int, trials: int, share: float) -> float:
    return float(stats.binom.sf(count - 1, trials, share))


def _first_count(tail: float, trials: int, share: float) -> int:
    """Give the smallest count whose tail is as small as `tail`; one more than the trials where none is."""
    tails = stats.binom.sf(np.arange(trials + 1) - 1, trials, share)
    small = np.flatnonzero(tails <= tail * _SAME)
    return int(small[0]) if small.size else trials + 1


def trials_up_to_tell(trials: int, shares: Sequence[float], share: float, alpha: float = 0.05) -> int:
    """Say how often a spot would have to be up to be told from chance.

    Parameters
    ----------
    trials : int
        How many came to rest.
    shares : sequence of float, (m,)
        Of all spots, together 1.
    share : float
        Of the spot that is asked about, one of them.
    alpha : float
        Risk, between 0 and 1.

    Returns
    -------
    int
        The smallest count, out of `trials`; 0 where not even all of them would tell.
    """

    def tells(count: int) -> bool:
        return _chance_of(_tail(count, trials, share), trials, shares) < alpha

    if not tells(trials):
        return 0
    too_few, enough = 0, trials
    while enough - too_few > 1:  # the chance only falls with the count
        middle = (too_few + enough) // 2
        too_few, enough = (too_few, middle) if tells(middle) else (middle, enough)
    return enough


def _check(counts: Sequence[int], shares: Sequence[float]) -> None:
    faults = []
    if len(counts) != len(shares) or len(counts) < 2:
        found = f"{len(counts)} counts and {len(shares)} shares"
        faults.append(Fault("counts", found, "one count for each share, two at least", "count every spot, 0 too"))
    if any(count < 0 for count in counts) or not 0 < sum(counts) <= _MOST_TRIALS:
        rule = f"counts from 0, 1 to {_MOST_TRIALS} trials"
        faults.append(Fault("counts", str(sum(counts)), rule, "count the trials that came to rest"))
    if any(not share > 0.0 for share in shares) or abs(math.fsum(shares) - 1.0) > 1e-6:
        rule = "shares above 0 that add up to 1"
        faults.append(Fault("shares", f"{math.fsum(shares):g} together", rule, "name the rest of the sphere as a spot"))
    if faults:
        raise BadRequest(faults)
