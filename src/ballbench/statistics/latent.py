"""Readings that are known only to lie in an interval: coarse displays, and extremes found by turning the ball.

A display with step r shows y when the unrounded reading x lies in (y - r/2, y + r/2), or in [y, y + r) when it
truncates. A "largest found" is the largest of many looks; the others are hidden, but lie below it. Both are latent
readings x with bounds, so one sampler serves: it alternates between the latent readings given the balls (truncated
normals, the true diameter integrated out) and the model of `study` given the readings. Many chains run side by side
from scattered starts; convergence is measured (split R-hat; Gelman and Rubin 1992, from memory) and reported.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from ballbench.errors import NotConverged
from ballbench.statistics.grids import COARSE, Grids, lay_grids, log_half_cauchy
from ballbench.statistics.posterior import CHUNK, Truths
from ballbench.statistics.study import Floats, Study

__all__ = ["Bounds", "Latent", "largest_rhat", "needs_bounds"]

CHAINS = 128
BURN_INS = (150, 300, 600, 1200)
"""Steps of the first burn-in, and of those after it while the chains do not agree."""
THIN = 2
STRETCHES = 3
LARGEST_RHAT = 1.1
BALL_SD_POINTS = 40


@dataclass(frozen=True, slots=True)
class Bounds:
    """What is known of each latent reading.

    Parameters
    ----------
    low, high : (n, k, r) float arrays
        Bounds of reading r of ball i at axis j; equal where the reading is taken as exact; NaN where there is none.
    largest, smallest : int or None
        Axis that holds the largest and the smallest of all looks.
    hidden : tuple of int
        Axes that stand for looks that were not written down; their bounds are the two above.
    """

    low: Floats
    high: Floats
    largest: int | None = None
    smallest: int | None = None
    hidden: tuple[int, ...] = ()


def needs_bounds(study: Study, step: float) -> bool:
    """Say whether the display is too coarse for readings to pass as continuous.

    True when the spread within balls or the repeatability is under half a step, or when over half of the balls show
    the same number at all axes (methods page "true values").
    """
    if study.noise.sd < 0.5 * step:
        return True
    read = study.counts > 0
    several = read.sum(axis=1) > 1
    if not several.any():
        return False
    y = np.where(read, study.means[0], np.nan)[several]
    spread = np.nanmax(y, axis=1) - np.nanmin(y, axis=1)
    squares = float(np.nansum((y - np.nanmean(y, axis=1, keepdims=True)) ** 2))
    dof = float((read[several].sum(axis=1) - 1).sum())
    return bool(np.sqrt(squares / dof) < 0.5 * step or np.mean(spread < 0.25 * step) > 0.5)


class Latent:
    """Chains over latent readings and the model; gives the same `Truths` as `posterior.Posterior`.

    Parameters
    ----------
    study : Study
        One study; its means serve as the starting point. `noise.sd` is the SD of *unrounded* readings.
    bounds : Bounds
        Of every reading.
    rng : numpy.random.Generator
        Seeded by the caller; the chains start here.

    Raises
    ------
    NotConverged
        The chains do not agree after fifteen times the usual burn-in.
    """

    def __init__(self, study: Study, bounds: Bounds, rng: np.random.Generator) -> None:
        self.study, self.bounds = study, bounds
        _, self.n, self.k = study.shape
        self.centre = float(np.nanmean(study.means))
        start = np.where(study.counts > 0, np.nan_to_num(study.means[0]) - self.centre, np.nan)
        self.grids: Grids = lay_grids(study, start[None], size=COARSE)
        self.low = (bounds.low - self.centre)[..., None]
        self.high = (bounds.high - self.centre)[..., None]
        self.present = ~np.isnan(bounds.low)
        self.exact = self.present & (bounds.high <= bounds.low)
        self.counts = self.present.sum(axis=2)
        self.repeats = bool((self.counts > 1).any())
        self.log_given = np.log(np.maximum(self.grids.given, 1e-300))
        self._start(start, rng)
        self.rhat = np.inf
        self.effective = 1.0
        for length in BURN_INS:
            self._burn(rng, length)
            if self.rhat < LARGEST_RHAT:
                break
        else:
            raise NotConverged("the sampler for coarse or extreme readings", self.rhat, LARGEST_RHAT)

    # ---------------------------------------------------------------- state

    def _start(self, start: Floats, rng: np.random.Generator) -> None:
        """Scatter the chains: latent readings anywhere in their bounds, form and noise anywhere on their grids."""
        grids, shape = self.grids, (self.n, self.k, self.present.shape[2], CHAINS)
        level = np.nanmean(start, axis=1)
        spread = float(np.nanstd(start)) + self.study.noise.sd
        low = np.where(np.isfinite(self.low), self.low, level[:, None, None, None] - 2 * spread)
        high = np.where(np.isfinite(self.high), self.high, level[:, None, None, None] + 2 * spread)
        self.x = np.where(self.present[..., None], low + (high - low) * rng.random(shape), 0.0)
        self.sf_at = rng.integers(0, grids.sf.size, (self.n, CHAINS))
        self.sf = grids.sf[self.sf_at]
        self.shape_at = rng.integers(0, grids.m.size, CHAINS)
        self.se = rng.choice(grids.se[0], CHAINS)
        self.axis = np.zeros((self.k, CHAINS))
        sd = float(np.std(level)) if self.n > 1 else 0.0
        scale = self.study.prior_scale
        self.sb_grid = np.geomspace(0.02 * min(scale, max(sd, 0.1 * scale)), 10 * max(sd, scale), BALL_SD_POINTS)
        self.sb = rng.choice(self.sb_grid, CHAINS) if self.n > 1 else np.full(CHAINS, np.inf)
        self.grand = np.full(CHAINS, float(level.mean())) + sd * rng.standard_normal(CHAINS)
        self.b = level[:, None] + sd * rng.standard_normal((self.n, CHAINS))

    def _burn(self, rng: np.random.Generator, length: int) -> None:
        """Run a burn-in, and measure agreement over as many steps again as half of it."""
        for _ in range(length // 2):
            self._step(rng)
        trace = np.empty((length, 3, CHAINS))
        for i in range(length):
            self._step(rng)
            trace[i, 0] = self.b.mean(axis=0)
            trace[i, 1] = np.log(self.b.std(axis=0) + 1e-300) if self.n > 1 else self.b[0]
            trace[i, 2] = np.log(np.maximum(self.sf, 1e-300)).mean(axis=0)
        self.rhat = largest_rhat(trace)

    # ---------------------------------------------------------------- one step of all chains

    def _step(self, rng: np.random.Generator) -> None:
        """Update everything once."""
        self._draw_latent(rng)
        if not self.exact.any():
            self._slide(rng)
            if self.grids.sf.size > 1 and not self.repeats:
                for _ in range(STRETCHES):
                    self._stretch(rng)
        mean, squares = self._cells()
        self._draw_axis(mean, rng)
        self._draw_balls(mean - self.axis, rng)
        residual = (mean - self.axis - self.b[:, None, :]) ** 2
        if self.grids.sf.size > 1:
            self._draw_form(residual, rng)
        self._draw_noise(residual, squares, rng)

    def _draw_latent(self, rng: np.random.Generator) -> None:
        """Draw the latent readings inside their bounds, given the balls."""
        centre = (self.b[:, None, :] + self.axis)[:, :, None, :]
        sd = np.sqrt(self.sf**2 + self.se**2)[:, None, None, :]
        if self.repeats:
            centre, sd = self._true_cells(rng)[:, :, None, :], self.se
        low, high = np.broadcast_to(self.low, self.x.shape).copy(), np.broadcast_to(self.high, self.x.shape).copy()
        bounds = self.bounds
        if bounds.largest is not None or bounds.smallest is not None:
            self._bound_looks(low, high)
        drawn = _truncated(np.broadcast_to(centre, self.x.shape), np.broadcast_to(sd, self.x.shape), low, high, rng)
        free = self.present & ~self.exact
        self.x = np.where(free[..., None], drawn, np.where(self.present[..., None], self.low, 0.0))

    def _slide(self, rng: np.random.Generator) -> None:
        """Move each ball with all its latent readings, then all balls together, as far as the bounds let them.

        Readings shown alike let everything slide within a step; ordinary updates would creep. Given the differences
        between readings and ball, a ball's level is a truncated normal, and the level of all balls is uniform.
        """
        free = self.present[..., None]
        low, high = np.broadcast_to(self.low, self.x.shape), np.broadcast_to(self.high, self.x.shape)
        down = np.where(free, low - self.x, -np.inf).max(axis=(1, 2))
        up = np.where(free, high - self.x, np.inf).min(axis=(1, 2))
        if self.n > 1:
            level = _truncated(
                np.broadcast_to(self.grand, self.b.shape), np.broadcast_to(self.sb, self.b.shape),
                self.b + down, self.b + up, rng,
            )  # fmt: skip
            step = level - self.b
            self.b, down, up = level, down - step, up - step
            self.x = self.x + np.where(free, step[:, None, None, :], 0.0)
        lowest, highest = down.max(axis=0), up.min(axis=0)
        step = lowest + (highest - lowest) * rng.random(lowest.size)
        self.b, self.grand = self.b + step, self.grand + step
        self.x = self.x + np.where(free, step, 0.0)

    def _stretch(self, rng: np.random.Generator) -> None:
        """Offer every chain one common change of all form SDs, the readings stretched about their balls with it.

        The readings in units of their spread, z = (x - b) / w, stay as they are, so that density and Jacobian cancel
        (a move in the ancillary parametrisation; Yu and Meng 2011, from memory): what is left to accept by is the
        prior of m, and whether all readings stay in their bounds.
        """
        size, spreads = self.grids.sf.size, self.grids.m.size // self.grids.sf.size
        shift = rng.integers(1, 7, CHAINS) * rng.choice((-1, 1), CHAINS)
        form = self.sf_at + shift
        place = self.shape_at // spreads + shift
        inside = (form >= 0).all(axis=0) & (form < size).all(axis=0) & (place >= 0) & (place < size)
        form = np.where(inside, form, self.sf_at)
        shape = np.where(inside, self.shape_at + shift * spreads, self.shape_at)
        sf = self.grids.sf[form]
        times = np.sqrt((sf**2 + self.se**2) / (self.sf**2 + self.se**2))[:, None, None, :]
        level = (self.b[:, None, :] + self.axis)[:, :, None, :]
        x = np.where(self.present[..., None], level + times * (self.x - level), 0.0)
        held = np.where(self.present[..., None], (x > self.low) & (x < self.high), True).all(axis=(0, 1, 2))
        prior = log_half_cauchy(np.exp(self.grids.m), self.study.prior_scale)
        log = prior[shape] - prior[self.shape_at]
        chains, balls = np.arange(CHAINS)[None, :], self.log_given
        log = log + (balls[form, shape[chains]] - balls[self.sf_at, self.shape_at[chains]]).sum(axis=0)
        accept = inside & held & (np.log(rng.random(CHAINS)) < log)
        self.sf_at, self.sf = np.where(accept, form, self.sf_at), np.where(accept, sf, self.sf)
        self.shape_at = np.where(accept, shape, self.shape_at)
        self.x = np.where(accept, x, self.x)

    def _bound_looks(self, low: Floats, high: Floats) -> None:
        """The written extremes bound the hidden looks, and the hidden looks bound the extremes."""
        bounds = self.bounds
        seen = [*bounds.hidden]
        top = self.x[:, bounds.largest] if bounds.largest is not None else None
        bottom = self.x[:, bounds.smallest] if bounds.smallest is not None else None
        for j in seen:
            high[:, j] = np.inf if top is None else top
            low[:, j] = -np.inf if bottom is None else bottom
        if seen and bounds.largest is not None:
            low[:, bounds.largest] = np.maximum(low[:, bounds.largest], self.x[:, seen].max(axis=1))
        if seen and bounds.smallest is not None:
            high[:, bounds.smallest] = np.minimum(high[:, bounds.smallest], self.x[:, seen].min(axis=1))

    def _cells(self) -> tuple[Floats, Floats]:
        """Mean of the latent readings of each cell, (n, k, C), and their pooled squares about it, (C,)."""
        count = np.maximum(self.counts, 1)[..., None]
        mean = self.x.sum(axis=2) / count
        about = np.where(self.present[..., None], self.x - mean[:, :, None, :], 0.0)
        return mean, (about**2).sum(axis=(0, 1, 2))

    def _precision(self) -> Floats:
        """Precision of each cell mean about ball plus axis effect, (n, k, C); 0 where nothing was read."""
        noise = self.se**2 / np.maximum(self.counts, 1)[..., None]
        return np.where(self.counts[..., None] > 0, 1.0 / ((self.sf**2)[:, None, :] + noise), 0.0)

    def _true_cells(self, rng: np.random.Generator) -> Floats:
        """Draw the true value of every cell given its mean, (n, k, C)."""
        mean, _ = self._cells()
        keep = (self.sf**2)[:, None, :] * self._precision()
        level = self.b[:, None, :] + self.axis
        spread = self.sf[:, None, :] * np.sqrt(np.maximum(1.0 - keep, 0.0))
        return np.asarray(level + keep * (mean - level) + spread * rng.standard_normal(mean.shape))

    def _draw_axis(self, mean: Floats, rng: np.random.Generator) -> None:
        """Draw the axis effects, sum zero."""
        if not self.study.axis_effects:
            return
        precision = self._precision()
        total = precision.sum(axis=0)
        effect = (precision * (mean - self.b[:, None, :])).sum(axis=0) / total
        effect += rng.standard_normal(effect.shape) / np.sqrt(total)
        variance = 1.0 / total
        self.axis = effect - effect.sum(axis=0) * variance / variance.sum(axis=0)

    def _draw_balls(self, mean: Floats, rng: np.random.Generator) -> None:
        """Draw the SD between balls, the mean and the balls, together, given the cell means."""
        precision = self._precision()
        total = precision.sum(axis=1)
        ball, variance = (precision * mean).sum(axis=1) / total, 1.0 / total
        if self.n == 1:
            self.b = ball + np.sqrt(variance) * rng.standard_normal(ball.shape)
            self.grand = self.b[0]
            return
        weight = 1.0 / (self.sb_grid[:, None, None] ** 2 + variance)  # (G, n, C)
        sums = weight.sum(axis=1)
        first, second = (weight * ball).sum(axis=1), (weight * ball**2).sum(axis=1)
        log = 0.5 * (np.log(weight).sum(axis=1) - np.log(sums) - second + first**2 / sums)
        log += log_half_cauchy(self.sb_grid, self.study.prior_scale)[:, None]
        at = _pick(log, rng)
        self.sb = self.sb_grid[at]
        chain = np.arange(CHAINS)
        self.grand = first[at, chain] / sums[at, chain] + rng.standard_normal(CHAINS) / np.sqrt(sums[at, chain])
        shrink = self.sb**2 * weight[at, :, chain].T
        self.b = shrink * ball + (1 - shrink) * self.grand
        self.b += np.sqrt(shrink * variance) * rng.standard_normal(ball.shape)

    def _draw_form(self, residual: Floats, rng: np.random.Generator) -> None:
        """Draw (m, om) with the balls' form SDs summed out, then each ball's form SD."""
        sf2 = self.grids.sf[:, None, None] ** 2
        log = np.zeros((self.grids.sf.size, self.n, CHAINS))
        if self.study.equal_counts:
            variance = sf2 + self.se**2 / float(self.counts.flat[0])
            log -= 0.5 * (self.k * np.log(variance) + residual.sum(axis=1) / variance)
        else:
            for j in range(self.k):
                variance = sf2 + self.se**2 / np.maximum(self.counts[:, j], 1)[:, None]
                part = np.log(variance) + residual[:, j] / variance
                log -= 0.5 * np.where(self.counts[:, j, None] > 0, part, 0.0)
        like = np.exp(log - log.max(axis=0)).reshape(self.grids.sf.size, -1)
        marginal = np.log(np.maximum(self.grids.given.T @ like, 1e-300)).reshape(-1, self.n, CHAINS).sum(axis=1)
        prior = log_half_cauchy(np.exp(self.grids.m), self.study.prior_scale)[:, None]
        self.shape_at = _pick(marginal + prior, rng)
        self.sf_at = _pick(log + self.log_given[:, self.shape_at][:, None, :], rng)
        self.sf = self.grids.sf[self.sf_at]

    def _draw_noise(self, residual: Floats, squares: Floats, rng: np.random.Generator) -> None:
        """Draw the repeatability on its grid, true values integrated out."""
        points = self.grids.se[0]
        log = np.zeros((points.size, CHAINS))
        extra = float((np.maximum(self.counts, 1) - 1).sum())
        for g, se in enumerate(points):
            noise = se**2 / np.maximum(self.counts, 1)[..., None]
            variance = (self.sf**2)[:, None, :] + noise
            part = np.where(self.counts[..., None] > 0, np.log(variance) + residual / variance, 0.0)
            log[g] = -0.5 * part.sum(axis=(0, 1)) - extra * np.log(se) - 0.5 * squares / se**2
        self.se = points[_pick(log, rng)]

    # ---------------------------------------------------------------- results

    def sample(self, rng: np.random.Generator, draws: int, shared: Floats | None = None) -> Iterator[Truths]:
        """Go on with the chains and give draws of the true values.

        Parameters
        ----------
        rng : numpy.random.Generator
            Seeded by the caller.
        draws : int
            How many.
        shared : (draws,) float array, optional
            Shared error of each draw, reading minus truth.

        Yields
        ------
        Truths
            Chunks of at most `posterior.CHUNK` draws.
        """
        off = np.zeros(draws) if shared is None else shared
        done = 0
        while done < draws:
            parts = []
            size = 0
            while size < min(CHUNK, draws - done):
                for _ in range(THIN):
                    self._step(rng)
                parts.append(self._keep(rng))
                size += CHAINS
            take = min(size, CHUNK, draws - done)
            yield _join(parts, take, off[done : done + take], done)
            done += take

    def _keep(self, rng: np.random.Generator) -> dict[str, Floats]:
        return {
            "values": self._true_cells(rng).transpose(1, 0, 2) + self.centre,
            "level": self.b + self.centre,
            "mean": self.grand + self.centre,
            "sb": self.sb, "se": self.se, "sf": self.sf,
            "axis": self.axis,
            "m": self.grids.m[self.shape_at], "om": self.grids.om[self.shape_at],
        }  # fmt: skip


def _join(parts: list[dict[str, Floats]], take: int, shared: Floats, first: int) -> Truths:
    """Put kept states side by side, in an order that mixes the chains, and take the shared error off."""
    joined = {name: np.concatenate([part[name] for part in parts], axis=-1)[..., :take] for name in parts[0]}
    for name in ("values", "level", "mean"):
        joined[name] = joined[name] - shared
    return Truths(shared=shared, first=first, **joined)


def _pick(log: Floats, rng: np.random.Generator) -> NDArray[np.intp]:
    """Draw an index along the first axis with probability proportional to exp(log)."""
    mass = np.cumsum(np.exp(log - log.max(axis=0)), axis=0)
    target = rng.random(mass.shape[1:]) * mass[-1]
    return np.asarray(np.minimum((mass < target).sum(axis=0), mass.shape[0] - 1), dtype=np.intp)


def _truncated(centre: Floats, sd: Floats, low: Floats, high: Floats, rng: np.random.Generator) -> Floats:
    """Draw normals truncated to (low, high) by inversion, on the side of the mean where the tail is accurate."""
    a, b = (low - centre) / sd, (high - centre) / sd
    flip = a > 0
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    below, above = special.ndtr(a), special.ndtr(b)
    mass = np.maximum(above - below, 0.0)
    z = special.ndtri(np.clip(below + mass * rng.random(mass.shape), 1e-300, 1.0 - 1e-16))
    middle = np.clip(0.0, a, b)
    z = np.where(mass > 1e-280, np.clip(z, a, b), middle)
    return np.asarray(centre + sd * np.where(flip, -z, z))


def largest_rhat(trace: Floats) -> float:
    """Largest split R-hat over the quantities of a trace of shape (steps, quantities, chains)."""
    steps = trace.shape[0] // 2
    halves = np.concatenate([trace[:steps], trace[steps : 2 * steps]], axis=2)
    means, variances = halves.mean(axis=0), halves.var(axis=0, ddof=1)
    within = variances.mean(axis=1)
    between = means.var(axis=1, ddof=1)
    moving = within > 1e-24
    ratio = np.ones(within.size)
    ratio[moving] = np.sqrt((steps - 1) / steps + between[moving] / within[moving])
    return float(ratio.max())
