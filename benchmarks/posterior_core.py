"""The engine alone: draws of the true values of one design, beside bare normals of the same count."""

from __future__ import annotations

import os
from collections.abc import Iterator

import numpy as np
from threadpoolctl import threadpool_limits

from ballbench.statistics.grids import COARSE, FINE, GridSize
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.study import Noise, Study
from benchmarks.bare_normals import bare_normals
from benchmarks.measuring import Line, Spent, spent

__all__ = ["posterior_core"]

LEVEL, BALL_SD, FORM_SD, NOISE_SD = 40.25, 0.02, 0.02, 0.008
DESIGNS = (
    ("a small box", 1, 6, 3, 20_000, FINE),
    ("a usual sample", 1, 24, 4, 20_000, FINE),
    ("a large sample", 1, 200, 4, 20_000, FINE),
    ("simulated studies, as for what would settle a clause", 200, 24, 4, 200, COARSE),
)


def posterior_core() -> Iterator[Line]:
    """Set up the grids and draw, one thread; seconds are those of one study, the best of five."""
    with threadpool_limits(limits=1, user_api="blas"):
        for words, studies, balls, axes, draws, size in DESIGNS:
            cost = min((_drawn(studies, balls, axes, draws, size) for _ in range(5)), key=lambda c: c.cpu)
            bound = bare_normals(studies * balls * axes * draws, threads=1)
            what = f"{words}: {studies} x {balls} balls x {axes} places, {draws:,} draws each"
            yield Line(what, cost, bound, "bare normal draws of the same count")


def _drawn(studies: int, balls: int, axes: int, draws: int, size: GridSize) -> Spent:
    """Draw true values of invented studies, and check that they lie where the truth is."""
    rng = np.random.Generator(np.random.PCG64(os.getpid()))
    truth = LEVEL + BALL_SD * rng.standard_normal((studies, balls, 1))
    truth = truth + FORM_SD * rng.standard_normal((studies, balls, axes))
    means = truth + NOISE_SD * rng.standard_normal(truth.shape)
    study = Study(means, np.ones((balls, axes)), np.zeros(studies), 0, Noise(NOISE_SD, 20.0), prior_scale=0.04)
    drawn, total = 0, 0.0
    with spent() as cost:
        for truths in Posterior(study, size).sample(rng, draws):
            drawn += truths.values.shape[2]
            total += float(truths.values.mean(axis=(0, 1)).sum())
    assert drawn == studies * draws
    spread = NOISE_SD / np.sqrt(studies * balls * axes)
    assert abs(total / drawn - float(truth.mean())) < 6.0 * spread, "the draws lie about the true mean"
    return Spent(cost.wall, cost.cpu)
