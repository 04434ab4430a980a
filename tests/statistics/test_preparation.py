from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.made_samples import bench_of, sample_of

from ballbench.records import Expansion, Squeeze, Temperature
from ballbench.statistics.latent import Latent, needs_bounds
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.preparation import Shared, engine, prepare, shared_draws
from ballbench.statistics.study import Noise

PLASTIC, STEEL = 9e-5, 11.5e-6
Y = 40 + np.random.default_rng(1).normal(0, 0.03, (12, 3)).round(4)
HALVES = np.repeat([[0], [1]], 6, axis=0) * np.ones((1, 3), int)


@pytest.mark.parametrize("temperature", [15.0, 20.0, 28.0])
def test_lengths_come_back_to_the_reference_temperature(temperature: float) -> None:
    """A ball and a steel scale that both grew with the warmth give back the size at 23 degC to 0.1 micrometre."""
    true = 40.0 + 0.05 * np.random.default_rng(2).standard_normal((6, 2))
    ball = true * (1 + PLASTIC * (temperature - 23.0))
    read = ball / (1 + STEEL * (temperature - 20.0))
    bench = bench_of(temperature=Temperature(temperature, 0.5, 23.0), expansion=Expansion(PLASTIC, 0.1))
    found = prepare(sample_of(read), bench)
    assert np.allclose(found.study.means[0], true, atol=1e-4)
    assert found.correction == pytest.approx(float((true - read).mean()), abs=1e-4)


def test_offset_is_taken_off_and_squeeze_is_added() -> None:
    """A caliper that reads 0.02 mm too much, on balls that the jaws press in by 0.03 mm: truth is reading + 0.01 mm."""
    found = prepare(sample_of(Y), bench_of(offset=0.02, squeeze={"A": Squeeze(0.03, 0.004)}))
    assert np.allclose(found.study.means[0], Y + 0.01, atol=1e-12)
    assert [(s.kind, s.key, s.sd) for s in found.shared] == [("squeeze", "A", 0.004)]


def test_shared_uncertainty_adds_in_squares() -> None:
    """Offset, scale, temperature, expansion and squeeze combine as JCGM 100:2008, 5.1.2 says, one draw for all."""
    bench = bench_of(
        offset_sd=0.01, scale_sd=1e-4, temperature=Temperature(28.0, 1.0, 23.0), expansion=Expansion(PLASTIC, 0.2),
        squeeze={"A": Squeeze(0.0, 0.004)},
    )  # fmt: skip
    found = prepare(sample_of(Y), bench)
    parts = [0.01, 40 * 1e-4, 40 * PLASTIC * 1.0, 40 * PLASTIC * 0.2 * 5.0, 0.004]
    assert found.shared_sd == pytest.approx(float(np.sqrt(np.sum(np.square(parts)))), rel=1e-3)
    drawn = shared_draws(found.shared, 1, 0, 40_000)
    assert drawn.std() == pytest.approx(found.shared_sd, rel=0.02)
    assert abs(drawn.mean()) < 4 * found.shared_sd / 200


def test_other_quantities_have_no_temperature() -> None:
    """A mass is neither corrected for temperature nor squeezed (methods speaks of lengths)."""
    bench = bench_of(temperature=Temperature(28.0, 1.0, 23.0), expansion=Expansion(PLASTIC, 0.2))
    tool = replace(bench.instruments["caliper"], quantity="mass", unit="g")
    found = prepare(sample_of(Y, quantity="mass"), replace(bench, instruments={"caliper": tool}))
    assert np.array_equal(found.study.means[0], Y)
    assert found.shared == ()


