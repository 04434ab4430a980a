"""Axis effects and shared errors with several levels: the linear part of the model, conditional on its variances.

For one draw of (se, sf, sb) ball i has covariance C_i = diag(1 / p_ij) + sb^2 1 1', with p_ij the precision of the
cell mean. The effects beta = (mu, a_1..a_{k-1}, levels) have prior precision L (0 for fixed effects), so their
posterior is normal with precision A = sum_i X_i' C_i^-1 X_i + L (generalised least squares; Rao, Linear Statistical
Inference, ch. 4, from memory). Only small matrices occur: C_i^-1 = P_i - P_i 1 1' P_i / (1 / sb^2 + sum_j p_ij).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ballbench.statistics.study import Floats, Study

__all__ = ["axis_correction", "draw_effects", "log_marginal", "plug_in"]

Ints = NDArray[np.intp]


def _regressors(study: Study) -> tuple[Floats, Floats]:
    """Columns of the linear part for every cell, (n, k, q), and their prior precisions, (q,): mean, axes, levels."""
    _, n, k = study.shape
    columns = [np.ones((n, k))]
    prior = [0.0]
    if study.axis_effects:
        for j in range(k - 1):
            contrast = np.zeros((n, k))
            contrast[:, j], contrast[:, k - 1] = 1.0, -1.0
            columns.append(contrast)
            prior.append(0.0)
    for kind in study.kinds:
        for level in range(len(kind.keys)):
            columns.append(kind.shares[:, :, level])
            prior.append(1.0 / float(kind.sd[level]) ** 2)
    return np.stack(columns, axis=2), np.array(prior)


def plug_in(study: Study, filled: Floats) -> Floats:
    """Estimate axis effects and levels to take off before the grids are laid, (T, n, k) or (1, n, k) zeros.

    A ridge estimate with the balls free: good enough to propose from; `log_marginal` and `axis_correction` make the
    draws exact afterwards.
    """
    _, n, k = study.shape
    if not study.axis_effects and not study.kinds:
        return np.zeros((1, n, k))
    if study.axis_effects and not study.kinds and study.equal_counts:
        about = filled - filled.mean(axis=2, keepdims=True)
        effect = about.mean(axis=1, keepdims=True)
        for _ in range(3):  # balls of poor form count less
            squares = ((about - effect) ** 2).sum(axis=2, keepdims=True)
            weight = 1.0 / np.maximum(squares + squares.mean(axis=1, keepdims=True), 1e-300)
            effect = (weight * about).sum(axis=1, keepdims=True) / weight.sum(axis=1, keepdims=True)
        return np.broadcast_to(effect, filled.shape).copy()
    read = (study.counts > 0).astype(float)
    columns, prior = _regressors(study)
    spread = max(float(np.sqrt(((filled * read) ** 2).sum() / max(read.sum(), 1.0) / filled.shape[0])), study.noise.sd)
    weight = np.broadcast_to(read[None], filled.shape).transpose(1, 2, 0) / (study.noise.sd**2 + (0.5 * spread) ** 2)
    beta, _, _ = _solve(columns, prior, filled.transpose(1, 2, 0), weight, np.full(filled.shape[0], spread))
    beta[:, 0] = 0.0  # the mean stays in the data
    return np.asarray(np.einsum("nkq,tq->tnk", columns, beta))


def _normal_equations(
    columns: Floats, prior: Floats, y: Floats, precision: Floats, sb: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """A (N, q, q), right side (N, q), y' C^-1 y (N,), log det C (N,).

    For precisions (n, k, N) and data (n, k, N) or (n, k, 1).
    """
    n, k, q = columns.shape
    draws = precision.shape[2]
    flat = precision.reshape(n * k, draws)
    square = (columns.reshape(n * k, q, 1) * columns.reshape(n * k, 1, q)).reshape(n * k, q * q)
    left = (flat.T @ square).reshape(draws, q, q)
    py = precision * y
    right = py.reshape(n * k, draws).T @ columns.reshape(n * k, q)
    quad = (py * y).sum(axis=(0, 1))
    total = precision.sum(axis=1)  # (n, N)
    finite = np.where(np.isinf(sb), 0.0, sb)
    spread = finite * finite  # a single ball: its level is the mean itself
    gain = spread / (1.0 + spread * total)  # 1 / (1 / sb^2 + total)
    moved = np.einsum("nkd,nkq->ndq", precision, columns)
    level = py.sum(axis=1)
    left -= np.einsum("nd,ndq,ndr->dqr", gain, moved, moved)
    right -= np.einsum("nd,ndq,nd->dq", gain, moved, level)
    quad -= (gain * level * level).sum(axis=0)
    log_det = np.log1p(spread * total).sum(axis=0)
    log_det -= np.log(np.where(precision > 0, precision, 1.0)).sum(axis=(0, 1))
    left[:, np.arange(q), np.arange(q)] += prior
    return left, right, quad, log_det


def _solve(columns: Floats, prior: Floats, y: Floats, precision: Floats, sb: Floats) -> tuple[Floats, Floats, Floats]:
    """Posterior mean (N, q), Cholesky factor of the precision (N, q, q), log marginal likelihood (N,)."""
    left, right, quad, log_det = _normal_equations(columns, prior, y, precision, sb)
    factor = np.linalg.cholesky(left)
    half = np.linalg.solve(factor, right[:, :, None])
    beta = np.linalg.solve(factor.transpose(0, 2, 1), half)[:, :, 0]
    log_left = 2.0 * np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(axis=1)
    marginal = -0.5 * (log_det + log_left + quad) + 0.5 * (half[:, :, 0] ** 2).sum(axis=1)
    return np.asarray(beta), np.asarray(factor), np.asarray(marginal)


def log_marginal(study: Study, y: Floats, precision: Floats, sb: Floats) -> Floats:
    """Log likelihood of all cell means with mean, axis effects, levels and balls integrated out; (N,).

    y : (n, k, N or 1), precision : (n, k, N), sb : (N,).
    """
    columns, prior = _regressors(study)
    return _solve(columns, prior, y, precision, sb)[2]


def axis_correction(
    study: Study, filled: Floats, estimates: Floats, which: Ints, precision: Floats, slack: Floats
) -> Floats:
    """Log of the exact axis-effect marginal over the proposal's, equal counts; (N,).

    The proposal took the estimated effects off each ball with a variance `slack` (T,) of their own; exactly, one set of
    effects holds for all balls: weighted means with their own uncertainty.
    """
    _, _, k = study.shape
    residual = filled - filled.mean(axis=2, keepdims=True)  # (T, n, k)
    about = residual - (estimates - estimates.mean(axis=2, keepdims=True))
    total = precision.sum(axis=0)
    logs = np.log(precision).sum(axis=0)

    allowed = 1.0 / (1.0 / precision + slack[which])

    def over_balls(values: Floats, precision: Floats) -> Floats:
        """Precision-weighted sum over balls of values (T, n) for each draw."""
        return np.asarray(
            values[0] @ precision if values.shape[0] == 1 else (values.T[:, which] * precision).sum(axis=0)
        )

    exact = -over_balls((residual**2).sum(axis=2), precision)
    for j in range(k):
        exact = exact + over_balls(residual[:, :, j], precision) ** 2 / total
    proposed = -over_balls((about**2).sum(axis=2), allowed)
    freedom = (k - 1.0) * (logs - np.log(total) - np.log(allowed).sum(axis=0))
    return np.asarray(0.5 * (freedom + exact - proposed))


def draw_effects(
    study: Study,
    general: bool,
    y: Floats,
    which: Ints,
    precisions: list[Floats],
    sb: Floats,
    rng: np.random.Generator,
) -> tuple[list[Floats], list[Floats], Floats]:
    """Draw the effects of each axis and what to take off each axis.

    Returns
    -------
    axis : list of k (M,) float arrays
        True axis effects; zeros without them.
    removed : list of k (n, M) or (M,) float arrays
        Effects to take off the readings of each axis: axis effects and levels.
    off : (M,) float array
        What a draw of the levels puts into the mean; the caller's keyed draws of the shared errors take its place.
    """
    _, _, k = study.shape
    draws = which.size
    zero = np.zeros(draws)
    if general:
        return _draw_general(study, y, np.stack(precisions, axis=1), sb, rng)
    if not study.axis_effects:
        return [zero] * k, [zero] * k, zero
    precision = precisions[0]
    total = precision.sum(axis=0)
    noise = rng.standard_normal((k, draws))
    noise -= noise.mean(axis=0)
    centred = y - y.mean(axis=1, keepdims=True)  # (n, k, N or 1)
    axis = [(precision * centred[:, j]).sum(axis=0) / total + noise[j] / np.sqrt(total) for j in range(k)]
    return axis, axis, zero


def _draw_general(
    study: Study, y: Floats, precision: Floats, sb: Floats, rng: np.random.Generator
) -> tuple[list[Floats], list[Floats], Floats]:
    """Draw axis effects and levels from their joint normal posterior."""
    _, _, k = study.shape
    columns, prior = _regressors(study)
    beta, factor, _ = _solve(columns, prior, y, precision, sb)
    noise = rng.standard_normal(beta.shape)
    beta = beta + np.linalg.solve(factor.transpose(0, 2, 1), noise[:, :, None])[:, :, 0]
    effect = np.einsum("nkq,dq->nkd", columns[:, :, 1:], beta[:, 1:])
    axis = [np.zeros(beta.shape[0]) for _ in range(k)]
    used = 1
    if study.axis_effects:
        axis = [beta[:, 1 + j] for j in range(k - 1)]
        axis.append(-np.sum(axis, axis=0) if k > 1 else np.zeros(beta.shape[0]))
        used = k
    off = np.zeros(beta.shape[0])
    for kind in study.kinds:
        levels = beta[:, used : used + len(kind.keys)]
        weight = 1.0 / kind.sd**2
        off += levels @ (weight / weight.sum())
        used += len(kind.keys)
    return axis, [effect[:, j] for j in range(k)], off
