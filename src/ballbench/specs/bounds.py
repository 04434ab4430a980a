"""What the clauses on each ball leave open: the interval that a ball's values are confined to, and what follows.

Used by the lint to tell which limits can never bind.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ballbench.specs.model import BallReduction, Clause, Reading

__all__ = ["Confinement", "confinement", "largest_sample_sd"]


@dataclass(frozen=True, slots=True)
class Confinement:
    """The interval that clauses on each ball confine a ball's value to.

    Parameters
    ----------
    low, high : float
        Ends in the quantity's unit of computation; infinite where nothing bounds the value.
    """

    low: float
    high: float

    @property
    def width(self) -> float:
        """Its length; infinite where an end is open."""
        return self.high - self.low


def largest_sample_sd(width: float, n: int) -> float:
    """Give the largest sample standard deviation (divisor n - 1) of `n` values in an interval.

    Half of the values lie at one end and half at the other; with an odd number one more lies at one of them. Then
    the sum of squares about the mean is c^2 k (n - k) / n with k = floor(n / 2).

    Parameters
    ----------
    width : float
        Length c of the interval, 0 or more.
    n : int
        Number of values, 2 or more.

    Returns
    -------
    float
        (c/2) sqrt(n/(n-1)) for even n, (c/2) sqrt((n+1)/n) for odd n; the unit of `width`. Never NaN.

    Raises
    ------
    ValueError
        `width` is negative or `n` is below 2.
    """
    if width < 0 or n < 2:
        raise ValueError(f"width must be 0 or more and n 2 or more, got {width} and {n}; check the clause")
    return width / 2 * math.sqrt(n / (n - 1) if n % 2 == 0 else (n + 1) / n)


def confinement(clauses: Iterable[Clause], quantity: str, ball: BallReduction) -> Confinement:
    """Give the interval that the each-ball clauses confine one reduction of a ball's readings to.

    A ball's smallest value is at most its mean, median and midrange, and these are at most its largest value: so a
    limit on one reduction bounds others. A clause confines only as far as its widest reading does, and not at all
    where it allows balls outside. A range is never below 0, and never wider than what largest and smallest leave.

    Parameters
    ----------
    clauses : iterable of Clause
        The requirement's clauses; those under conditions count as well.
    quantity : str
        The quantity of the values.
    ball : BallReduction
        The reduction that is to be confined.

    Returns
    -------
    Confinement
        In the quantity's unit of computation.
    """
    relevant = [clause for clause in clauses if clause.quantity == quantity and clause.count is None]
    if ball == "range":
        widest = confinement(relevant, quantity, "max").high - confinement(relevant, quantity, "min").low
        high = min([widest, *(h for _, h in _bounds(relevant, {"range"}))])
        return Confinement(max([0.0, *(low for low, _ in _bounds(relevant, {"range"}))]), high)
    below: set[BallReduction] = {"min", ball} if ball != "max" else {"min", "mean", "median", "midrange", "max"}
    above: set[BallReduction] = {"max", ball} if ball != "min" else {"min", "mean", "median", "midrange", "max"}
    low = max([-math.inf, *(low for low, _ in _bounds(relevant, below))])
    high = min([math.inf, *(high for _, high in _bounds(relevant, above))])
    return Confinement(low, high)


def _bounds(clauses: Iterable[Clause], balls: set[BallReduction]) -> list[tuple[float, float]]:
    """Give what each clause on one of `balls` confines every ball to, by its widest reading."""
    found = []
    for clause in clauses:
        pairs = [_bound(reading) for reading in clause.readings if reading.ball in balls]
        if len(pairs) == len(clause.readings):  # a variant on another reduction leaves this one open
            found.append((min(low for low, _ in pairs), max(high for _, high in pairs)))
    return found


def _bound(reading: Reading) -> tuple[float, float]:
    """Give what one reading confines every ball to: ``each``, the smallest at least, the largest at most."""
    low = -math.inf if reading.lower is None else reading.lower.value
    high = math.inf if reading.upper is None else reading.upper.value
    if reading.sample == "each" and not reading.allowed_outside:
        return low, high
    return (low if reading.sample == "min" else -math.inf), (high if reading.sample == "max" else math.inf)
