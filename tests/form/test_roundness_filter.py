from __future__ import annotations

import math

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.form.roundness_filter import CUTOFFS, filtered, points_needed, transmission

N = 1440
THETA = np.arange(N) * 2 * math.pi / N


def test_half_of_the_amplitude_passes_at_the_cut_off() -> None:
    """Half at the cut-off (definition of the cut-off of Gaussian filters, seen quoted), 0.84, 1/16, 1/512 elsewhere.

    2^-((n/nc)^2) = exp(-pi (a n/nc)^2), a = sqrt(ln 2/pi), by algebra.
    """
    assert transmission([25, 50, 100, 150], 50) == pytest.approx([0.8408964, 0.5, 0.0625, 1 / 512], abs=1e-7)
    ratio = np.linspace(0, 4, 30)
    assert transmission(ratio * 15, 15) == pytest.approx(np.exp(-math.log(2) * ratio**2))


@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize("n", [0, 2, 15, 50, 150])
def test_a_wave_comes_out_as_high_as_the_transmission_says(n: int, cutoff: float) -> None:
    """Amplitude of a filtered cosine, read back with numpy's least squares."""
    out = filtered(20.0 + 0.05 * np.cos(n * THETA + 0.4), cutoff)
    rows = np.column_stack([np.ones(N), np.cos(n * THETA), np.sin(n * THETA)])
    _, a, b = np.linalg.lstsq(rows, out - (20.0 if n else 0.0), rcond=None)[0]
    expected = 0.05 * 2 ** -((n / cutoff) ** 2)
    if n:
        assert math.hypot(a, b) == pytest.approx(expected, abs=1e-12)


def test_the_filter_is_the_mean_with_gaussian_weights_around() -> None:
    """Direct sums with the weights of ISO 16610-21, 1/(a c) exp(-pi (x/(a c))^2), wrapped round the turn.

    c is the arc of one undulation at the cut-off. To 1e-9: the sum over points in place of the integral.
    """
    rng = np.random.default_rng(2)
    r = 20.0 + rng.normal(0, 0.01, N)
    alpha, wave = math.sqrt(math.log(2) / math.pi), 2 * math.pi / 50
    away = (THETA[:, None] - THETA[None, :] + math.pi) % (2 * math.pi) - math.pi
    weights = np.exp(-math.pi * (away / (alpha * wave)) ** 2) / (alpha * wave) * (2 * math.pi / N)
    assert filtered(r, 50) == pytest.approx(weights @ r, abs=1e-9)


def test_gaps_are_bridged_by_what_stands_beside_them_and_no_further() -> None:
    """With a gap: the weighted mean of the points seen (direct sums), NaN where most of the weight is in the gap."""
    rng = np.random.default_rng(2)
    r = 20.0 + 0.03 * np.cos(3 * THETA) + rng.normal(0, 0.005, N)
    seen = np.ones(N, dtype=bool)
    seen[100:160] = False
    holes = np.where(seen, r, np.nan)
    alpha, wave = math.sqrt(math.log(2) / math.pi), 2 * math.pi / 50
    away = (THETA[:, None] - THETA[None, :] + math.pi) % (2 * math.pi) - math.pi
    weights = np.exp(-math.pi * (away / (alpha * wave)) ** 2) * seen
    mean = (weights @ np.nan_to_num(holes)) / weights.sum(axis=1)
    out = filtered(holes, 50, seen)
    known = np.isfinite(out)
    assert not known[130]
    assert known[:95].all()
    assert out[known] == pytest.approx(mean[known], abs=1e-9)


def test_points_all_seen_need_no_bridge() -> None:
    """A mask without gaps changes nothing (definition)."""
    r = 20.0 + np.random.default_rng(3).normal(0, 0.01, N)
    assert np.array_equal(filtered(r, 15, np.ones(N, dtype=bool)), filtered(r, 15))


def test_too_few_points_or_no_cut_off_are_refused() -> None:
    """Seven points an undulation (ISO 12181-2, from memory): 105, 350 and 1,050."""
    assert [points_needed(one) for one in CUTOFFS] == [105, 350, 1050]
    with pytest.raises(BadRequest, match="104 points"):
        filtered(np.ones(104), 15)
    with pytest.raises(BadRequest, match="above 0"):
        filtered(np.ones(1000), 0.0)
    with pytest.raises(BadRequest, match="no point"):
        filtered(np.ones(1000), 15, np.zeros(1000, dtype=bool))
