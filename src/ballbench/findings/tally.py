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
        statistic, met = self._each(everything, lower, upper)
        self._statistics.append(statistic)
        self._met.append(met)
        self._inside += (margin_of(ball, lower, upper) > 0).sum(axis=1)

    def _each(self, ball: Floats, lower: float | None, upper: float | None) -> tuple[Floats, NDArray[np.bool_]]:
        """Value of the ball that decides in each draw, and whether the clause is met."""
        allowed = self.reading.allowed_outside
        if allowed == 0 and (lower is None or upper is None):
            worst = ball.max(axis=0) if lower is None else ball.min(axis=0)
            return worst, margin_of(worst, lower, upper) > 0
        margin = margin_of(ball, lower, upper)
        if allowed == 0:
            at = margin.argmin(axis=0)
        else:
            at = np.argpartition(margin, min(allowed, ball.shape[0] - 1), axis=0)[min(allowed, ball.shape[0] - 1)]
        draw = np.arange(ball.shape[1])
        deciding = margin[at, draw]
        met = deciding > 0 if allowed < ball.shape[0] else np.ones(ball.shape[1], bool)
        return ball[at, draw], met

    @property
    def statistics(self) -> Floats:
        """The clause's statistic in every draw, (N,), base unit."""
        return np.concatenate(self._statistics)

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
