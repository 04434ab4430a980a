from __future__ import annotations

import numpy as np
import pytest
from scipy import special, stats
from tests.findings.made_samples import bench_of, sample_of
from tests.statistics.simulated_studies import STATISTICS, statistics_of

from ballbench.statistics.latent import Bounds, Latent, _truncated, largest_rhat
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.preparation import prepare
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats, Noise, Study


def _values(chains: Latent, draws: int, seed: int = 1) -> Floats:
    return np.concatenate([t.values for t in chains.sample(np.random.default_rng(seed), draws)], axis=2)


def _interval_likelihood(b: Floats, low: Floats, high: Floats, se: float) -> Floats:
    """Chance of the displayed values for every true value b, by the normal distribution of scipy."""
    inside = special.ndtr((high[:, None] - b) / se) - special.ndtr((low[:, None] - b) / se)
    return np.asarray(inside.prod(axis=0))


@pytest.mark.parametrize("display", ["rounds", "truncates"])
def test_one_coarse_reading_is_a_smeared_interval(display: str) -> None:
    """With n = k = 1 the truth's density is Phi((high - b) / se) - Phi((low - b) / se) (scipy)."""
    prepared = prepare(sample_of([[40.5]], step=0.1), bench_of(sd=0.035, resolution=0.1, display=display))
    assert prepared.bounds is not None
    chains = Latent(prepared.study, prepared.bounds, np.random.default_rng(2))
    found = _values(chains, 8192)[0, 0]
    b = np.linspace(40.2, 40.9, 7001)
    density = _interval_likelihood(
        b, *(x[0, 0] for x in (prepared.bounds.low, prepared.bounds.high)), prepared.study.noise.sd
    )
    cdf = np.cumsum(density) / density.sum()
    for share in (0.05, 0.25, 0.5, 0.75, 0.95):
        assert np.mean(found < b[np.searchsorted(cdf, share)]) == pytest.approx(share, abs=0.03)
    middle = 40.5 if display == "rounds" else 40.55
    assert found.mean() == pytest.approx(middle, abs=0.003)


def test_coarse_repeats_of_one_place_follow_their_likelihood() -> None:
    """Five repeats on a display of 0.1: the truth's density is the product of interval chances (scipy), known se."""
    y = np.array([40.5, 40.6, 40.5, 40.6, 40.6])
    study = Study(y.mean()[None, None, None], np.full((1, 1), 5.0), np.zeros(1), 0, Noise(0.04, 1e6), 0.1)
    chains = Latent(study, Bounds(y[None, None] - 0.05, y[None, None] + 0.05), np.random.default_rng(3))
    found = _values(chains, 8192)[0, 0]
    b = np.linspace(40.3, 40.8, 5001)
    density = _interval_likelihood(b, y - 0.05, y + 0.05, 0.04)
    density /= density.sum()
    mean = float(density @ b)
    assert found.mean() == pytest.approx(mean, abs=0.002)
    assert found.std() == pytest.approx(float(np.sqrt(density @ (b - mean) ** 2)), rel=0.06)


@pytest.mark.parametrize(("low", "high"), [(-1.0, 0.5), (3.0, 4.0), (-np.inf, -6.0), (7.0, np.inf), (-np.inf, np.inf)])
def test_truncated_normals_are_those_of_scipy(low: float, high: float) -> None:
    """Draws between bounds follow scipy's truncnorm, deep in the tails too (Kolmogorov-Smirnov)."""
    size = 20_000
    shape = np.zeros(size)
    drawn = _truncated(shape + 1.0, shape + 2.0, shape + 1 + 2 * low, shape + 1 + 2 * high, np.random.default_rng(4))
    assert stats.kstest((drawn - 1) / 2, stats.truncnorm(low, high).cdf).statistic < 1.63 / np.sqrt(size) * 1.1


def test_rhat_tells_mixed_chains_from_stuck_ones() -> None:
    """Independent draws give 1; chains about different means give sqrt(1 + between / within) (split R-hat)."""
    rng = np.random.default_rng(5)
    trace = rng.standard_normal((400, 2, 64))
    assert largest_rhat(trace) == pytest.approx(1.0, abs=0.01)
    trace[:, 1] += np.tile([-1.0, 1.0], 32)
    assert largest_rhat(trace) == pytest.approx(np.sqrt(2.0), rel=0.03)
    drifting = rng.standard_normal((400, 1, 64)) + np.linspace(0, 3, 400)[:, None, None]
    assert largest_rhat(drifting) > 1.2


def _found_extremes(
    rng: np.random.Generator, studies: int, balls: int, looks: int, form: float, noise: float
) -> tuple[Floats, Floats]:
    """True values at all looks (studies, balls, looks), and written largest and smallest (studies, balls, 2)."""
    truth = 40 + 0.03 * rng.standard_normal((studies, balls, 1)) + form * rng.standard_normal((studies, balls, looks))
    read = truth + noise * rng.standard_normal(truth.shape)
    return truth, np.stack([read.max(axis=2), read.min(axis=2)], axis=2)


