from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy import integrate, special, stats
from tests.statistics.dense_model import DenseModel
from tests.statistics.simulated_studies import STATISTICS, simulate, statistics_of

from ballbench.statistics.grids import COARSE, FINE, GridSize
from ballbench.statistics.latent import Bounds, Latent
from ballbench.statistics.posterior import Posterior, Truths
from ballbench.statistics.study import Floats, LevelKind, Noise, Study

SMALL = GridSize(noise=2, spread=2, ball_sd=6, finest=0.5, widest=0.5)


def _study(means: Floats, se: float, *, dof: float = 1e9, scale: float = 0.04, **more: object) -> Study:
    y = np.atleast_2d(np.asarray(means, dtype=float))
    counts = (~np.isnan(y)).astype(float)
    study = Study(y[None], counts, np.zeros(1), 0, Noise(se, dof), scale)
    return replace(study, **more)  # type: ignore[arg-type]


def _all(study: Study, draws: int, seed: int = 1, size: GridSize = FINE) -> Truths:
    posterior, rng = Posterior(study, size), np.random.default_rng(seed)
    (truths,) = posterior.truths(posterior.draw(rng, draws), rng, chunk=draws)
    return truths


def _unit_kind(rng: np.random.Generator, counts: Floats, sd: list[float]) -> LevelKind:
    shares = np.eye(len(sd))[rng.integers(0, len(sd), counts.shape)] * (counts > 0)[:, :, None]
    return LevelKind("zero", tuple(map(str, range(len(sd)))), shares, np.array(sd))


def _designs() -> dict[str, Study]:
    """Small unbalanced studies written down by hand, three balls and two axes."""
    y = np.array([[40.012, 40.031], [39.985, 39.991], [40.044, 40.003]])
    counts = np.array([[1.0, 2.0], [1.0, 1.0], [3.0, 1.0]])
    gap = np.array([[40.012, 40.031], [39.985, np.nan], [40.044, 40.003]])
    rng = np.random.default_rng(0)
    even = np.ones((3, 2))
    kind = _unit_kind(rng, counts, [0.01, 0.03])
    both = (kind, LevelKind("temperature", ("a", "b"), np.eye(2)[[[0, 0], [0, 1], [1, 1]]], np.array([0.02, 0.02])))
    base = _study(y, 0.01, dof=5)
    return {
        "balanced": base,
        "unequal counts": replace(base, counts=counts),
        "one place not read": replace(base, means=gap[None], counts=np.where(np.isnan(gap), 0.0, counts)),
        "axis effects": replace(base, axis_effects=True),
        "axis effects, unequal counts": replace(base, counts=counts, axis_effects=True),
        "two sittings": replace(base, counts=even, kinds=(_unit_kind(rng, even, [0.01, 0.03]),)),
        "two kinds of levels, axis effects": replace(base, counts=counts, axis_effects=True, kinds=both),
    }


@pytest.mark.parametrize("name", list(_designs()))
def test_draws_equal_the_dense_model_on_every_point_of_the_grid(name: str) -> None:
    """Moments of noise, spread, form and true values equal brute force: every grid point, full covariance matrices."""
    study = _designs()[name]
    posterior, rng = Posterior(study, SMALL), np.random.default_rng(7)
    grids = posterior.grids
    log_prior = stats.halfcauchy(scale=study.prior_scale).logpdf
    grid = product(range(grids.se.shape[1]), range(posterior.sb_grid.shape[1]), *3 * [range(grids.sf.size)])
    at = np.array(list(grid))
    se, sb, sf = grids.se[0, at[:, 0]], posterior.sb_grid[0, at[:, 1]], grids.sf[at[:, 2:]]
    over_shapes = np.exp(log_prior(np.exp(grids.m)) + grids.m)
    form = grids.given[at[:, 2]] * grids.given[at[:, 3]] * grids.given[at[:, 4]] @ over_shapes
    log = DenseModel(study, se, sb, sf).log_likelihood() + log_prior(sb) + np.log(sb) + np.log(form)
    weight = np.exp(log - log.max())
    keep = weight > 1e-9
    se, sb, sf, weight = se[keep], sb[keep], sf[keep], weight[keep] / weight[keep].sum()
    means, covariances = DenseModel(study, se, sb, sf).truth()
    mean = weight @ means
    sd = np.sqrt(weight @ (np.diagonal(covariances, axis1=1, axis2=2) + (means - mean) ** 2))

    drawn = posterior.draw(rng, 40_000)
    (found,) = posterior.truths(drawn, rng, chunk=40_000)
    size = 40_000 * max(drawn.effective, 0.02)
    values = found.values.transpose(1, 0, 2).reshape(mean.size, -1)
    assert np.all(abs(values.mean(axis=1) - mean) < 4.5 * sd / np.sqrt(size))
    assert np.all(abs(values.std(axis=1) / sd - 1) < 4.5 * np.sqrt(2 / size))
    for theirs, mine in (
        (se, found.se),
        (np.log(sb), np.log(found.sb)),
        (np.log(sf[:, 0]), np.log(found.sf[0])),
        (np.log(sf[:, 2]), np.log(found.sf[2])),
    ):
        middle = float(weight @ theirs)
        spread = float(np.sqrt(weight @ (theirs - middle) ** 2))
        assert abs(mine.mean() - middle) < 4.5 * spread / np.sqrt(size)


