"""The model's nuisance parameters laid out on grids, so that draws from it are exact and independent.

Grids run over the repeatability se, a ball's form SD sf, and the two parameters (m, om) of the log-normal
distribution that the form SDs of the balls share. Given (se, m, om) the balls are independent, and so the marginal
likelihood of a cell is a product over balls of a sum over sf: one matrix product for all cells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from ballbench.statistics.study import Floats, Study

__all__ = [
    "COARSE",
    "FINE",
    "FORM_SPREAD_SCALE",
    "GridSize",
    "Grids",
    "lay_grids",
    "log_half_cauchy",
    "noise_points",
    "slack_of",
    "within_squares",
]

FORM_SPREAD_SCALE = 0.7
"""Scale of the half-normal prior on om, the SD of the log of the form SDs: balls of one make differ in form by a
factor of about two (own choice; the results at other scales of the main prior are reported)."""


@dataclass(frozen=True, slots=True)
class GridSize:
    """How fine the grids are: points of se, om and sb, smallest and largest spacing of log sf."""

    noise: int
    spread: int
    ball_sd: int
    finest: float
    widest: float


FINE = GridSize(noise=12, spread=6, ball_sd=16, finest=0.04, widest=0.15)
"""For judging."""
COARSE = GridSize(noise=5, spread=4, ball_sd=12, finest=0.25, widest=0.25)
"""For simulating many studies, and for data that can say less."""


@dataclass(frozen=True, slots=True)
class Grids:
    """Grids and likelihoods of T studies with one design.

    Parameters
    ----------
    se : (T, E) float array
        Repeatability, equally probable points of its scaled inverse chi distribution.
    sf : (F,) float array
        Form SD of a ball; a single 0 where form cannot be seen.
    m, om : (C,) float arrays
        Location and spread of log sf for every pair of the two.
    like : (T, n, E, F) float array
        Likelihood of a ball's within-ball differences, each ball scaled to a maximum of 1.
    given : (F, C) float array
        Probability of each sf given (m, om); columns sum to 1.
    weight : (T, E * C) float array
        Posterior probability of each cell (se, m, om); rows sum to 1.
    tilt : (T, n, E, F) float array
        Log of what `like` holds beyond the within-ball differences: how well the ball's mean fits its fellows. It
        only makes the proposal better; the draws' weights take it out again.
    """

    se: Floats
    sf: Floats
    m: Floats
    om: Floats
    like: Floats
    given: Floats
    weight: Floats
    tilt: Floats


def log_half_cauchy(x: Floats, scale: float) -> Floats:
    """Log density of a half-Cauchy distribution in log x, up to a constant: x / (1 + (x / scale)^2) / scale.

    x : float array of any shape, positive, unit of `scale`; the same shape comes back.
    """
    return np.asarray(np.log(x / scale) - np.log1p((x / scale) ** 2), dtype=np.float64)


def noise_points(study: Study, points: int) -> Floats:
    """Give equally probable values of the repeatability of each study, repeats included.

    The bench's SD with its dof and the pooled repeats are both scaled chi-square evidence on one variance, so they
    add: dof' = dof + nu, s'^2 = (dof s^2 + SSE) / dof'.

    Returns
    -------
    (T, points) float array
        Unit of the readings, descending.
    """
    dof = study.noise.dof + study.sse_dof
    pooled = (study.noise.dof * study.noise.sd**2 + study.sse) / dof
    quantiles = (np.arange(points) + 0.5) / points
    return np.asarray(np.sqrt(dof * pooled[:, None] / stats.chi2.ppf(quantiles, dof)[None, :]))


SLACK = 0.3
"""Share of the variance of the estimated axis effects that a proposal allows for: of 0, 0.1, 0.3 and 1 the one with the
best worst case of the effective sample size over simulated studies."""


def slack_of(study: Study, within: Floats, dof: Floats) -> Floats:
    """Variance of the axis effects that were taken off as if they were known, (T,); 0 without axis effects.

    Each ball's proposal allows for it; else a round ball a little off the estimated effects would count as impossible.
    """
    if not study.axis_effects:
        return np.zeros(within.shape[0])
    return np.asarray(SLACK * np.median(within / dof, axis=1) / within.shape[1])


def _form_grid(study: Study, se: Floats, within: Floats, dof: Floats, size: GridSize) -> Floats:
    """Log-spaced form SDs from far below the noise to well above the roundest excuse for the worst ball."""
    if not study.has_form:
        return np.zeros(1)
    read = dof > 0
    worst = float(np.sqrt((within[:, read] / dof[read]).max()))
    low = 0.1 * float(np.median(se))
    high = 4.0 * max(worst, 2.0 * float(np.median(se)))
    spacing = float(np.clip(1.0 / np.sqrt(dof.sum()), size.finest, size.widest))
    count = int(np.clip(np.ceil(np.log(high / low) / spacing), 12, 128))
    return np.geomspace(low, high, count)


def within_squares(study: Study, centred: Floats) -> tuple[Floats, Floats]:
    """Sum of squares of a ball's cell means about their plain mean, (T, n), and its degrees of freedom, (n,)."""
    read = study.counts > 0
    number = read.sum(axis=1)
    filled = np.where(read, centred, 0.0)
    mean = filled.sum(axis=2) / number
    squares = (np.where(read, centred - mean[:, :, None], 0.0) ** 2).sum(axis=2)
    return squares, (number - 1.0)


