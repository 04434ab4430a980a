"""From true values at the axes to the statistics that clauses name: first over a ball's axes, then over the balls."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ballbench.statistics.study import Floats

__all__ = ["BallValues", "over_balls"]


class BallValues:
    """Reductions of every ball's values, each computed once.

    Parameters
    ----------
    values : (k, n, M) float array
        Value of ball i at axis j in draw m.
    read : (k, n) bool array, optional
        Where something was read; the rest is left out. Every ball has one axis at least.
    """

    def __init__(self, values: Floats, read: NDArray[np.bool_] | None = None) -> None:
        self._values = values
        self._read = None if read is None or read.all() else read[:, :, None]
        self._known: dict[str, Floats] = {}

    def __call__(self, how: str) -> Floats:
        """Give the reduction `how` of each ball, (n, M).

        Parameters
        ----------
        how : str
            ``mean``, ``midrange`` ((max + min) / 2), ``median``, ``max``, ``min`` or ``range``.
        """
        if how not in self._known:
            self._known[how] = self._compute(how)
        return self._known[how]

    def _compute(self, how: str) -> Floats:
        if self._values.shape[0] == 1:
            return np.zeros(self._values.shape[1:]) if how == "range" else self._values[0]
        if how == "midrange":
            return 0.5 * (self("max") + self("min"))
        if how == "range":
            return self("max") - self("min")
        return self._plain(how)

    def _plain(self, how: str) -> Floats:
        values, read = self._values, self._read
        if how == "max":
            return np.asarray((values if read is None else np.where(read, values, -np.inf)).max(axis=0))
        if how == "min":
            return np.asarray((values if read is None else np.where(read, values, np.inf)).min(axis=0))
        if read is None:
            return np.asarray(values.mean(axis=0) if how == "mean" else np.median(values, axis=0))
        masked = np.where(read, values, np.nan)
        return np.asarray(np.nanmean(masked, axis=0) if how == "mean" else np.nanmedian(masked, axis=0))


def over_balls(values: Floats, how: str) -> Floats:
    """Reduce over the balls.

    Parameters
    ----------
    values : (n, M) float array
        One value a ball and draw.
    how : str
        ``mean``, ``sd`` (n - 1; NaN for one ball), ``max``, ``min`` or ``range``.

    Returns
    -------
    (M,) float array
        The statistic of each draw.
    """
    if how == "sd":
        n = values.shape[0]
        if n < 2:
            return np.full(values.shape[1], np.nan)
        centred = values - values.mean(axis=0)
        return np.asarray(np.sqrt((centred * centred).sum(axis=0) / (n - 1)))
    if how == "range":
        return np.asarray(values.max(axis=0) - values.min(axis=0))
    if how == "mean":
        return np.asarray(values.mean(axis=0))
    return np.asarray(values.max(axis=0) if how == "max" else values.min(axis=0))
