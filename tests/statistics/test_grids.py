from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from tests.statistics.simulated_studies import simulate

from ballbench.statistics.grids import FINE, FORM_SPREAD_SCALE, lay_grids, log_half_cauchy, noise_points
from ballbench.statistics.study import Noise, Study

HELMERT = {3: np.array([[1, -1, 0], [1, 1, -2]]) / np.sqrt([[2.0], [6.0]])}


def _centred(study: Study) -> np.ndarray:
    return study.means - np.nanmean(study.means, axis=(1, 2), keepdims=True)


def test_half_cauchy_is_the_density_of_the_logarithm() -> None:
    """The log prior differs from scipy's half-Cauchy density times x (change of variable) by a constant."""
    x = np.geomspace(1e-3, 10, 30)
    theirs = stats.halfcauchy(scale=0.04).logpdf(x) + np.log(x)
    assert np.ptp(log_half_cauchy(x, 0.04) - theirs) < 1e-12


@pytest.mark.parametrize(("dof", "repeats"), [(4.0, 1), (20.0, 1), (4.0, 3)])
def test_noise_points_mix_to_student_t(dof: float, repeats: int) -> None:
    """A normal error whose SD is known with nu degrees of freedom is Student's t with nu (JCGM 101:2008, 6.4.9)."""
    rng = np.random.default_rng(1)
    study = simulate(rng, 1, 4, 3, noise=0.02, dof=np.inf, repeats=repeats).study
    study = replace(study, noise=Noise(0.02, dof))
    points = noise_points(study, 4000)[0]
    total = dof + study.sse_dof
    pooled = np.sqrt((dof * 0.02**2 + study.sse[0]) / total)
    for share in (0.6, 0.9, 0.975):
        bound = stats.t(total).ppf(share) * pooled
        assert stats.norm.cdf(bound / points).mean() == pytest.approx(share, abs=5e-4)


def test_ball_likelihood_is_that_of_its_differences() -> None:
    """A ball's likelihood is, up to a constant, the normal density of two orthogonal contrasts (scipy), any counts."""
    rng = np.random.default_rng(2)
    study = simulate(rng, 1, 3, 3).study
    study = replace(study, counts=np.array([[1.0, 2.0, 3.0], [1.0, 1.0, 1.0], [4.0, 1.0, 2.0]]))
    grids = lay_grids(study, _centred(study))
    rows = HELMERT[3]
    for i in range(3):
        theirs = np.empty(grids.like.shape[2:])
        for e, se in enumerate(grids.se[0]):
            for f, sf in enumerate(grids.sf):
                covariance = np.diag(sf**2 + se**2 / study.counts[i])
                theirs[e, f] = stats.multivariate_normal(cov=rows @ covariance @ rows.T).logpdf(
                    rows @ study.means[0, i]
                )
        there = theirs - theirs.max() > -50
        assert np.allclose(np.log(grids.like[0, i])[there], (theirs - theirs.max())[there], atol=1e-9)


def test_cells_weigh_as_prior_times_product_over_balls() -> None:
    """The weight of a cell (se, m, om) is its prior times the product over balls of the sum over sf, by plain loops."""
    study = simulate(np.random.default_rng(3), 1, 4, 3).study
    grids = lay_grids(study, _centred(study))
    cells = np.zeros((grids.se.shape[1], grids.m.size))
    for e in range(grids.se.shape[1]):
        for c in range(grids.m.size):
            shape = np.exp(-0.5 * ((np.log(grids.sf) - grids.m[c]) / grids.om[c]) ** 2)
            shape /= shape.sum()
            chance = stats.halfcauchy(scale=study.prior_scale).pdf(np.exp(grids.m[c])) * np.exp(grids.m[c])
            for i in range(4):
                chance *= float(grids.like[0, i, e] @ shape)
            cells[e, c] = chance
    assert np.allclose(grids.weight[0], (cells / cells.sum()).ravel(), rtol=1e-9)


def test_form_spread_points_follow_the_half_normal() -> None:
    """The points of om stand for equal shares of a half-normal of scale 0.7 (methods): mean 0.7 sqrt(2 / pi)."""
    study = simulate(np.random.default_rng(4), 1, 4, 3).study
    grids = lay_grids(study, _centred(study), size=replace(FINE, spread=400))
    found = np.unique(grids.om)
    assert found.size == 400
    assert found.mean() == pytest.approx(FORM_SPREAD_SCALE * np.sqrt(2 / np.pi), rel=3e-3)


def test_typical_form_is_found_where_it_is() -> None:
    """With 200 balls of five axes and little noise the weights gather about the true form SD (known truth)."""
    study = simulate(np.random.default_rng(5), 1, 200, 5, form=0.03, noise=0.003, dof=np.inf).study
    study = replace(study, noise=Noise(0.003, 50.0))
    grids = lay_grids(study, _centred(study))
    weight = grids.weight[0].reshape(grids.se.shape[1], -1).sum(axis=0)
    assert np.exp(weight @ grids.m) == pytest.approx(0.03, rel=0.06)
    assert weight @ grids.om < 0.3


def test_a_ball_read_at_one_place_says_nothing_of_form() -> None:
    """One reading a ball leaves no difference within a ball, so that the form SD is a single 0."""
    study = simulate(np.random.default_rng(6), 1, 5, 1, form=0.0).study
    grids = lay_grids(study, _centred(study))
    assert grids.sf.tolist() == [0.0]
    assert not study.has_form