def test_grids_are_fine_enough_for_continuous_priors() -> None:
    """Draws on grids agree with importance sampling from the continuous priors, three balls and three axes."""
    rng = np.random.default_rng(3)
    y = 40 + np.array([[0.03, 0.05, 0.01], [-0.02, -0.05, 0.02], [0.0, 0.06, 0.03]])
    study = _study(y, 0.015, dof=6)
    size, scale = 600_000, study.prior_scale
    se = 0.015 * np.sqrt(6 / rng.chisquare(6, size))
    sb, typical = scale * np.tan(np.pi / 2 * rng.random((2, size)))
    om = abs(0.7 * rng.standard_normal(size))
    sf = typical * np.exp(om * rng.standard_normal((3, size)))
    w2 = sf**2 + se**2
    within, ball = ((y - y.mean(axis=1, keepdims=True)) ** 2).sum(axis=1), y.mean(axis=1)
    log = (-np.log(w2) - within[:, None] / (2 * w2)).sum(axis=0)
    v = sb**2 + w2 / 3
    grand = (ball[:, None] / v).sum(axis=0) / (1 / v).sum(axis=0)
    log += -0.5 * (np.log(v) + (ball[:, None] - grand) ** 2 / v).sum(axis=0) - 0.5 * np.log((1 / v).sum(axis=0))
    weight = np.exp(log - log.max())
    at = rng.choice(size, 40_000, p=weight / weight.sum())
    effective = weight.sum() ** 2 / (weight**2).sum()
    assert effective > 3000
    grand = grand[at] + rng.standard_normal(at.size) / np.sqrt((1 / v[:, at]).sum(axis=0))
    shrink = sb[at] ** 2 / v[:, at]
    level = (
        grand + shrink * (ball[:, None] - grand) + np.sqrt(shrink * w2[:, at] / 3) * rng.standard_normal((3, at.size))
    )
    keep = sf[:, at] ** 2 / w2[:, at]
    noise = sf[:, at] * np.sqrt(1 - keep) * rng.standard_normal((3, 3, at.size))
    theirs = statistics_of(level + keep * (y.T[:, :, None] - level) + noise)
    mine = statistics_of(_all(study, 40_000).values)
    spread = theirs.std(axis=1)
    error = 4.5 / np.sqrt(effective)
    assert np.all(abs(mine.mean(axis=1) - theirs.mean(axis=1)) / spread < error + 0.06)
    for share in (0.05, 0.5, 0.95):
        theirs_at = np.quantile(theirs, share, axis=1)
        assert np.all(abs((mine < theirs_at[:, None]).mean(axis=1) - share) < 0.5 * error + 0.02)


