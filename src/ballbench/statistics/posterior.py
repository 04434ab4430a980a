"""Independent draws of what the balls are, given what the instrument read.

Recipe for T studies of one design, D draws each (methods page "true values"):

1. draw cells (se, m, om) of the grids, then every ball's form SD sf_i from its conditional on the grid;
2. draw the SD between balls sb from its conditional on a grid, the mean integrated out;
3. weigh each draw by what steps 1 and 2 left out (the ball means' own evidence on the noise, axis effects and shared
   errors with several levels) and resample: the result is exact on the grids, and the effective sample size is kept;
4. draw the mean, the balls, and the true diameters d_ij = b_i + R_ij (y_ij - b_i) + N(0, sf_i^2 (1 - R_ij)).

Arrays run (ball, draw), draws last, so that reductions over balls and axes run along memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.statistics import effects
from ballbench.statistics.grids import (
    COARSE,
    FINE,
    Grids,
    GridSize,
    lay_grids,
    log_half_cauchy,
    slack_of,
    within_squares,
)
from ballbench.statistics.study import Floats, Study

__all__ = ["CHUNK", "Draws", "Posterior", "Truths"]

CHUNK = 4096
"""Draws handled at a time: (24 balls x 4096) float64 stay in a core's cache."""
ENOUGH = 0.1
"""Effective share of the draws below which candidates are drawn anew (for one study; of many simulated ones a few
poor ones do no harm)."""
MORE = 8
"""How many times more candidates are then drawn."""

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Draws:
    """Draws of everything above the diameters, N = T * D in all, study by study.

    Parameters
    ----------
    study : (N,) int array
        Which study.
    se, m, om, sb : (N,) float arrays
        Repeatability, location and spread of log sf, SD between balls.
    form : (n, N) uint8 array
        Index of each ball's sf on the grid.
    effective : float
        Effective sample size of the weights over the number of draws, smallest over the studies; 1 is perfect.
    """

    study: Ints
    se: Floats
    m: Floats
    om: Floats
    sb: Floats
    form: NDArray[np.uint8]
    effective: float


@dataclass(frozen=True, slots=True)
class Truths:
    """One chunk of draws of the true values.

    Parameters
    ----------
    values : (k, n, M) float array
        True value at every axis, shared errors taken off; what was not read is drawn as well.
    level : (n, M) float array
        True mean of each ball over all directions.
    mean : (M,) float array
        Mean of balls like these (for one ball, that ball).
    sb, se, m, om : (M,) float arrays
        As in `Draws`.
    sf : (n, M) float array
        Form SD of each ball; zeros where form could not be seen.
    axis : (k, M) float array
        Effect of each axis, sum zero; zeros without axis effects.
    shared : (M,) float array
        What was taken off as shared error.
    first : int
        Index of the first draw of the chunk.
    """

    values: Floats
    level: Floats
    mean: Floats
    sb: Floats
    se: Floats
    m: Floats
    om: Floats
    sf: Floats
    axis: Floats
    shared: Floats
    first: int


