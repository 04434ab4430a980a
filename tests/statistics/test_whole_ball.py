from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from ballbench.statistics.grids import COARSE
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.study import Floats, Noise, Study
from ballbench.statistics.whole_ball import MIXES, axis_directions, field


def _directions(count: int, rng: np.random.Generator) -> Floats:
    u = rng.standard_normal((count, 3))
    return np.asarray(u / np.linalg.norm(u, axis=1, keepdims=True))


def _covariance(directions: Floats, mix: tuple[float, ...]) -> Floats:
    """Sum of w_l P_l over degrees 2, 4 and 6, from the recursion of the Legendre polynomials, not from scipy's."""
    x = np.clip(directions @ directions.T, -1, 1)
    p = [np.ones_like(x), x]
    for degree in range(2, 7):
        p.append(((2 * degree - 1) * x * p[-1] - (degree - 1) * p[-2]) / degree)
    return np.asarray(mix[0] * p[2] + mix[1] * p[4] + mix[2] * p[6])


def _balls(rng: np.random.Generator, directions: Floats, count: int, sd: float, mix: tuple[float, ...]) -> Floats:
    """Diameters less their level in every direction, (directions, count), of balls of the stated field."""
    values, vectors = np.linalg.eigh(_covariance(directions, mix))
    keep = values > 1e-9
    return np.asarray((vectors[:, keep] * np.sqrt(values[keep])) @ rng.standard_normal((int(keep.sum()), count)) * sd)


@pytest.mark.parametrize("k", [2, 3, 4, 5, 6, 12])
def test_axes_lie_apart(k: int) -> None:
    """Axes are unit vectors; no two are nearer than 30 degrees up to six, square for two and three."""
    axes = axis_directions(k)
    assert np.allclose(np.linalg.norm(axes, axis=1), 1.0)
    cosine = abs(axes @ axes.T - np.eye(k)).max()
    if k <= 6:
        assert cosine < np.cos(np.radians(30))
    if k <= 3:
        assert cosine < 1e-12


@pytest.mark.parametrize("mix", MIXES)
@pytest.mark.parametrize("k", [2, 3, 4, 6])
def test_field_goes_through_the_axes(k: int, mix: tuple[float, float, float]) -> None:
    """Conditional on the diameters at the axes, every draw reproduces them there (kriging interpolates)."""
    rng = np.random.default_rng(5)
    values = 40 + 0.05 * rng.standard_normal((k, 3, 40))
    found = field(k, mix).over(values, np.full((3, 40), 0.05), rng)
    assert np.allclose(found[:k], values, atol=2e-4)
    assert found.shape[0] > 50


@pytest.mark.parametrize("mix", MIXES)
@pytest.mark.parametrize("k", [3, 4])
def test_field_is_conditioned_as_the_dense_normal_is(k: int, mix: tuple[float, float, float]) -> None:
    """Mean and spread elsewhere equal those of the normal distribution given the axes, the level unknown (numpy)."""
    rng = np.random.default_rng(6)
    model = field(k, mix)
    golden = np.pi * (3 - np.sqrt(5))
    at = np.arange(72)
    height = (at + 0.5) / 72
    flat = np.sqrt(1 - height**2)
    points = np.vstack(
        [axis_directions(k), np.column_stack([flat * np.cos(at * golden), flat * np.sin(at * golden), height])]
    )
    wide = 1e4  # the unknown level: a prior far wider than any form
    covariance = _covariance(points, mix) + wide
    solved = np.linalg.solve(covariance[:k, :k] + 1e-9 * np.eye(k), covariance[:k])
    y = rng.standard_normal(k)
    theirs = y @ solved
    rest = covariance - covariance[:, :k] @ solved
    found = model.over(np.repeat(y[:, None, None], 20_000, axis=2), np.full((1, 20_000), 1 / model.scale), rng)[:, 0]
    assert np.allclose(found.mean(axis=1), theirs, atol=0.04)
    assert np.allclose(found.var(axis=1), np.diag(rest), atol=0.05)


@pytest.mark.parametrize("k", [2, 3, 4])
def test_scale_turns_the_spread_of_axes_into_that_of_the_field(k: int) -> None:
    """The variance among the axes of a ball, times the scale squared, is on average that of its field (simulation)."""
    rng = np.random.default_rng(7)
    axes = axis_directions(k)
    balls = _balls(rng, axes, 60_000, 1.0, MIXES[0])
    assert balls.var(axis=0, ddof=1).mean() * field(k).scale ** 2 == pytest.approx(1.0, rel=0.02)


def test_whole_ball_interval_covers_balls_of_the_stated_field() -> None:
    """Largest diameter over 1,500 directions of simulated balls: the interval covers, that of three axes does not."""
    rng = np.random.default_rng(8)
    studies, n, k, draws = 150, 8, 3, 300
    points = np.vstack([axis_directions(k), _directions(1500, rng)])
    form = _balls(rng, points, studies * n, 0.03, MIXES[0]).reshape(-1, studies, n)
    level = 40 + 0.02 * rng.standard_normal((studies, n))
    truth = (level + form).max(axis=(0, 2))
    y = (level + form[:k]).transpose(1, 2, 0) + 0.005 * rng.standard_normal((studies, n, k))
    hits, axes_only = [], []
    for start in range(0, studies, 25):
        part = slice(start, start + 25)
        study = Study(y[part], np.ones((n, k)), np.zeros(25), 0, Noise(0.005, 1e6), 0.04)
        posterior = Posterior(study, COARSE)
        (truths,) = posterior.truths(posterior.draw(rng, draws), rng, chunk=10**6)
        whole = field(k).over(truths.values, truths.sf, rng).max(axis=(0, 1)).reshape(25, draws)
        low, high = np.quantile(whole, [0.025, 0.975], axis=1)
        hits.append((low <= truth[part]) & (truth[part] <= high))
        high = np.quantile(truths.values.max(axis=(0, 1)).reshape(25, draws), 0.975, axis=1)
        axes_only.append(truth[part] <= high)
    assert np.mean(hits) >= 0.92 - 0.035
    assert np.mean(axes_only) < 0.6


def test_legendre_polynomials_of_the_oracle_are_those_of_the_tables() -> None:
    """At 1/2 the Legendre polynomials of degree 2, 4, 6 are -1/8, -37/128, 331/1024 (written out; scipy agrees)."""
    directions = np.array([[1.0, 0.0, 0.0], [0.5, np.sqrt(0.75), 0.0]])
    for at, value in ((0, -1 / 8), (1, -37 / 128), (2, 331 / 1024)):
        mix = tuple(float(at == j) for j in range(3))
        assert _covariance(directions, mix)[0, 1] == pytest.approx(value)
        assert special.eval_legendre(2 * at + 2, 0.5) == pytest.approx(value)