def test_same_key_draws_the_same_numbers() -> None:
    """Products that share an error share its draws; another key, kind, seed or round gives others (correlation)."""
    one = Shared("calibration", "diameter/caliper", 0.01)
    base = shared_draws([one], 5, 0, 20_000)
    assert np.array_equal(base, shared_draws([one], 5, 0, 20_000))
    assert np.allclose(2 * base, shared_draws([replace(one, sd=0.02)], 5, 0, 20_000))
    for row, seed, start in (
        (replace(one, key="diameter/other"), 5, 0), (replace(one, kind="zero"), 5, 0), (one, 6, 0), (one, 5, 20_000)
    ):  # fmt: skip
        assert abs(np.corrcoef(base, shared_draws([row], seed, start, 20_000))[0, 1]) < 0.03


def test_zero_of_each_sitting_is_a_level_with_the_rounding_of_the_display() -> None:
    """Two sittings zeroed once each: two levels of step / sqrt(12) (JCGM 100:2008, F.2.2.1), whose mean is shared."""
    found = prepare(sample_of(Y, sittings=HALVES), bench_of(zeroed="each sitting", resolution=0.01))
    (kind,) = found.study.kinds
    assert np.allclose(kind.sd, 0.01 / np.sqrt(12))
    assert np.allclose(kind.shares.sum(axis=2), 1.0)
    assert found.shared_sd == pytest.approx(0.01 / np.sqrt(12) / np.sqrt(2))


def test_one_temperature_for_all_sittings_is_one_error() -> None:
    """One thermometer reading for two sittings does not average out: the shared SD is that of one sitting."""
    warm = {"temperature": Temperature(28.0, 1.0, 23.0), "expansion": Expansion(PLASTIC, 0.0)}
    found = prepare(sample_of(Y, sittings=HALVES), bench_of(**warm))
    assert found.shared_sd == pytest.approx(40 * PLASTIC, rel=1e-3)
    assert found.study.kinds == ()


def test_expansion_is_one_error_whatever_the_sittings() -> None:
    """Two sittings at one temperature share the coefficient: the shared SD is that of one temperature."""
    warm, expansion = Temperature(18.0, 0.0, 23.0), Expansion(PLASTIC, 0.2)
    once = prepare(sample_of(Y, sittings=HALVES), bench_of(temperature=warm, expansion=expansion))
    each = {"0": warm, "1": warm}
    twice = prepare(sample_of(Y, sittings=HALVES), bench_of(sitting_temperatures=each, expansion=expansion))
    assert once.shared_sd == pytest.approx(40 * PLASTIC * 0.2 * 5.0, rel=1e-3)
    assert twice.shared_sd == pytest.approx(once.shared_sd, rel=1e-3)


def test_an_error_of_one_instrument_does_not_touch_the_readings_of_the_other() -> None:
    """Half read with an instrument without offset error: the mean has at most half of the other's 0.02 mm."""
    bench = bench_of(offset_sd=0.02, second=(1e-4, 0.01, 1e6))
    found = prepare(sample_of(Y, tools=HALVES), bench)
    total = float(np.sqrt(sum((s.sd * s.weight) ** 2 for s in found.shared)))
    assert total <= 0.011 or found.study.kinds


def test_a_poorer_instrument_counts_less() -> None:
    """A reading with twice the SD counts a quarter: weights are inverse variances (weighted least squares)."""
    bench = bench_of(second=(1e-4, 0.02, 1e6))
    found = prepare(sample_of(Y, tools=HALVES), bench)
    assert np.allclose(found.study.counts[:6], 1.0)
    assert np.allclose(found.study.counts[6:], 0.25)


def test_repeats_with_a_poorer_instrument_do_not_spoil_the_reference() -> None:
    """Repeats with SD 0.10 by a second instrument tell nothing of a caliper of SD 0.01: pooled SD stays near 0.01."""
    rng = np.random.default_rng(3)
    y = np.repeat(Y[:, :, None], 2, axis=2) + np.where(HALVES == 1, 0.10, 0.01)[:, :, None] * rng.standard_normal(
        (12, 3, 2)
    )
    found = prepare(sample_of(y, tools=HALVES), bench_of(sd=0.01, dof=20, second=(1e-4, 0.10, 20.0)))
    study = found.study
    pooled = np.sqrt((20 * 0.01**2 + study.sse[0]) / (20 + study.sse_dof))
    assert pooled == pytest.approx(0.01, rel=0.25)


