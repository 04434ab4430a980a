from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import special, stats
from tests.statistics.simulated_studies import simulate

from ballbench.statistics.posterior import Posterior, Truths
from ballbench.statistics.prediction import predict
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Noise, Study


def _truths(study: Study, draws: int, seed: int = 1) -> Truths:
    posterior, rng = Posterior(study), np.random.default_rng(seed)
    (truths,) = posterior.truths(posterior.draw(rng, draws), rng, chunk=10**6)
    return truths


def test_a_new_ball_follows_the_predictive_integral() -> None:
    """One reading a ball, no noise: the new ball's distribution is the normal model integrated over its SD (scipy)."""
    y = 40 + np.array([0.031, -0.02, 0.004, 0.055, -0.013])
    study = Study(y[None, :, None], np.ones((5, 1)), np.zeros(1), 0, Noise(1e-6, 1e9), 0.04)
    found = predict(_truths(study, 40_000), 1, np.random.default_rng(2))[0, 0]
    spreads = np.geomspace(1e-3, 5, 3000)
    log = -4 * np.log(spreads) - ((y - y.mean()) ** 2).sum() / (2 * spreads**2)
    log += stats.halfcauchy(scale=0.04).logpdf(spreads) + np.log(spreads)
    weight = np.exp(log - log.max()) / np.exp(log - log.max()).sum()
    for share in (0.05, 0.25, 0.5, 0.75, 0.95):
        at = float(np.quantile(found, share))
        theirs = weight @ special.ndtr((at - y.mean()) / (spreads * np.sqrt(1 + 1 / 5)))
        assert theirs == pytest.approx(share, abs=0.012)


def test_prediction_intervals_hold_the_next_ball() -> None:
    """The 90 % interval of one more ball's largest diameter and range holds it in 86 to 96 % of 600 studies."""
    rng = np.random.default_rng(3)
    simulated = simulate(rng, 600, 13, 3, form_spread=0.4, dof=np.inf)
    seen = replace(simulated.study, means=simulated.study.means[:, :12], counts=simulated.study.counts[:12])
    truths = _truths(seen, 200)
    new = BallValues(predict(truths, 1, rng))
    own = BallValues(simulated.truth[:, 12:].transpose(2, 1, 0))
    for how in ("max", "range"):
        low, high = np.quantile(new(how)[0].reshape(600, 200), [0.05, 0.95], axis=1)
        assert 0.86 <= ((low <= own(how)[0]) & (own(how)[0] <= high)).mean() <= 0.96, how


def test_new_balls_share_the_error_of_the_old() -> None:
    """A shared error moves the balls read and the balls predicted alike: it cancels in their difference."""
    study = simulate(np.random.default_rng(4), 1, 12, 3).study
    posterior, rng = Posterior(study), np.random.default_rng(5)
    error = 0.5 * rng.standard_normal(4000)
    (truths,) = posterior.truths(posterior.draw(rng, 4000), rng, error, chunk=4000)
    new = predict(truths, 3, rng).mean(axis=(0, 1))
    assert new.std() == pytest.approx(0.5, rel=0.05)
    assert (new - truths.values.mean(axis=(0, 1))).std() < 0.05
