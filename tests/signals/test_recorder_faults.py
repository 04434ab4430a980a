from __future__ import annotations

import numpy as np
import pytest

from ballbench.signals.attacks import STEP, band_levels
from ballbench.signals.recorder_faults import at_the_limit, floor_dip, level_fall

RATE = 48_000


def test_runs_at_the_limit_are_found_and_waves_are_not() -> None:
    """A slow wave clipped at 0.7: exactly the samples beyond it; the same wave unclipped, and faster, has none."""
    time = np.arange(4800) / RATE
    wave = np.sin(2.0 * np.pi * 100.0 * time)
    flat = at_the_limit(np.clip(wave, -0.7, 0.7).astype(np.float32))
    assert set(np.flatnonzero(np.abs(wave) >= 0.7)) <= set(flat.tolist())
    assert np.all(np.abs(wave[flat]) > 0.69)
    assert at_the_limit(np.sin(2.0 * np.pi * 3000.0 * time).astype(np.float32)).size == 0
    assert at_the_limit(np.zeros(100, np.float32)).size == 0
    assert at_the_limit(np.zeros(0, np.float32)).size == 0


def test_levels_fall_as_speeds_say() -> None:
    """Exact: pressure in proportion to speed, speeds to intervals; fall and expectation agree. Even levels: no fall."""
    intervals = 0.4 * 0.85 ** np.arange(8)
    levels = 20.0 * np.log10(np.concatenate([[0.47], intervals]))
    fall, expected = level_fall(levels, intervals)
    assert fall == pytest.approx(expected)
    assert expected == pytest.approx(-7 * 20.0 * np.log10(0.85))
    assert level_fall(np.zeros(9), intervals)[0] == pytest.approx(0.0)
    assert np.isnan(level_fall(levels[:3], intervals[:2])[0])


@pytest.mark.parametrize("gain", [0.0, 10.0])
def test_a_gain_that_is_turned_down_shows_in_the_quiet(gain: float) -> None:
    """White noise, 10 dB less from the first impact on: a dip of 10 dB to within 1; none where there was none."""
    noise = 1e-3 * np.random.default_rng(1).standard_normal(3 * RATE)
    noise[RATE:] *= 10.0 ** (-gain / 20.0)
    levels = band_levels(noise.astype(np.float32), RATE)
    assert floor_dip(levels, STEP, [1.0, 1.5, 2.0, 2.4]) == pytest.approx(gain, abs=1.0)
    assert np.isnan(floor_dip(levels, STEP, [0.03, 0.5, 0.9]))