class Posterior:
    """The posterior of one or several studies, ready to draw from.

    Parameters
    ----------
    study : Study
        The arrays.
    size : GridSize
        How fine the grids are.
    """

    def __init__(self, study: Study, size: GridSize = FINE) -> None:
        self.study, self.size = study, size
        self.effective = 1.0
        with np.errstate(invalid="ignore"):
            self.centre: Floats = np.nanmean(study.means, axis=(1, 2))
        self.y: Floats = study.means - self.centre[:, None, None]
        self.read = study.counts > 0
        self.filled: Floats = np.where(self.read, self.y, 0.0)
        self.estimates = effects.plug_in(study, self.filled)
        self.cleaned: Floats = np.where(self.read, self.filled - self.estimates, np.nan)
        self.general = bool(study.kinds) or (study.axis_effects and not study.equal_counts)
        twice = study.has_form and study.shape[1] > 1
        self.grids: Grids = lay_grids(study, self.cleaned, size=COARSE if twice else size)
        self.slack = slack_of(study, *within_squares(study, self.cleaned))
        self.sb_grid, fellows = self._ball_sd_grid()
        if twice:
            self.grids = lay_grids(study, self.cleaned, fellows, size)

    # ---------------------------------------------------------------- what the balls' means say

    def _ball_sd_grid(self) -> tuple[Floats, tuple[Floats, Floats]]:
        """(T, G) points of sb where its marginal has mass, and the typical mean and SD of the balls' levels, (T,).

        From a coarse pass at the typical within-ball noise.
        """
        study = self.study
        t, n, _ = study.shape
        if n < 2:
            return np.full((t, 1), np.inf), (np.zeros(t), np.full(t, np.inf))
        sf, se = self._typical()
        mean, variance = self._ball_means(np.arange(t), se, np.broadcast_to(sf, (n, t)))
        spread = np.maximum(mean.std(axis=0, ddof=1), 1e-12)
        scale = study.prior_scale
        low, high = min(0.02 * scale, 0.02 * float(spread.max())), max(20.0 * float(spread.max()), 5.0 * scale)
        coarse = np.geomspace(low, high, 96)
        out = np.empty((t, self.size.ball_sd))
        log = np.empty((96, t))
        for g, sb in enumerate(coarse):
            log[g] = _log_level_marginal(mean, variance, np.full(t, sb)) + log_half_cauchy(np.array(sb), scale)
        for s in range(t):
            keep = np.flatnonzero(log[:, s] > log[:, s].max() - 12.0)
            first, last = max(keep[0] - 2, 0), min(keep[-1] + 2, 95)
            out[s] = np.geomspace(coarse[first], coarse[last], self.size.ball_sd)
        mass = np.exp(log - log.max(axis=0))
        typical = np.exp((mass * np.log(coarse)[:, None]).sum(axis=0) / mass.sum(axis=0))
        weight = 1.0 / (typical**2 + variance)
        return out, ((weight * mean).sum(axis=0) / weight.sum(axis=0), typical)

    def _typical(self) -> tuple[Floats, Floats]:
        """Posterior median-like form SD and repeatability of each study, (T,)."""
        grids = self.grids
        t = grids.se.shape[0]
        cells = grids.weight.reshape(t, grids.se.shape[1], -1)
        se = (cells.sum(axis=2) * grids.se).sum(axis=1)
        sf = np.exp(cells.sum(axis=1) @ grids.m) if grids.sf.size > 1 else np.zeros(t)
        return sf, se

    def _column(self, j: int, which: Ints) -> Floats:
        """Centred cell means of axis j for each draw, (n, 1) for one study or (n, N)."""
        column: Floats = self.filled[:, :, j].T
        return column if self.study.shape[0] == 1 else column[:, which]

    def _precisions(self, se: Floats, sf: Floats) -> list[Floats]:
        """Precision of each axis' cell mean about the ball's level, k arrays (n, N); 0 where nothing was read."""
        counts = self.study.counts
        form = sf * sf
        if self.study.equal_counts:
            same = 1.0 / (form + se * se / counts.flat[0])
            return [same] * counts.shape[1]
        noise = se * se
        return [
            np.where(
                counts[:, j, None] > 0,
                1.0 / (form + noise / np.where(counts[:, j] > 0, counts[:, j], 1.0)[:, None]),
                0.0,
            )
            for j in range(counts.shape[1])
        ]

    def _ball_means(
        self, which: Ints, se: Floats, sf: Floats, removed: list[Floats] | None = None
    ) -> tuple[Floats, Floats]:
        """Weighted mean of each ball's axes and its variance about the ball's level, each (n, N).

        `removed` holds fixed and shared effects of each axis to take off; by default the plug-in estimates.
        """
        k = self.study.shape[2]
        if removed is None:
            estimate = self.estimates.transpose(2, 1, 0)
            removed = [estimate[j] if estimate.shape[2] == 1 else estimate[j][:, which] for j in range(k)]
        precisions = self._precisions(se, sf)
        if self.study.equal_counts:
            mean = sum((self._column(j, which) - removed[j] for j in range(k)), np.zeros(1)) / k
            return np.broadcast_to(mean, precisions[0].shape), 1.0 / (k * precisions[0])
        total = np.zeros(precisions[0].shape)
        first = np.zeros(precisions[0].shape)
        for j in range(k):
            total += precisions[j]
            first += precisions[j] * (self._column(j, which) - removed[j])
        return first / total, 1.0 / total

    # ---------------------------------------------------------------- drawing

    def draw(self, rng: np.random.Generator, draws: int) -> Draws:
        """Draw everything above the diameters.

        Parameters
        ----------
        rng : numpy.random.Generator
            Seeded by the caller.
        draws : int
            Draws a study, D.

        Returns
        -------
        Draws
            N = T * D draws in random order within each study.
        """
        candidates = self._candidates(rng, draws)
        at, effective = _resample(candidates[-1], draws, rng)
        if effective < ENOUGH and self.study.shape[0] == 1:
            candidates = self._candidates(rng, MORE * draws)
            at, effective = _resample(candidates[-1], draws, rng)
        self.effective = min(self.effective, effective)
        which, se, shape_at, sb_at, form, _ = candidates
        return Draws(
            which[at], se[at], self.grids.m[shape_at[at]], self.grids.om[shape_at[at]],
            self.sb_grid[which[at], sb_at[at]], form[:, at], effective,
        )  # fmt: skip

    def _candidates(
        self, rng: np.random.Generator, draws: int
    ) -> tuple[Ints, Floats, Ints, Ints, NDArray[np.uint8], Floats]:
        """Propose draws: study, se, place of (m, om), place of sb, places of sf (n, N), log weights (T, draws)."""
        study, grids = self.study, self.grids
        t, n, _ = study.shape
        total = t * draws
        which = np.repeat(np.arange(t), draws)
        cell = _systematic(grids.weight, draws, rng).ravel()
        se_at, shape_at = np.divmod(cell, grids.m.size)
        se = grids.se[which, se_at]
        form = np.zeros((n, total), np.uint8)
        sb_at = np.zeros(total, np.intp)
        log_weight = np.zeros(total)
        for start in range(0, total, CHUNK):
            part = slice(start, min(start + CHUNK, total))
            if grids.sf.size > 1:
                form[:, part] = self._draw_form(which[part], se_at[part], shape_at[part], rng)
            sf = grids.sf[form[:, part]]
            sb_at[part], log_weight[part] = self._draw_ball_sd(
                which[part], se[part], sf, se_at[part], form[:, part], rng
            )
        return which, se, shape_at, sb_at, form, log_weight.reshape(t, draws)

    def _draw_form(self, which: Ints, se_at: Ints, shape_at: Ints, rng: np.random.Generator) -> NDArray[np.uint8]:
        """Draw each ball's form SD, as an index on the grid, from its conditional given the draw's cell."""
        grids = self.grids
        size = grids.sf.size
        key = (which * grids.se.shape[1] + se_at) * grids.m.size + shape_at
        first = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1])))
        row = np.cumsum(np.concatenate(([0], (key[1:] != key[:-1]).astype(np.intp))))
        like = grids.like[which[first], :, se_at[first], :]  # (U, n, F)
        table = np.cumsum(like * grids.given.T[shape_at[first], None, :], axis=2)
        n = table.shape[1]
        flat = table.reshape(-1)
        base = (row[None, :] * n + np.arange(n)[:, None]) * size
        target = rng.random(base.shape) * flat[base + (size - 1)]
        position = np.zeros(base.shape, np.intp)
        step = 1 << (size - 1).bit_length() >> 1
        while step:
            probe = position + step
            inside = probe < size
            take = np.minimum(probe, size) - 1
            position = np.where(inside & (flat[base + take] < target), probe, position)
            step >>= 1
        return position.astype(np.uint8)

    def _draw_ball_sd(
        self, which: Ints, se: Floats, sf: Floats, se_at: Ints, form: NDArray[np.uint8], rng: np.random.Generator
    ) -> tuple[Ints, Floats]:
        """Draw sb, as an index on its grid, and give the log weight that makes the draw exact."""
        study = self.study
        mean, variance = self._ball_means(which, se, sf)
        points = self.sb_grid.shape[1]
        if points == 1:
            return np.zeros(which.size, np.intp), self._correction(which, se, sf, se_at, form, None)
        log = np.empty((points, which.size))
        for g in range(points):
            sb = self.sb_grid[which, g]
            log[g] = _log_level_marginal(mean, variance, sb)
            log[g] += log_half_cauchy(sb, study.prior_scale)
        top = log.max(axis=0)
        np.exp(log - top, out=log)
        np.cumsum(log, axis=0, out=log)
        target = rng.random(which.size) * log[-1]
        at = np.minimum((log < target).sum(axis=0), points - 1)
        log_evidence = top + np.log(log[-1])
        sb = self.sb_grid[which, at]
        return at, log_evidence + self._correction(which, se, sf, se_at, form, sb)

    def _correction(
        self,
        which: Ints,
        se: Floats,
        sf: Floats,
        se_at: Ints,
        form: NDArray[np.uint8],
        sb: Floats | None,
    ) -> Floats:
        """Log of (exact marginal likelihood / what the proposal used), 0 where there is nothing to correct.

        `sb` is None for a single ball, whose level is the mean itself.
        """
        study = self.study
        balls = np.arange(study.shape[1])[:, None]
        tilt = np.zeros(which.size)
        if self.grids.sf.size > 1 and sb is not None:
            tilt = self.grids.tilt[which, balls, se_at, form].sum(axis=0)
        if self.general:
            spread = np.zeros(which.size) if sb is None else sb
            exact = effects.log_marginal(study, self._stack(which), self._stacked(se, sf), spread)
            mean, variance = self._ball_means(which, se, sf)
            proposed = 0.0 if sb is None else _log_level_marginal(mean, variance, sb)
            like = np.log(np.maximum(self.grids.like[which, balls, se_at, form], 1e-300)).sum(axis=0)
            return np.asarray(exact - proposed - like)
        if study.axis_effects:
            precision = 1.0 / (sf * sf + se * se / study.counts.flat[0])
            return effects.axis_correction(study, self.filled, self.estimates, which, precision, self.slack) - tilt
        return -tilt

    def _stack(self, which: Ints) -> Floats:
        """Centred cell means for each draw, (n, k, N) or (n, k, 1)."""
        stacked = self.filled.transpose(1, 2, 0)
        return stacked if stacked.shape[2] == 1 else stacked[:, :, which]

    def _stacked(self, se: Floats, sf: Floats) -> Floats:
        return np.stack(self._precisions(se, sf), axis=1)

    def truths(
        self, draws: Draws, rng: np.random.Generator, shared: Floats | None = None, chunk: int = CHUNK
    ) -> Iterator[Truths]:
        """Draw true values, a chunk at a time.

        Parameters
        ----------
        draws : Draws
            From `draw`.
        rng : numpy.random.Generator
            Seeded by the caller.
        shared : (N,) float array, optional
            Shared error of each draw to take off (reading minus truth); 0 by default.
        chunk : int
            Draws a chunk.

        Yields
        ------
        Truths
            In the order of `draws`.
        """
        total = draws.se.size
        off = np.zeros(total) if shared is None else shared
        for start in range(0, total, chunk):
            part = slice(start, min(start + chunk, total))
            yield self._truths(draws, part, off[part], rng)

    def _truths(self, draws: Draws, part: slice, shared: Floats, rng: np.random.Generator) -> Truths:
        study = self.study
        _, n, k = study.shape
        which, se, sb = draws.study[part], draws.se[part], draws.sb[part]
        sf = self.grids.sf[draws.form[:, part]]
        precisions = self._precisions(se, sf)
        axis, removed, off = effects.draw_effects(study, self.general, self._stack(which), which, precisions, sb, rng)
        mean, variance = self._ball_means(which, se, sf, removed)
        level, grand = _draw_levels(mean, variance, sb, rng)
        shared = shared - off
        values = np.empty((k, n, which.size))
        rng.standard_normal(out=values.reshape(-1))
        keep: Floats | None = None
        for j in range(k):
            value = values[j]
            if keep is None or not study.equal_counts:
                keep = sf * sf * precisions[j]
                spread = sf * np.sqrt(1.0 - keep)
                rest = (1.0 - keep) * level
                np.subtract(rest, shared, out=rest)
            value *= spread
            value += rest
            value += keep * (self._column(j, which) - removed[j])
            if study.axis_effects:
                value += axis[j]
        centre = self.centre[which]
        values += centre
        return Truths(
            values, level + centre - shared, grand + centre - shared, sb, se, draws.m[part], draws.om[part], sf,
            np.stack(axis), shared, part.start,
        )  # fmt: skip

    def sample(self, rng: np.random.Generator, draws: int, shared: Floats | None = None) -> Iterator[Truths]:
        """Draw true values: `draw`, then `truths`."""
        return self.truths(self.draw(rng, draws), rng, shared)


