"""Variance components of any repeat study by restricted maximum likelihood.

The likelihood is that of the cells: their means with variance ``s2/n + v_I`` each, people and parts across them, and
the sum of squares inside them. A variance is kept at 0 or above; one that wants to be below stays at 0 and is said.
Patterson and Thompson (1971), Biometrika 58; Searle, Casella and McCulloch (1992), Variance Components, 6.6 (from
memory; checked against another library in the tests).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, optimize

from ballbench.errors import NotConverged
from ballbench.statistics.repeat_readings import RepeatCells

__all__ = ["RemlFit", "reml"]

Array = NDArray[np.float64]
NAMES = ("repeatability", "interaction", "person", "ball")
AT_ZERO = 1e-6
"""Share of the noise's variance under which a component counts as 0."""
LEAST = 1e-8
"""Least variance of the noise in the fit, as a share of all readings' variance: keeps the arithmetic exact enough."""
MOST = 1e3
"""Largest variance that is tried, as a multiple of the same."""
NEEDED = 1e-3
"""Largest gradient left over, of minus twice the log likelihood, a relative change of one component at a time."""


@dataclass(frozen=True, slots=True)
class RemlFit:
    """Variances at the top of the restricted likelihood.

    Parameters
    ----------
    repeatability, interaction, person, ball : float
        Variances in the squared unit of the readings; that of repeatability is `LEAST` of the whole or more. NaN where
        the design says nothing about one.
    at_zero : tuple of str
        Those of the four that ended at 0.
    covariance : (4, 4) float array
        Of the variances in that order, by the expected information; 0 for those at 0, NaN for those not in the model.
    deviance : float
        Minus twice the log of the restricted likelihood, constants of the readings left out.
    """

    repeatability: float
    interaction: float
    person: float
    ball: float
    at_zero: tuple[str, ...]
    covariance: Array
    deviance: float


def reml(cells: RepeatCells, start: tuple[float, float, float, float], *, interaction: bool = True) -> RemlFit:
    """Fit the variances of noise, interaction, people and balls.

    Parameters
    ----------
    cells : RepeatCells
        What was read, balanced or not.
    start : tuple of float
        Where to begin: the four variances; NaN or negative ones count as small.
    interaction : bool
        Whether it is in the model; it is not where no cell was read twice.

    Returns
    -------
    RemlFit
        Also where some variances are 0.

    Raises
    ------
    NotConverged
        The gradient did not vanish.
    """
    inside = (
        True,
        interaction and cells.interaction_dof > 0 and cells.within_dof > 0,
        cells.person_dof > 0,
        cells.part_dof > 0,
    )
    kept = np.flatnonzero(inside)
    unit = float(np.sum(cells.counts * cells.means**2) + cells.within_ss) / (cells.total - 1)
    if unit == 0.0:
        nothing = [0.0 if there else math.nan for there in inside]
        names = tuple(name for name, there in zip(NAMES, inside, strict=True) if there)
        return RemlFit(nothing[0], nothing[1], nothing[2], nothing[3], names, np.full((4, 4), math.nan), -math.inf)
    model = _Model(cells, kept, unit)
    least = max(start[0] / unit, LEAST)
    first = np.log([max(np.nan_to_num(start[k]) / unit, 0.1 * least) for k in kept])
    options = {"maxiter": 500, "ftol": 1e-14, "gtol": 1e-8}
    first = np.clip(first, math.log(LEAST) - 18.0, math.log(MOST))
    first[0] = max(first[0], math.log(LEAST))
    bounds = [(math.log(LEAST), math.log(MOST)), *[(first[0] - 18.0, math.log(MOST))] * (kept.size - 1)]
    found = optimize.minimize(model.log_deviance, first, jac=True, method="L-BFGS-B", bounds=bounds, options=options).x
    found = _polished(model, np.exp(found))
    zero = found < AT_ZERO * found[0]
    covariance = np.full((4, 4), math.nan)
    covariance[np.ix_(kept, kept)] = 0.0
    covariance[np.ix_(kept[~zero], kept[~zero])] = np.linalg.inv(model.information(found)[np.ix_(~zero, ~zero)])
    values = np.full(4, math.nan)
    values[kept] = np.where(zero, 0.0, found) * unit
    repeatability, spread, person, ball = map(float, values)
    at_zero = tuple(NAMES[k] for k in kept[zero])
    deviance = float(model.deviance(found)[0]) + (cells.total - 1) * math.log(unit)
    return RemlFit(repeatability, spread, person, ball, at_zero, covariance * unit**2, deviance)