def test_extremes_found_by_turning_are_order_statistics() -> None:
    """Largest and smallest of 12 looks cover size and range; taken as two axes they overstate form (simulation)."""
    rng = np.random.default_rng(6)
    truth, y = _found_extremes(rng, 16, 6, 12, 0.02, 0.008)
    wanted = (("range", "mean"), ("max", "max"), ("min", "min"), ("range", "max"))
    hits, forms, naive = [], [], []
    for t in range(16):
        prepared = prepare(sample_of(y[t], axes=("largest found", "smallest found")), bench_of(sd=0.008, dof=1e6))
        assert prepared.bounds is not None
        chains = Latent(prepared.study, prepared.bounds, rng)
        drawn = list(chains.sample(rng, 2048))
        found = np.concatenate([statistics_of(c.values, wanted) for c in drawn], axis=1)
        low, high = np.quantile(found, [0.025, 0.975], axis=1)
        true = statistics_of(truth[t].T[:, :, None], wanted)[:, 0]
        hits.append((low <= true) & (true <= high))
        forms.append(np.median(np.concatenate([np.exp(c.m) for c in drawn])))
        fixed = Study(y[t][None], np.ones((6, 2)), np.zeros(1), 0, Noise(0.008, 1e6), 0.04)
        naive.append(np.median(np.concatenate([np.exp(c.m) for c in Posterior(fixed).sample(rng, 1000)])))
    assert np.mean(hits) >= 0.88
    assert np.mean(forms) == pytest.approx(0.02, rel=0.25)
    assert np.mean(naive) > 0.03


def test_hidden_looks_stay_between_the_written_extremes() -> None:
    """No look that was not written down may be above the largest or below the smallest reading (definition)."""
    _, y = _found_extremes(np.random.default_rng(7), 1, 4, 8, 0.02, 0.005)
    bench = bench_of(sd=0.005, looks=8)
    prepared = prepare(sample_of(y[0], axes=("largest found", "smallest found")), bench)
    assert prepared.bounds is not None
    chains = Latent(prepared.study, prepared.bounds, np.random.default_rng(8))
    latent = chains.x[:, :, 0] + chains.centre
    assert np.all(latent[:, 2:] <= y[0][:, :1, None] + 1e-12)
    assert np.all(latent[:, 2:] >= y[0][:, 1:, None] - 1e-12)
    assert np.allclose(latent[:, :2], y[0][:, :, None])


def _coarse(rng: np.random.Generator, balls: int) -> tuple[Floats, Floats]:
    truth = 40 + 0.05 * rng.random() + 0.04 * rng.standard_normal((balls, 1)) + 0.02 * rng.standard_normal((balls, 3))
    return truth, np.round((truth + 0.016 * rng.standard_normal(truth.shape)) / 0.05) * 0.05


def _coarse_hits(studies: int, seed: int) -> Floats:
    """Whether the intervals of coarse studies hold the truth, (studies, statistics)."""
    rng = np.random.default_rng(seed)
    hits = []
    for _ in range(studies):
        truth, y = _coarse(rng, 8)
        told = float(np.hypot(0.016, 0.05 / np.sqrt(12)))
        prepared = prepare(sample_of(y, step=0.05), bench_of(sd=told, resolution=0.05))
        assert prepared.bounds is not None
        chains = Latent(prepared.study, prepared.bounds, rng)
        found = np.concatenate([statistics_of(c.values) for c in chains.sample(rng, 1536)], axis=1)
        low, high = np.quantile(found, [0.025, 0.975], axis=1)
        true = statistics_of(truth.T[:, :, None])[:, 0]
        hits.append((low <= true) & (true <= high))
    return np.array(hits)


def test_coarse_displays_cover() -> None:
    """A step of 0.05 mm on balls of form 0.02 mm: intervals of seven statistics hold the truth (simulation)."""
    hits = _coarse_hits(24, 9)
    assert hits.mean() >= 0.88


@pytest.mark.slow
def test_coarse_displays_cover_in_many_studies() -> None:
    """The same in 200 studies: every statistic is covered in 92 % or more, give or take 4 (simulation)."""
    hits = _coarse_hits(200, 10)
    assert np.all(hits.mean(axis=0) >= 0.88)
    assert hits.mean() >= 0.92


def test_exact_bounds_give_back_the_readings_themselves() -> None:
    """Readings taken as exact are never moved, whatever the chains do (definition)."""
    rng = np.random.default_rng(11)
    y = 40 + 0.03 * rng.standard_normal((5, 3))
    study = Study(y[None], np.ones((5, 3)), np.zeros(1), 0, Noise(0.01, 20), 0.04)
    chains = Latent(study, Bounds(y[:, :, None], y[:, :, None]), rng)
    assert np.allclose(chains.x[:, :, 0] + chains.centre, y[:, :, None])
    assert len(STATISTICS) == 7
    ball = BallValues(_values(chains, 2048))("mean")
    assert np.all(abs(ball.mean(axis=1) - y.mean(axis=1)) < 0.02)


@pytest.mark.parametrize("balls", [6, 12])
def test_all_readings_alike_on_a_coarse_display_have_an_answer(balls: int) -> None:
    """Every ball shows 40.5 on a display of 0.1 with noise 0.03: the commonest coarse sample must be drawn from."""
    prepared = prepare(sample_of(np.full((balls, 3), 40.5), step=0.1), bench_of(sd=0.03, dof=20, resolution=0.1))
    assert prepared.bounds is not None
    found = _values(Latent(prepared.study, prepared.bounds, np.random.default_rng(12)), 2048)
    assert found.mean() == pytest.approx(40.5, abs=0.02)