def _log_level_marginal(mean: Floats, variance: Floats, sb: Floats) -> Floats:
    """Log likelihood of sb from the balls' means, their common mean integrated out, up to a constant; (N,).

    mean, variance : (n, N) float arrays; sb : (N,) float array.
    """
    weight = 1.0 / (sb * sb + variance)
    scale = 1.0 / weight[0]
    product = np.zeros(sb.size)
    for start in range(0, weight.shape[0], 32):
        block = np.multiply.reduce(weight[start : start + 32] * scale, axis=0)
        product += np.log(np.maximum(block, 1e-300))
    product -= weight.shape[0] * np.log(scale)
    total = weight.sum(axis=0)
    weight *= mean
    first = weight.sum(axis=0)
    weight *= mean
    second = weight.sum(axis=0)
    return np.asarray(0.5 * (product - np.log(total) - second + first * first / total))


def _draw_levels(mean: Floats, variance: Floats, sb: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draw the balls' levels (n, N) and the mean of balls like these (N,)."""
    n = mean.shape[0]
    if n == 1:
        level = mean + np.sqrt(variance) * rng.standard_normal(mean.shape)
        return level, level[0]
    weight = 1.0 / (sb * sb + variance)
    total = weight.sum(axis=0)
    grand = (weight * mean).sum(axis=0) / total + rng.standard_normal(sb.size) / np.sqrt(total)
    shrink = sb * sb * weight
    level = rng.standard_normal(mean.shape)
    level *= np.sqrt(shrink * variance)
    level += shrink * mean + (1.0 - shrink) * grand
    return level, grand


def _systematic(weight: Floats, draws: int, rng: np.random.Generator) -> Ints:
    """Systematic sample of `draws` columns from each row of weights, ascending; (T, draws)."""
    t = weight.shape[0]
    cumulative = np.cumsum(weight, axis=1)
    cumulative /= cumulative[:, -1:]
    points = (np.arange(draws)[None, :] + rng.random((t, 1))) / draws
    flat = (cumulative + np.arange(t)[:, None]).ravel()
    at = np.searchsorted(flat, (points + np.arange(t)[:, None]).ravel(), side="left").reshape(t, draws)
    return np.asarray(np.minimum(at - np.arange(t)[:, None] * weight.shape[1], weight.shape[1] - 1))


def _resample(log_weight: Floats, draws: int, rng: np.random.Generator) -> tuple[Ints, float]:
    """Resample each study's candidates by weight and shuffle them.

    Returns flat indices, `draws` a study, and the smallest effective sample size over `draws`, 1 at the most.
    """
    t, candidates = log_weight.shape
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    effective = float((weight.sum(axis=1) ** 2 / (weight**2).sum(axis=1) / draws).min())
    at = rng.permuted(_systematic(weight, draws, rng), axis=1)
    return (at + np.arange(t)[:, None] * candidates).ravel(), min(effective, 1.0)
