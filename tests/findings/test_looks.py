from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from ballbench.findings.deciding import Rule, decide
from ballbench.statistics.grids import COARSE
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.study import Floats, Noise, Study

STUDIES, BALLS, NOISE, LOOKS = 1600, 6, 0.02, 4


@pytest.fixture(scope="module")
def chances() -> Floats:
    """Chance that the mean of six balls is under the limit, at every look, (studies, looks); truth at the limit.

    At each look every ball is read once more, and all readings so far are judged together.
    """
    rng = np.random.default_rng(1)
    balls = 0.03 * rng.standard_normal((STUDIES, BALLS, 1))
    balls -= balls.mean(axis=1, keepdims=True)
    readings = balls[..., None] + NOISE * rng.standard_normal((STUDIES, BALLS, 1, LOOKS))
    out = np.empty((STUDIES, LOOKS))
    for look in range(1, LOOKS + 1):
        means = readings[..., :look].mean(axis=3)
        for start in range(0, STUDIES, 400):
            part = means[start : start + 400]
            study = Study(part, np.full((BALLS, 1), float(look)), np.zeros(400), 0, Noise(NOISE, 1e6), 0.04)
            posterior = Posterior(study, COARSE)
            (truths,) = posterior.truths(posterior.draw(rng, 1000), rng, chunk=10**6)
            under = truths.values[0].mean(axis=0).reshape(400, 1000) < 0.0
            out[start : start + 400, look - 1] = under.mean(axis=1)
    return out


def _met(chances: Floats, planned: int, *, shared: bool) -> float:
    """Share of studies that come to say "met" within the planned looks, the first decision standing."""
    met = 0
    for row in chances:
        for look in range(planned):
            rule = Rule("guarded", 0.05, look + 1, planned)
            decision = decide(float(row[look]), rule.spent if shared else 0.05)
            if decision != "undecided":
                met += decision == "met"
                break
    return met / chances.shape[0]


def _first_to_cross(planned: int, bounds: list[float]) -> float:
    """Chance that a sum of normal steps is above an upper bound before it is below the lower one (simulated walk)."""
    rng = np.random.default_rng(2)
    steps = np.cumsum(rng.standard_normal((400_000, planned)), axis=1) / np.sqrt(np.arange(1, planned + 1))
    open_walks, met = np.ones(400_000, bool), 0.0
    for look in range(planned):
        met += float((open_walks & (steps[:, look] >= bounds[look])).mean())
        open_walks &= abs(steps[:, look]) < bounds[look]
    return met


@pytest.mark.parametrize("planned", [1, 2, 3, 4])
def test_shared_risk_holds_over_all_planned_looks(chances: Floats, planned: int) -> None:
    """With the truth at the limit, planned looks say a false "met" in at most the risk all together (simulation)."""
    found = _met(chances, planned, shared=True)
    error = np.sqrt(0.05 * 0.95 / STUDIES)
    assert found <= 0.05 + 3 * error
    bounds = [float(stats.norm.isf(Rule("guarded", 0.05, look, planned).spent)) for look in range(1, planned + 1)]
    assert found == pytest.approx(_first_to_cross(planned, bounds), abs=3.5 * error)


@pytest.mark.parametrize(("planned", "raised"), [(2, 0.08), (3, 0.10), (4, 0.12)])
def test_measuring_until_met_raises_the_risk(chances: Floats, planned: int, raised: float) -> None:
    """Without sharing, false "met" rises from 5 to about 8, 10 and 12 % after 2, 3 and 4 looks (methods)."""
    ever = float((chances[:, :planned] >= 0.95).any(axis=1).mean())
    assert ever == pytest.approx(raised, abs=0.02)
    levels = np.sqrt(np.minimum.outer(np.arange(1, planned + 1), np.arange(1, planned + 1)))
    correlation = levels**2 / np.sqrt(np.outer(np.arange(1, planned + 1), np.arange(1, planned + 1)))
    never = stats.multivariate_normal(cov=correlation, seed=3).cdf(np.full(planned, stats.norm.isf(0.05)))
    assert ever == pytest.approx(1 - float(never), abs=3.5 * np.sqrt(0.1 * 0.9 / STUDIES))


def test_one_look_alone_keeps_its_risk(chances: Floats) -> None:
    """A single look at the limit says "met" and "not met" in 5 % each (simulation): the engine's own calibration."""
    error = 3.5 * np.sqrt(0.05 * 0.95 / STUDIES)
    for look in range(LOOKS):
        assert np.mean(chances[:, look] >= 0.95) == pytest.approx(0.05, abs=error)
        assert np.mean(chances[:, look] <= 0.05) == pytest.approx(0.05, abs=error)
