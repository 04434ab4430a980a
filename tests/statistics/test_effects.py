from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.statistics.dense_model import DenseModel
from tests.statistics.simulated_studies import simulate

from ballbench.statistics import effects
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.study import Floats, LevelKind, Study


def _levelled(axis_effects: bool, *, gap: bool = False) -> Study:
    """Five balls of three axes in two sittings and with two instruments, unequal counts."""
    rng = np.random.default_rng(3)
    study = simulate(rng, 1, 5, 3).study
    counts = np.array([[1, 2, 1], [3, 1, 1], [1, 1, 2], [2, 2, 2], [1, 1, 1]], dtype=float)
    means = study.means.copy()
    if gap:
        counts[1, 2], means[0, 1, 2] = 0.0, np.nan
    read = (counts > 0)[:, :, None]
    sitting = np.eye(2)[rng.integers(0, 2, (5, 3))] * read
    half = np.array([0.3, 0.7]) * read
    kinds = (
        LevelKind("zero", ("1", "2"), sitting, np.array([0.01, 0.02])),
        LevelKind("calibration", ("a", "b"), half, np.array([0.03, 0.01])),
    )
    return replace(study, means=means, counts=counts, axis_effects=axis_effects, kinds=kinds)


def _points(study: Study, points: int) -> tuple[Floats, Floats, Floats, Floats]:
    rng = np.random.default_rng(4)
    se, sb = rng.uniform(0.005, 0.02, (2, points))
    sf = rng.uniform(0.002, 0.05, (points, 5))
    counts = np.where(study.counts > 0, study.counts, np.inf)
    with np.errstate(divide="ignore"):
        precision = np.where(study.counts[..., None] > 0, 1 / ((sf.T**2)[:, None, :] + se**2 / counts[..., None]), 0.0)
    return se, sb, sf, precision


@pytest.mark.parametrize("gap", [False, True])
@pytest.mark.parametrize("axis_effects", [False, True])
def test_marginal_likelihood_is_that_of_the_dense_covariance(axis_effects: bool, gap: bool) -> None:
    """Differences of log likelihood between variances equal those of the full covariance matrix with numpy."""
    study = _levelled(axis_effects, gap=gap)
    se, sb, sf, precision = _points(study, 12)
    y = np.nan_to_num(study.means[0] - 40.0)[:, :, None]
    mine = effects.log_marginal(study, y, precision, sb)
    theirs = DenseModel(study, se, sb, sf).log_likelihood()
    assert np.allclose(mine - mine[0], theirs - theirs[0], atol=1e-8)


def test_effects_are_drawn_from_their_normal_posterior() -> None:
    """Means and covariance of drawn axis effects equal generalised least squares with the dense covariance."""
    study = _levelled(True)
    se, sb, sf, precision = (a[..., :1] if a.ndim != 2 else a[:1] for a in _points(study, 1))
    rng, size = np.random.default_rng(6), 40_000
    y = (study.means[0] - 40.0)[:, :, None]
    repeated = [np.repeat(precision[:, j, :], size, axis=1) for j in range(3)]
    axis, _, _ = effects.draw_effects(
        study, True, y, np.zeros(size, np.intp), repeated, np.full(size, float(sb[0])), rng
    )
    model = DenseModel(study, se, sb, sf)
    _, information, beta, _ = model._fit()
    covariance = np.linalg.inv(information[0])
    found = np.array(axis[:2])
    assert np.allclose(found.mean(axis=1), beta[0, 1:], atol=5 * np.sqrt(covariance[1, 1] / size))
    assert np.allclose(np.cov(found), covariance[1:, 1:], atol=0.03 * covariance[1, 1])
    assert np.allclose(np.sum(axis, axis=0), 0.0, atol=1e-12)


def test_axis_effects_are_found_and_their_interval_holds() -> None:
    """Seams 0.05 mm thicker: the drawn effect covers the truth in 92 to 98 % of 400 simulated studies."""
    rng = np.random.default_rng(7)
    truth = (0.05, -0.02, -0.03)
    simulated = simulate(rng, 400, 12, 3, form_spread=0.6, axis_effects=truth, dof=np.inf)
    posterior = Posterior(simulated.study)
    drawn = posterior.draw(rng, 300)
    hits = []
    for t in range(400):
        at = drawn.study == t
        se, sf = drawn.se[at], posterior.grids.sf[drawn.form[:, at]]
        y, none = posterior.y[t][:, :, None], np.zeros(300, np.intp)
        axis, _, _ = effects.draw_effects(simulated.study, False, y, none, 3 * [1 / (sf**2 + se**2)], drawn.sb[at], rng)
        low, high = np.quantile(np.array(axis), [0.025, 0.975], axis=1)
        hits.append((low <= truth) & (truth <= high))
    assert 0.92 <= np.mean(hits) <= 0.98


def test_plug_in_estimates_leave_the_mean_in_the_data() -> None:
    """What is taken off before the grids are laid sums to nothing over the axes, and to 0 without effects."""
    study = simulate(np.random.default_rng(8), 3, 6, 3, axis_effects=(0.05, -0.03, -0.02), dof=np.inf).study
    filled = study.means - study.means.mean(axis=(1, 2), keepdims=True)
    estimates = effects.plug_in(study, filled)
    assert np.allclose(estimates.sum(axis=2), 0.0, atol=1e-12)
    assert np.allclose(estimates[:, 0], [[0.05, -0.03, -0.02]] * 3, atol=0.04)
    assert not effects.plug_in(replace(study, axis_effects=False), filled).any()