def test_prior_scale_is_a_thousandth_or_the_display_step() -> None:
    """A = max(0.1 % of nominal, resolution) (methods)."""
    assert prepare(sample_of(Y), bench_of(resolution=0.01)).study.prior_scale == pytest.approx(0.04, rel=1e-3)
    assert prepare(sample_of(Y), bench_of(sd=0.2, resolution=0.1)).study.prior_scale == 0.1


def test_axis_effects_need_labels_three_balls_and_every_place() -> None:
    """Effects of places are fitted for labelled axes that every one of three balls or more has (methods)."""
    names = ("seam", "across", "free")
    gap = Y.copy()
    gap[0, 0] = np.nan
    assert prepare(sample_of(Y, axes=names), bench_of()).study.axis_effects
    assert not prepare(sample_of(Y), bench_of()).study.axis_effects
    assert not prepare(sample_of(Y[:2], axes=names), bench_of()).study.axis_effects
    assert not prepare(sample_of(gap, axes=names), bench_of()).study.axis_effects


@pytest.mark.parametrize(
    ("sd", "spread", "coarse"), [(0.02, 0.03, False), (0.02, 0.002, True), (0.004, 0.03, True), (0.02, 0.0, True)]
)
def test_coarse_displays_are_told_by_noise_and_spread(sd: float, spread: float, coarse: bool) -> None:
    """Under half a step of noise or of spread within balls, or most balls all equal: intervals (methods)."""
    rng = np.random.default_rng(4)
    y = 40 + 0.03 * rng.standard_normal((8, 1)) + spread * rng.standard_normal((8, 3))
    study = prepare(sample_of(y), bench_of()).study
    assert needs_bounds(replace(study, noise=Noise(sd, 20)), 0.01) is coarse


def test_a_coarse_display_becomes_intervals_one_step_wide() -> None:
    """Rounded values lie within half a step either way, truncated ones up to a step above; noise loses step^2 / 12."""
    y = np.round(Y, 1)
    rounded = prepare(sample_of(y, step=0.1), bench_of(sd=0.04, resolution=0.1))
    truncated = prepare(sample_of(y, step=0.1), bench_of(sd=0.04, resolution=0.1, display="truncates"))
    for found, below, above in ((rounded, 0.05, 0.05), (truncated, 0.0, 0.1)):
        assert found.bounds is not None
        assert np.allclose(found.bounds.low[:, :, 0], y - below)
        assert np.allclose(found.bounds.high[:, :, 0], y + above)
        assert found.study.noise.sd == pytest.approx(np.sqrt(0.04**2 - 0.1**2 / 12))
    assert isinstance(engine(prepare(sample_of(Y), bench_of()), np.random.default_rng(1)), Posterior)


def test_found_extremes_stand_beside_hidden_looks() -> None:
    """Largest and smallest of twelve looks: two written, ten hidden between them, none of them a labelled axis."""
    y = np.column_stack([Y.max(axis=1), Y.min(axis=1)])
    found = prepare(sample_of(y, axes=("largest found", "smallest found")), bench_of())
    assert found.bounds is not None
    assert (found.bounds.largest, found.bounds.smallest) == (0, 1)
    assert found.bounds.hidden == tuple(range(2, 12))
    assert found.study.shape == (1, 12, 12)
    assert not found.study.axis_effects
    assert isinstance(engine(found, np.random.default_rng(1)), Latent)


def test_the_zero_of_one_instrument_is_no_error_of_the_other() -> None:
    """One caliper zeroed once, the other before each reading, half the balls each: the mean bears half of the zero."""
    bench = bench_of(zeroed="each sitting", resolution=0.01, sd=0.02, second=(0.01, 0.02, 1e6))
    found = prepare(sample_of(Y, tools=HALVES, step=0.01), bench)
    assert found.shared_sd < 0.6 * 0.01 / np.sqrt(12) or found.study.kinds