@pytest.mark.parametrize(
    ("balls", "axes", "spread", "noise", "effects"),
    [(6, 3, 0.0, 0.01, ()), (12, 4, 0.6, 0.02, ()), (12, 3, 0.6, 0.02, (0.03, -0.01, -0.02))],
)
def test_grids_agree_with_the_gibbs_sampler(
    balls: int, axes: int, spread: float, noise: float, effects: tuple[float, ...]
) -> None:
    """A Gibbs sampler with exact bounds, another route to the same posterior, gives the same means and SDs."""
    rng = np.random.default_rng(balls)
    study = simulate(rng, 1, balls, axes, form_spread=spread, noise=noise, axis_effects=effects).study
    exact = study.means[0][:, :, None]
    chains = Latent(study, Bounds(exact, exact), rng)
    theirs = np.concatenate([statistics_of(t.values) for t in chains.sample(rng, 10_240)], axis=1)
    mine = statistics_of(_all(study, 20_000).values)
    by_chain = theirs.reshape(len(STATISTICS), -1, 256).mean(axis=1)
    error = np.hypot(by_chain.std(axis=1, ddof=1) / 16, mine.std(axis=1) / np.sqrt(4_000))
    assert np.all(abs(mine.mean(axis=1) - theirs.mean(axis=1)) < 4 * error + 0.03 * mine.std(axis=1))
    assert np.allclose(mine.std(axis=1), theirs.std(axis=1), rtol=0.08)


def test_equal_form_agrees_with_generalised_pivots() -> None:
    """Mean and SD of the ball means agree within 10 % of their width with the pivots of methods."""
    rng = np.random.default_rng(12)
    study = simulate(rng, 1, 24, 4, form=0.03, ball_sd=0.04, noise=0.01, dof=30).study
    y = study.means[0]
    n, k = y.shape
    size = 40_000
    se2 = 30 * 0.01**2 / rng.chisquare(30, size)
    within = ((y - y.mean(axis=1, keepdims=True)) ** 2).sum()
    w2 = np.maximum(within / rng.chisquare(n * (k - 1), size), se2)
    total = k * ((y.mean(axis=1) - y.mean()) ** 2).sum() / rng.chisquare(n - 1, size)
    sb2 = np.maximum((total - w2) / k, 0.0)
    grand = y.mean() + np.sqrt(total / (n * k)) * rng.standard_normal(size)
    shrink = sb2 / (sb2 + w2 / k)
    level = grand + shrink * (y.mean(axis=1)[:, None] - grand)
    level = level + np.sqrt(shrink * w2 / k) * rng.standard_normal((n, size))
    keep = 1 - se2 / w2
    values = level + keep * (y.T[:, :, None] - level) + np.sqrt(se2 * keep) * rng.standard_normal((k, n, size))
    theirs, mine = statistics_of(values), statistics_of(_all(study, 20_000).values)
    for at, name in enumerate(STATISTICS):
        low, middle, high = np.quantile(theirs[at], [0.025, 0.5, 0.975])
        found = np.quantile(mine[at], [0.025, 0.5, 0.975])
        assert abs(found[1] - middle) < 0.25 * (high - low), name
        assert (found[2] - found[0]) / (high - low) == pytest.approx(1.0, abs=0.3), name


def test_one_reading_a_ball_follows_the_integral_over_the_spread() -> None:
    """With k = 1 and known se: the conjugate normal model, integrated over the SD between balls on 4,000 points."""
    y, se = 40 + np.array([0.031, -0.02, 0.004, 0.055, -0.013, 0.02]), 0.015
    truths = _all(_study(y[:, None], se), 40_000)
    spreads = np.geomspace(1e-5, 3, 4000)

    v = spreads**2 + se**2
    log = -(y.size - 1) / 2 * np.log(v) - ((y - y.mean()) ** 2).sum() / (2 * v)
    log += stats.halfcauchy(scale=0.04).logpdf(spreads) + np.log(spreads)
    weight = np.exp(log - log.max()) / np.exp(log - log.max()).sum()
    shrink = spreads**2 / (spreads**2 + se**2)
    means = y.mean() + shrink * (y[0] - y.mean())
    variances = shrink * se**2 + (1 - shrink) ** 2 * (spreads**2 + se**2) / y.size
    mean = float(weight @ means)
    sd = float(np.sqrt(weight @ (variances + means**2) - mean**2))
    assert truths.values[0, 0].mean() == pytest.approx(mean, abs=5 * sd / 200)
    assert truths.values[0, 0].std() == pytest.approx(sd, rel=0.02)
    assert np.log(truths.sb).mean() == pytest.approx(float(weight @ np.log(spreads)), abs=0.03)
    assert truths.mean.std() == pytest.approx(
        float(np.sqrt(weight @ ((spreads**2 + se**2) / y.size))), rel=0.03
    )  # fmt: skip


