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
    """One study (T = 1) at P points of its variances.

    Parameters
    ----------
    study : Study
        The readings.
    se, sb : (P,) float arrays
        Repeatability, SD between balls.
    sf : (P, n) float array
        Form SD of each ball.
    """

    study: Study
    se: Floats
    sb: Floats
    sf: Floats

    def _read(self) -> Floats:
        return (self.study.counts > 0).ravel()

    def _fixed(self) -> Floats:
        _, n, k = self.study.shape
        axis = np.tile(np.arange(k), n)
        columns = [np.ones(axis.size)]
        if self.study.axis_effects:
            columns += [(axis == j).astype(float) - (axis == k - 1) for j in range(k - 1)]
        return np.column_stack(columns)

    def _of_truth(self) -> Floats:
        _, n, k = self.study.shape
        ball = np.repeat(np.arange(n), k)
        own = self.sb[:, None, None] ** 2 * (ball[:, None] == ball[None, :])
        return np.asarray(own + (self.sf[:, ball] ** 2)[:, :, None] * np.eye(n * k))

    def _of_readings(self) -> Floats:
        counts = self.study.counts.ravel()
        noise = self.se[:, None] ** 2 / np.where(counts > 0, counts, 1.0)
        total = self._of_truth() + noise[:, :, None] * np.eye(counts.size)
        for kind in self.study.kinds:
            shares = kind.shares.reshape(counts.size, -1)
            total = total + (shares * kind.sd**2) @ shares.T
        return total[:, self._read()][:, :, self._read()]

    def _common(self) -> tuple[float, Floats]:
        """Variance of the precision-weighted mean of the levels, over all kinds, and its covariance with each cell."""
        variance, with_y = 0.0, np.zeros(self.study.counts.size)
        for kind in self.study.kinds:
            own = 1.0 / float((1.0 / kind.sd**2).sum())
            variance += own
            with_y += own * kind.shares.sum(axis=2).ravel()
        return variance, with_y

    def _fit(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Covariance of the readings, X' V^-1 X, generalised least squares estimate, residuals."""
        read = self._read()
        y, x = self.study.means[0].ravel()[read], self._fixed()[read]
        v = self._of_readings()
        solved = np.linalg.solve(v, np.broadcast_to(np.column_stack([x, y]), (v.shape[0], y.size, x.shape[1] + 1)))
        information = x.T @ solved[:, :, :-1]
        beta = np.linalg.solve(information, (x.T @ solved[:, :, -1:]))[:, :, 0]
        return v, information, beta, y - beta @ x.T

    def log_likelihood(self) -> Floats:
        """Log likelihood of the readings with the fixed effects integrated out (restricted likelihood), (P,)."""
        v, information, _, rest = self._fit()
        quad = (rest * np.linalg.solve(v, rest[:, :, None])[:, :, 0]).sum(axis=1)
        return np.asarray(-0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1] + quad))

    def truth(self) -> tuple[Floats, Floats]:
        """Mean (P, n k) and covariance (P, n k, n k) of the true values, with the levels' common part left in."""
        read, everywhere = self._read(), self._fixed()
        v, information, beta, rest = self._fit()
        variance, with_y = self._common()
        own = self._of_truth()
        cross = own[:, :, read] + with_y[read]
        gain = np.linalg.solve(v, cross.transpose(0, 2, 1)).transpose(0, 2, 1)
        lever = everywhere - gain @ everywhere[read]
        mean = beta @ everywhere.T + (gain @ rest[:, :, None])[:, :, 0]
        fixed = lever @ np.linalg.solve(information, lever.transpose(0, 2, 1))
        return mean, np.asarray(own + variance - gain @ cross.transpose(0, 2, 1) + fixed)
