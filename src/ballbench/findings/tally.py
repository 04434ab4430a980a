"""One clause under one reading of its text, counted over draws of the true values."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ballbench.specs import Reading
from ballbench.statistics.reductions import BallValues, over_balls
from ballbench.statistics.study import Floats

__all__ = ["Tally", "limits_of", "margin_of"]


def limits_of(reading: Reading) -> tuple[float | None, float | None]:
    """Lower and upper limit of a reading of a clause, base unit."""
    return (
        reading.lower.value if reading.lower is not None else None,
        reading.upper.value if reading.upper is not None else None,
    )


def margin_of(values: Floats, lower: float | None, upper: float | None) -> Floats:
    """Signed distance inside the nearer limit: min(v - lower, upper - v); negative outside. Same shape as `values`."""
    if lower is not None and upper is not None:
        return np.asarray(np.minimum(values - lower, upper - values))
    if upper is not None:
        return np.asarray(upper - values)
    if lower is not None:
        return np.asarray(values - lower)
    raise ValueError("a margin needs a limit")


@dataclass(slots=True)
class Tally:
    """Counts of one reading of a clause.

    Parameters
    ----------
    reading : Reading
        Reductions and limits.
    balls : int
        Number of balls in the sample.
    keep_balls : int
        So many draws of every ball's value are kept for pictures.
    """

    reading: Reading
    balls: int
    keep_balls: int = 0
    _statistics: list[Floats] = field(default_factory=list)
    _lowest: list[Floats] = field(default_factory=list)
    _highest: list[Floats] = field(default_factory=list)
    _met: list[NDArray[np.bool_]] = field(default_factory=list)
    _kept: list[Floats] = field(default_factory=list)
    _inside: Floats = field(init=False)

    def __post_init__(self) -> None:
        """Start the count of each ball."""
        self._inside = np.zeros(self.balls)

    def add(self, values: BallValues, further: BallValues | None = None) -> None:
        """Count one chunk of draws.

        Parameters
        ----------
        values : BallValues
            Of the balls that were read.
        further : BallValues, optional
            Of unread balls of the sample that an allowance counts as well.
        """
        reading = self.reading
        lower, upper = limits_of(reading)
        ball = values(reading.ball)
        if self.keep_balls > 0 and sum(part.shape[1] for part in self._kept) < self.keep_balls:
            self._kept.append(ball[:, : self.keep_balls])
        if reading.sample != "each":
            statistic = over_balls(ball, reading.sample)
            self._statistics.append(statistic)
            self._met.append(margin_of(statistic, lower, upper) > 0)
            return
        everything = ball if further is None else np.concatenate([ball, further(reading.ball)])
        self._met.append(self._each(everything, lower, upper))
        self._inside += (margin_of(ball, lower, upper) > 0).sum(axis=1)

    def _each(self, ball: Floats, lower: float | None, upper: float | None) -> NDArray[np.bool_]:
        """Keep the ball that decides at either end, and say whether the clause is met in each draw.

        With an allowance of q balls the deciding margin is the (q + 1)-th smallest; at either end the deciding ball is
        the (q + 1)-th from that end.
        """
        allowed = self.reading.allowed_outside
        place = min(allowed, ball.shape[0] - 1)
        if lower is not None:
            self._lowest.append(ball.min(axis=0) if place == 0 else np.partition(ball, place, axis=0)[place])
        if upper is not None:
            self._highest.append(ball.max(axis=0) if place == 0 else -np.partition(-ball, place, axis=0)[place])
        if allowed >= ball.shape[0]:
            return np.ones(ball.shape[1], bool)
        if allowed == 0:
            inside = np.ones(ball.shape[1], bool)
            if lower is not None:
                inside &= self._lowest[-1] > lower
            if upper is not None:
                inside &= self._highest[-1] < upper
            return inside
        outside = (margin_of(ball, lower, upper) <= 0).sum(axis=0)
        return np.asarray(outside <= allowed)

    @property
    def end(self) -> str:
        """Which end of an each-ball clause is nearer to its limit: ``low`` or ``high``; empty for other clauses."""
        if self.reading.sample != "each":
            return ""
        if not self._lowest or not self._highest:
            return "low" if self._lowest else "high"
        lower, upper = limits_of(self.reading)
        low = float(np.median(np.concatenate(self._lowest))) - (lower or 0.0)
        high = (upper or 0.0) - float(np.median(np.concatenate(self._highest)))
        return "low" if low <= high else "high"

    @property
    def statistics(self) -> Floats:
        """The clause's statistic in every draw, (N,), base unit: for ``each``, the ball that decides at `end`."""
        if self.reading.sample != "each":
            return np.concatenate(self._statistics)
        return np.concatenate(self._lowest if self.end == "low" else self._highest)

    @property
    def drawn(self) -> bool:
        """Whether anything was counted."""
        return bool(self._met)

    @property
    def met(self) -> NDArray[np.bool_]:
        """Whether the clause is met in every draw, (N,)."""
        return np.concatenate(self._met)

    @property
    def inside(self) -> Floats:
        """Chance that each ball is inside, (n,); each-ball clauses only."""
        return self._inside / max(sum(part.size for part in self._met), 1)

    @property
    def kept(self) -> Floats:
        """Kept draws of every ball's value, (n, M)."""
        return np.concatenate(self._kept, axis=1) if self._kept else np.empty((self.balls, 0))