def test_one_ball_one_reading_is_reading_less_error() -> None:
    """With n = k = 1 the truth is normal about the reading, Student's t where the repeatability has few dof (scipy)."""
    for dof, theirs in ((1e9, stats.norm(40.1, 0.02)), (5.0, stats.t(5, 40.1, 0.02))):
        points = GridSize(noise=200, spread=2, ball_sd=2, finest=0.5, widest=0.5)
        values = _all(_study([[40.1]], 0.02, dof=dof), 40_000, size=points).values[0, 0]
        assert stats.ks_1samp(values, theirs.cdf).statistic < 0.012


def test_one_ball_follows_its_integral_over_form() -> None:
    """With n = 1 and k = 4, b = ybar + sqrt(w^2 / k) z, with w^2 from the integral over m, om and sf by scipy."""
    y, se = np.array([40.02, 40.07, 39.99, 40.05]), 0.012
    within = ((y - y.mean()) ** 2).sum()
    truths = _all(_study(y[None], se), 40_000)

    def prior(log_sf: float) -> float:
        om = np.linspace(1e-3, 3.0, 600)[:, None]
        m = log_sf + om * np.linspace(-6, 6, 400)
        level = np.exp(m) / 0.04
        over_m = integrate.trapezoid(stats.norm.pdf((log_sf - m) / om) / om * level / (1 + level**2), m, axis=1)
        return float(integrate.trapezoid(stats.halfnorm(scale=0.7).pdf(om[:, 0]) * over_m, om[:, 0]))

    logs = np.linspace(np.log(2e-4), np.log(3.0), 90)
    sf2 = np.exp(2 * logs)
    w2 = sf2 + se**2
    weight = np.array([prior(x) for x in logs]) * w2**-1.5 * np.exp(-within / (2 * w2))
    weight /= weight.sum()
    assert truths.level[0].mean() == pytest.approx(y.mean(), abs=0.001)
    low, high = np.quantile(truths.level[0], [0.1, 0.9])
    inside = weight @ (
        special.ndtr((high - y.mean()) / np.sqrt(w2 / 4)) - special.ndtr((low - y.mean()) / np.sqrt(w2 / 4))
    )
    assert inside == pytest.approx(0.8, abs=0.015)
    keep = float(weight @ (sf2 / w2))
    found = truths.values[:, 0].mean(axis=1) - y.mean()
    assert np.allclose(found, keep * (y - y.mean()), atol=0.0008)


def test_known_variances_give_generalised_least_squares() -> None:
    """One reading a ball in three sittings: the dense covariance with numpy, integrated over the SD between balls."""
    rng = np.random.default_rng(4)
    y, se = 40 + 0.03 * rng.standard_normal((9, 1)), 0.01
    shares = np.eye(3)[np.arange(9) % 3][:, None, :]
    kind = LevelKind("zero", ("a", "b", "c"), shares, np.array([0.01, 0.02, 0.04]))
    study = _study(y, se, kinds=(kind,))
    found = _all(study, 40_000)
    spreads = np.geomspace(1e-4, 1.0, 300)
    model = DenseModel(study, np.full(300, se), spreads, np.zeros((300, 9)))
    log = model.log_likelihood() + stats.halfcauchy(scale=0.04).logpdf(spreads) + np.log(spreads)
    weight = np.exp(log - log.max()) / np.exp(log - log.max()).sum()
    means, covariances = model.truth()
    mean = weight @ means
    off = means - mean
    covariance = np.einsum("p,pij->ij", weight, covariances + off[:, :, None] * off[:, None, :])
    assert np.allclose(found.values[0].mean(axis=1), mean, atol=0.0008)
    assert np.allclose(np.cov(found.values[0]), covariance, atol=0.03 * covariance.diagonal().max())


