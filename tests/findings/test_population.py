from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from tests.findings.made_samples import bench_of, clause_of, reading_of, sample_of

from ballbench.findings.evidence import Evidence
from ballbench.findings.population import population_of
from ballbench.findings.results import Population
from ballbench.statistics.preparation import prepare
from ballbench.statistics.study import Floats


def _population(
    y: Floats, upper: float, *, ball: str = "max", lower: float | None = None, sd: float = 1e-4, **sample: object
) -> Population:
    clause = clause_of(reading_of(ball, "each", lower=lower, upper=upper))
    prepared = prepare(sample_of(y, **sample), bench_of(sd=sd, resolution=1e-5))  # type: ignore[arg-type]
    item = Evidence(prepared, [clause], np.random.default_rng(1), 1, 2048, {})
    item.draw(4000, 0)
    return population_of(item.tracks[0], item, 1.0)


def _scores(n: int, mean: float, sd: float) -> Floats:
    """A sample whose mean and SD are exactly those given, shaped like normal scores."""
    z = stats.norm.ppf((np.arange(n) + 0.5) / n)
    return np.asarray((mean + sd * z / z.std(ddof=1))[:, None])


@pytest.mark.parametrize(("n", "factor"), [(10, 3.379), (20, 2.752), (30, 2.549)])
def test_interval_is_the_tolerance_interval(n: int, factor: float) -> None:
    """No noise: mean plus or minus k SDs with the two-sided 95 % / 95 % factors of ISO 16269-6 (from memory)."""
    found = _population(_scores(n, 40.0, 0.03), 41.0)
    assert (found.low + found.high) / 2 == pytest.approx(40.0, abs=0.004)
    assert (found.high - found.low) / 2 / 0.03 == pytest.approx(factor, rel=0.08)


@pytest.mark.parametrize("z", [0.5, 1.0, 1.5])
def test_share_outside_is_the_normal_tail(z: float) -> None:
    """200 balls without noise: the share over mean + z SD is the normal tail, and its interval holds it."""
    found = _population(_scores(200, 40.0, 0.03), 40.0 + z * 0.03)
    tail = float(stats.norm.sf(z))
    assert found.share_outside.median == pytest.approx(tail, abs=0.02)
    assert found.share_outside.low < tail < found.share_outside.high


def test_noise_is_not_taken_for_spread() -> None:
    """Balls all alike read with a noise of 0.03 mm: under 2 % of such balls lie 0.06 mm off, not the raw 4.6 %."""
    rng = np.random.default_rng(2)
    y = 40 + 0.001 * rng.standard_normal((40, 1)) + 0.03 * rng.standard_normal((40, 1))
    found = _population(y, 40.06, lower=39.94, sd=0.03)
    assert found.share_outside.median < 0.02


def test_bound_by_counting_is_exact() -> None:
    """No ball of n outside, beyond doubt: the upper 95 % bound of the share is 1 - 0.05^(1/n) (exact binomial)."""
    for n in (6, 24):
        found = _population(_scores(n, 40.0, 0.001), 40.5)
        assert found.outside_seen == 0.0
        assert found.share_bound == pytest.approx(1 - 0.05 ** (1 / n), rel=0.08)


def test_counted_balls_raise_the_bound() -> None:
    """Two of 12 far outside: the bound is that at which 2 or fewer bad are seen in 5 % of samples (binomial, scipy)."""
    y = _scores(12, 40.0, 0.001)
    y[:2] += 1.0
    found = _population(y, 40.5)
    assert found.outside_seen == pytest.approx(2.0, abs=0.01)
    assert stats.binom.cdf(2, 12, found.share_bound) == pytest.approx(0.05, abs=0.015)


def test_ranges_have_an_interval_from_nothing_up() -> None:
    """A range cannot be negative: its interval starts at 0, and 95 % of 4,000 new balls lie under its end."""
    rng = np.random.default_rng(3)
    y = 40 + 0.02 * rng.standard_normal((60, 3))
    found = _population(y, 0.2, ball="range")
    assert found.low == 0.0
    assert np.mean(np.ptp(0.02 * rng.standard_normal((4000, 3)), axis=1) <= found.high) >= 0.95


def test_seams_are_in_balls_like_these() -> None:
    """A seam 0.15 mm thicker on every ball read puts all such balls beyond a range limit of 0.1 mm."""
    rng = np.random.default_rng(4)
    y = 40 + np.array([0.10, -0.05, -0.05]) + 0.003 * rng.standard_normal((12, 3))
    found = _population(y, 0.1, ball="range", axes=("seam", "across", "free"))
    assert found.share_outside.low > 0.9