class _Model:
    """Restricted likelihood of the variances in `kept`, in units of `unit`."""

    def __init__(self, cells: RepeatCells, kept: NDArray[np.int64], unit: float) -> None:
        same = (
            np.diag(1.0 / cells.counts),
            np.eye(cells.means.size),
            (cells.people[:, None] == cells.people).astype(np.float64),
            (cells.parts[:, None] == cells.parts).astype(np.float64),
        )
        self.parts = np.array([same[k] for k in kept])
        self.means = cells.means / math.sqrt(unit)
        self.within_ss, self.within_dof = cells.within_ss / unit, cells.within_dof

    def _projected(self, values: Array) -> tuple[Array, float]:
        """Inverse covariance of cell means with the mean taken out, and the log determinants."""
        covariance = np.tensordot(values, self.parts, axes=1)
        factor = linalg.cho_factor(covariance, lower=True)
        inverse = linalg.cho_solve(factor, np.eye(self.means.size))
        column = inverse.sum(axis=1)
        weight = float(column.sum())
        logs = 2.0 * float(np.sum(np.log(np.diag(factor[0])))) + math.log(weight)
        return inverse - np.outer(column, column) / weight, logs

    def deviance(self, values: Array) -> tuple[float, Array]:
        """Minus twice the log likelihood, and its gradient."""
        inverse, logs = self._projected(values)
        scores = inverse @ self.means
        gradient = np.einsum("ij,kji->k", inverse, self.parts) - np.einsum("i,kij,j->k", scores, self.parts, scores)
        gradient[0] += self.within_dof / values[0] - self.within_ss / values[0] ** 2
        whole = logs + float(self.means @ scores) + self.within_dof * math.log(values[0]) + self.within_ss / values[0]
        return whole, gradient

    def log_deviance(self, logs: Array) -> tuple[float, Array]:
        """Give the same as a function of log variances."""
        values = np.exp(logs)
        whole, gradient = self.deviance(values)
        return whole, gradient * values

    def information(self, values: Array) -> Array:
        """Expected information of the variances."""
        products = self._projected(values)[0] @ self.parts
        found: Array = 0.5 * np.einsum("aij,bji->ab", products, products)
        found[0, 0] += 0.5 * self.within_dof / values[0] ** 2
        return found


def _polished(model: _Model, values: Array) -> Array:
    """Go on from a rough optimum by scoring steps of the variances above 0, until the gradient is gone."""
    values = np.where(values < AT_ZERO * values[0], 0.0, values)
    value, gradient = model.deviance(values)
    left = math.inf
    for _ in range(100):
        free = (values > np.array([LEAST * (1.0 + 1e-6), *[0.0] * (values.size - 1)])) | (gradient < 0.0)
        left = float(np.max(np.abs(gradient[free] * np.maximum(values[free], AT_ZERO * values[0])), initial=0.0))
        if left < NEEDED * 1e-6:
            break
        step = np.zeros_like(values)
        step[free] = np.linalg.solve(model.information(values)[np.ix_(free, free)], -0.5 * gradient[free])
        for halving in range(40):
            trial = np.maximum(values + step * 0.5**halving, 0.0)
            trial[0] = max(trial[0], 0.1 * values[0], LEAST)
            new, slope = model.deviance(trial)
            if new <= value + 1e-8 * (1.0 + abs(value)):
                break
        else:
            break
        values, value, gradient = trial, new, slope
    if left > NEEDED:
        raise NotConverged("the fit of the variances of the repeat study", left, NEEDED)
    return values