def test_shared_errors_are_taken_off_draw_by_draw() -> None:
    """With the same seed, values with a shared error are those without it less the error, axis by axis and in mean."""
    study = simulate(np.random.default_rng(5), 1, 6, 3).study
    posterior = Posterior(study)
    error = 0.01 * np.random.default_rng(9).standard_normal(2000)
    plain = list(posterior.sample(np.random.default_rng(6), 2000))
    less = list(posterior.sample(np.random.default_rng(6), 2000, error))
    for a, b in zip(plain, less, strict=True):
        part = error[a.first : a.first + a.sb.size]
        assert np.allclose(a.values - b.values, part, atol=1e-12)
        assert np.allclose(a.mean - b.mean, part, atol=1e-12)


def test_common_part_of_the_levels_is_left_to_the_keyed_draws() -> None:
    """Two like sittings, half the readings each: with keyed errors the mean's variance is that of the dense model."""
    rng = np.random.default_rng(6)
    shares = np.eye(2)[np.arange(12) % 2][:, None, :]
    kind = LevelKind("zero", ("a", "b"), shares, np.array([0.05, 0.05]))
    y = 40 + 0.02 * rng.standard_normal((12, 1)) + 0.04 * shares[:, :, 0]
    study = _study(y, 0.005, kinds=(kind,))
    posterior = Posterior(study)
    errors = 0.5 * 0.05 * (rng.standard_normal(20_000) + rng.standard_normal(20_000))
    (truths,) = posterior.truths(posterior.draw(rng, 20_000), rng, errors, chunk=20_000)
    assert truths.values[0].mean(axis=0).std() == pytest.approx(0.05 / np.sqrt(2), rel=0.05)
    assert truths.values[0].mean(axis=0).mean() == pytest.approx(float(y.mean()), abs=0.002)


def test_moving_and_scaling_the_readings_moves_and_scales_the_truth() -> None:
    """With unit, noise and prior scale multiplied and a constant added, every draw follows exactly (invariance)."""
    study = simulate(np.random.default_rng(7), 1, 8, 3, form_spread=0.5).study
    other = replace(
        study, means=7.0 + 1000 * study.means, noise=Noise(1000 * study.noise.sd, study.noise.dof),
        prior_scale=1000 * study.prior_scale,
    )  # fmt: skip
    a, b = _all(study, 2000, seed=3), _all(other, 2000, seed=3)
    assert np.allclose(7.0 + 1000 * a.values, b.values, rtol=0, atol=1e-5)
    assert np.allclose(1000 * a.sb, b.sb, rtol=1e-6)


def test_studies_drawn_side_by_side_agree_with_each_alone() -> None:
    """Medians of a study drawn among others and alone differ by Monte Carlo error and grid only (a tenth of the SD)."""
    simulated = simulate(np.random.default_rng(8), 5, 10, 3, form_spread=0.6)
    study = simulated.study
    posterior, rng = Posterior(study, COARSE), np.random.default_rng(1)
    (together,) = posterior.truths(posterior.draw(rng, 8000), rng, chunk=40_000)
    found = statistics_of(together.values).reshape(len(STATISTICS), 5, 8000)
    for t in range(5):
        alone = statistics_of(_all(replace(study, means=study.means[t : t + 1], sse=study.sse[:1]), 8000).values)
        apart = abs(np.median(found[:, t], axis=1) - np.median(alone, axis=1))
        assert np.all(apart < 0.12 * alone.std(axis=1))


def test_a_gross_slip_breaks_nothing() -> None:
    """A reading ten times too large leaves finite draws, and the other balls stay within noise of their readings."""
    study = simulate(np.random.default_rng(9), 1, 24, 4, form=0.01, noise=0.008).study
    means = study.means.copy()
    means[0, 0, 1] *= 10
    found = _all(replace(study, means=means), 4000).values
    assert np.isfinite(found).all()
    assert np.all(abs(np.median(found[:, 1:], axis=2) - means[0, 1:].T) < 0.05)


def test_one_ball_read_in_two_sittings_has_a_posterior() -> None:
    """One ball of three axes in two sittings: the dense model has an answer, so draws must exist and agree with it."""
    shares = np.eye(2)[[[0, 1, 1]]]
    kind = LevelKind("zero", ("a", "b"), shares, np.array([0.01, 0.01]))
    study = _study([[40.0, 40.02, 40.03]], 0.005, kinds=(kind,))
    found = _all(study, 4000)
    assert found.values.mean() == pytest.approx(40.017, abs=0.004)