def _log_likelihood(
    study: Study, centred: Floats, se: Floats, sf: Floats, slack: Floats
) -> tuple[Floats, Floats, Floats]:
    """Log likelihood of the within-ball differences, the ball's level integrated out, its mean and variance.

    Each (T, n, E, F) or broadcastable to it.
    """
    _, n, k = study.shape
    counts = study.counts[:1] if study.equal_counts else study.counts
    rows = counts.shape[0]
    variance = sf[None, None, None, :] ** 2  # (1, 1, 1, F)
    total = np.zeros((1, rows, 1, 1))
    first = np.zeros((1, n, 1, 1))
    second = np.zeros((1, n, 1, 1))
    logs = np.zeros((1, rows, 1, 1))
    for j in range(k):
        read = counts[:, j] > 0
        noise = se[:, None, :, None] ** 2 / np.where(read, counts[:, j], 1.0)[None, :, None, None]
        noise = noise + slack[:, None, None, None]
        precision = np.where(read[None, :, None, None], 1.0 / (variance + noise), 0.0)
        logs = logs + np.where(read[None, :, None, None], np.log(np.where(precision > 0, precision, 1.0)), 0.0)
        y = np.where(study.counts[:, j] > 0, np.nan_to_num(centred[:, :, j]), 0.0)[:, :, None, None]
        weighted = precision * y
        total, first, second = total + precision, first + weighted, second + weighted * y
    log_like = 0.5 * (logs - np.log(total)) - 0.5 * (second - first**2 / total)
    return np.asarray(log_like), first / total, 1.0 / total


def _shape_cells(study: Study, sf: Floats, points: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Cells (m, om), p(sf | m, om) on the grid, and the log prior of each cell."""
    if sf.size == 1:
        return np.zeros(1), np.zeros(1), np.ones((1, 1)), np.zeros(1)
    spreads = FORM_SPREAD_SCALE * stats.halfnorm.ppf((np.arange(points) + 0.5) / points)
    m, om = (a.ravel() for a in np.meshgrid(np.log(sf), spreads, indexing="ij"))
    given = np.exp(-0.5 * ((np.log(sf)[:, None] - m[None, :]) / om[None, :]) ** 2)
    return m, om, given / given.sum(axis=0), log_half_cauchy(np.exp(m), study.prior_scale)


def lay_grids(
    study: Study, centred: Floats, fellows: tuple[Floats, Floats] | None = None, size: GridSize = FINE
) -> Grids:
    """Lay the grids of a study and weigh their cells.

    Parameters
    ----------
    study : Study
        The arrays.
    centred : (T, n, k) float array
        Cell means less whatever fixed effects were taken out, NaN where nothing was read.
    fellows : pair of (T,) float arrays, optional
        A guess at the mean and SD of the balls' levels; makes `Grids.tilt`, which is 0 without it.
    size : GridSize
        How fine the grids are.

    Returns
    -------
    Grids
        No NaN.
    """
    t, n, _ = study.shape
    se = noise_points(study, size.noise)
    within, dof = within_squares(study, centred)
    sf = _form_grid(study, se, within, dof, size)
    m, om, given, log_prior = _shape_cells(study, sf, size.spread)
    log_like, mean, variance = _log_likelihood(study, centred, se, sf, slack_of(study, within, dof))
    shape = (t, n, se.shape[1], sf.size)
    tilt = np.zeros((1, 1, 1, 1))
    if fellows is not None and sf.size > 1:
        level, spread = (a[:, None, None, None] for a in fellows)
        total = spread**2 + variance
        tilt = -0.5 * (np.log(total) + (mean - level) ** 2 / total)
        log_like = log_like + tilt
    top = log_like.max(axis=(2, 3), keepdims=True)
    like = np.broadcast_to(np.exp(log_like - top), shape)
    marginal = np.log(np.maximum(like.reshape(-1, sf.size) @ given, 1e-300)).reshape(t, n, se.shape[1], m.size)
    log_weight = (marginal.sum(axis=1) + log_prior).reshape(t, -1)
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    return Grids(se, sf, m, om, like, given, weight / weight.sum(axis=1, keepdims=True), np.broadcast_to(tilt, shape))
