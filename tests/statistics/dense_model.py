"""The model of the methods page written out as one big covariance matrix: slow, and nothing in it is shared with src.

y = X beta + u, beta flat, u normal with the covariance of ball, form, noise and shared levels; what follows for the
true values is the best linear prediction with unknown fixed effects (universal kriging; Rasmussen and Williams,
Gaussian Processes for Machine Learning, 2.7, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ballbench.statistics.study import Floats, Study

__all__ = ["DenseModel"]


@dataclass(frozen=True, slots=True)
class DenseModel:
    """One study with all of its variances given.

    Parameters
    ----------
    study : Study
        Of one study (T = 1).
    se, sb : float
        Repeatability, SD between balls.
    sf : (n,) float array
        Form SD of each ball.
    """

    study: Study
    se: float
    sb: float
    sf: Floats

    def _cells(self) -> tuple[Floats, Floats, Floats]:
        """Ball, axis and whether it was read, of every cell, flat."""
        _, n, k = self.study.shape
        ball, axis = (a.ravel() for a in np.indices((n, k)))
        return ball, axis, (self.study.counts > 0).ravel()

    def _fixed(self) -> Floats:
        _, axis, _ = self._cells()
        k = self.study.shape[2]
        columns = [np.ones(axis.size)]
        if self.study.axis_effects:
            columns += [(axis == j).astype(float) - (axis == k - 1) for j in range(k - 1)]
        return np.column_stack(columns)

    def _truth_covariance(self) -> Floats:
        ball, _, _ = self._cells()
        return self.sb**2 * (ball[:, None] == ball[None, :]) + np.diag(self.sf[ball] ** 2)

    def _common(self) -> tuple[float, Floats]:
        """Variance of the precision-weighted mean of the levels, summed over kinds, and its covariance with y."""
        _, n, k = self.study.shape
        variance, with_y = 0.0, np.zeros(n * k)
        for kind in self.study.kinds:
            own = 1.0 / float((1.0 / kind.sd**2).sum())
            variance += own
            with_y += own * kind.shares.sum(axis=2).ravel()
        return variance, with_y

    def _data_covariance(self) -> Floats:
        counts = self.study.counts.ravel()
        total = self._truth_covariance() + np.diag(self.se**2 / np.where(counts > 0, counts, 1.0))
        for kind in self.study.kinds:
            shares = kind.shares.reshape(counts.size, -1)
            total += (shares * kind.sd**2) @ shares.T
        return total

    def log_likelihood(self) -> float:
        """Log likelihood of the readings with the fixed effects integrated out (restricted likelihood)."""
        read = self._cells()[2]
        y, x = self.study.means[0].ravel()[read], self._fixed()[read]
        v = self._data_covariance()[np.ix_(read, read)]
        solved = np.linalg.solve(v, np.column_stack([x, y]))
        information = x.T @ solved[:, :-1]
        beta = np.linalg.solve(information, x.T @ solved[:, -1])
        rest = y - x @ beta
        quad = rest @ np.linalg.solve(v, rest)
        return float(-0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1] + quad))

    def truth(self) -> tuple[Floats, Floats]:
        """Mean and covariance of the true values of all cells, flat, with the levels' common part left in."""
        read = self._cells()[2]
        everywhere = self._fixed()
        y, x = self.study.means[0].ravel()[read], everywhere[read]
        v = self._data_covariance()[np.ix_(read, read)]
        variance, with_y = self._common()
        own = self._truth_covariance()
        cross = own[:, read] + with_y[read][None, :]
        gain = np.linalg.solve(v, cross.T).T
        information = x.T @ np.linalg.solve(v, x)
        beta = np.linalg.solve(information, x.T @ np.linalg.solve(v, y))
        lever = everywhere - gain @ x
        mean = everywhere @ beta + gain @ (y - x @ beta)
        return mean, own + variance - gain @ cross.T + lever @ np.linalg.solve(information, lever.T)
