"""Studies with known truth: balls are made up, read with a noisy instrument, and handed over as arrays."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ballbench.statistics.grids import COARSE, GridSize
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.reductions import BallValues, over_balls
from ballbench.statistics.study import Floats, LevelKind, Noise, Study

__all__ = ["STATISTICS", "Simulated", "covered", "intervals", "simulate", "statistics_of"]

STATISTICS = (
    ("midrange", "mean"),
    ("midrange", "sd"),
    ("range", "mean"),
    ("range", "sd"),
    ("max", "max"),
    ("min", "min"),
    ("range", "max"),
)
"""Ball and sample reduction of the statistics that clauses name most."""


@dataclass(frozen=True, slots=True)
class Simulated:
    """Studies of one design with their true values.

    Parameters
    ----------
    study : Study
        What was read.
    truth : (T, n, k) float array
        True values at the axes.
    """

    study: Study
    truth: Floats


def simulate(
    rng: np.random.Generator,
    studies: int,
    balls: int,
    axes: int,
    *,
    form: float = 0.02,
    form_spread: float = 0.0,
    ball_sd: float = 0.03,
    noise: float = 0.01,
    dof: float = 20.0,
    repeats: int = 1,
    axis_effects: tuple[float, ...] = (),
    sittings: int = 1,
    zero_sd: float = 0.0,
    mean: float = 40.0,
    one_off: float = 0.0,
) -> Simulated:
    """Make up balls and read them.

    Parameters
    ----------
    rng : numpy.random.Generator
        Seeded by the caller.
    studies, balls, axes, repeats : int
        The design.
    form, form_spread : float
        Typical form SD and the SD of its logarithm over the balls.
    ball_sd, noise, mean : float
        SD between balls, repeatability of the instrument, level of the balls.
    dof : float
        Of the repeatability that the bench found, which errs by its chi-square distribution in every study. One
        design has one told SD, so each study is measured in a unit of its own, in which the SD found is `noise`.
    axis_effects : tuple of float
        True effects of the axes; empty for a study without them.
    sittings : int
        The balls are read in turn in so many sittings, axis by axis, each with its own zero of SD `zero_sd`.
    one_off : float
        Added to every axis of the last ball.
    """
    shape = (studies, balls, axes)
    found = rng.chisquare(dof, (studies, 1, 1)) / dof if np.isfinite(dof) else np.ones((studies, 1, 1))
    unit = 1.0 / np.sqrt(found)
    sf = form * np.exp(form_spread * rng.standard_normal((studies, balls, 1)))
    truth = mean + ball_sd * rng.standard_normal((studies, balls, 1)) + sf * rng.standard_normal(shape)
    truth[:, -1] += one_off
    if axis_effects:
        truth = truth + np.array(axis_effects)
    readings = truth[..., None] + noise * rng.standard_normal((*shape, repeats))
    kinds: tuple[LevelKind, ...] = ()
    if sittings > 1:
        place = (np.arange(balls)[:, None] + np.arange(axes)[None, :]) % sittings
        shares = np.eye(sittings)[place]
        readings = readings + (zero_sd * rng.standard_normal((studies, sittings)) @ shares.reshape(-1, sittings).T
                               ).reshape(shape)[..., None]  # fmt: skip
        kinds = (LevelKind("zero", tuple(map(str, range(sittings))), shares, np.full(sittings, zero_sd)),)
    readings = mean + unit[..., None] * (readings - mean)
    truth = mean + unit * (truth - mean)
    means = readings.mean(axis=3)
    sse = ((readings - means[..., None]) ** 2).sum(axis=(1, 2, 3))
    study = Study(
        means,
        np.full((balls, axes), float(repeats)),
        sse,
        balls * axes * (repeats - 1),
        Noise(noise, dof if np.isfinite(dof) else 1e6),
        prior_scale=max(1e-3 * mean, 0.01),
        axis_effects=bool(axis_effects),
        kinds=kinds,
    )
    return Simulated(study, truth)


def statistics_of(values: Floats, wanted: tuple[tuple[str, str], ...] = STATISTICS) -> Floats:
    """Reduce values (k, n, M) to the wanted statistics, (statistics, M)."""
    balls = BallValues(values)
    return np.array([over_balls(balls(ball), sample) for ball, sample in wanted])


def intervals(
    study: Study, rng: np.random.Generator, draws: int = 400, size: GridSize = COARSE, batch: int = 50
) -> Floats:
    """Median and central 95 % interval of every statistic in every study, (3, statistics, T): low, median, high."""
    out = []
    for start in range(0, study.means.shape[0], batch):
        part = replace(study, means=study.means[start : start + batch], sse=study.sse[start : start + batch])
        studies = part.means.shape[0]
        shared = _common_errors(part, rng, studies * draws)
        found = [statistics_of(chunk.values) for chunk in Posterior(part, size).sample(rng, draws, shared)]
        drawn = np.concatenate(found, axis=1).reshape(len(STATISTICS), studies, draws)
        out.append(np.quantile(drawn, [0.025, 0.5, 0.975], axis=2))
    return np.concatenate(out, axis=2)


def _common_errors(study: Study, rng: np.random.Generator, draws: int) -> Floats:
    """Draw what the levels put into the mean: the precision-weighted mean of each kind's levels."""
    total = np.zeros(draws)
    for kind in study.kinds:
        total += rng.standard_normal(draws) / np.sqrt((1.0 / kind.sd**2).sum())
    return total


def covered(simulated: Simulated, found: Floats) -> Floats:
    """Whether each interval holds the truth, (statistics, T)."""
    true = statistics_of(simulated.truth.transpose(2, 1, 0))
    return (found[0] <= true) & (true <= found[2])
