from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.which_ball import told, which_ball

SD = 0.006  # g


def test_chances_are_those_of_bayes_theorem() -> None:
    """Densities by scipy.stats.norm, reading and mean both noisy, divided by their sum; a ball never read has none."""
    means, counts = np.array([2.70, 2.71, np.nan, 2.73, 2.705]), np.array([1, 2, 0, 3, 8])
    found = which_ball(2.708, means, counts, SD)
    read = [0, 1, 3, 4]
    density = stats.norm.pdf(2.708, means[read], np.sqrt(SD**2 + SD**2 / counts[read]))
    assert found[read] == pytest.approx(density / density.sum(), rel=1e-12)
    assert np.isnan(found[2])
    assert np.isnan(which_ball(2.7, [2.7, 2.7], [3, 0], SD)).tolist() == [False, True]


def test_a_chance_is_right_as_often_as_it_says() -> None:
    """Of 40,000 balls read again from trays with known truth, chances of 0.1 to 0.99 come true as often as they say.

    Masses are spread evenly over 40 SDs, as nothing known beforehand means; limits are four SDs of the count.
    """
    rng = np.random.default_rng(17)
    chances, right = [], []
    for _ in range(5000):
        true = rng.uniform(2.60, 2.60 + 40 * SD, 8)
        counts = rng.integers(1, 4, 8)
        means = true + rng.normal(0.0, SD, 8) / np.sqrt(counts)
        ball = int(rng.integers(0, 8))
        chances.append(which_ball(true[ball] + rng.normal(0.0, SD), means, counts, SD))
        right.append(np.arange(8) == ball)
    said, true_share = np.concatenate(chances), np.concatenate(right)
    for low, high in ((0.05, 0.2), (0.3, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.0)):
        some = (said >= low) & (said < high)
        expected = said[some].mean()
        assert some.sum() > 400
        assert true_share[some].mean() == pytest.approx(
            expected, abs=4 * np.sqrt(expected * (1 - expected) / some.sum())
        )


def test_masses_that_vary_naturally_are_told_right() -> None:
    """Where masses scatter by 10 SDs of the scale, of those told at 95 % at least 95 % are right (simulation)."""
    rng = np.random.default_rng(18)
    hits, cases = 0, 0
    for _ in range(3000):
        true = rng.normal(2.71, 10 * SD, 6)
        counts = np.full(6, 2)
        means = true + rng.normal(0.0, SD, 6) / np.sqrt(2)
        ball = int(rng.integers(0, 6))
        named = told(which_ball(true[ball] + rng.normal(0.0, SD), means, counts, SD))
        cases += named is not None
        hits += named == ball
    assert cases > 600
    assert hits >= (0.95 - 4 * np.sqrt(0.05 * 0.95 / cases)) * cases


def test_a_ball_is_told_only_where_one_stands_out() -> None:
    """Far apart it is named, between two it is not, and a tray that was never read names nobody."""
    assert told(which_ball(2.75, [2.70, 2.75, 2.80], [2, 2, 2], SD)) == 1
    between = which_ball(2.725, [2.70, 2.75], [2, 2], SD)
    assert between == pytest.approx([0.5, 0.5])
    assert told(between) is None
    assert told(between, level=0.4) == 0
    assert told(which_ball(2.7, [np.nan, np.nan], [0, 0], SD)) is None
    assert told(which_ball(2.7, [], [], SD)) is None


def test_a_reading_far_from_all_balls_gives_finite_chances() -> None:
    """Thousands of SDs away no density is above 0 in float64, and still the nearest ball has the largest chance."""
    found = which_ball(40.0, [2.70, 2.71, np.nan], [1, 1, 0], SD)
    assert np.nansum(found) == pytest.approx(1.0)
    assert np.nanargmax(found) == 1


def test_what_gives_no_chances_is_refused() -> None:
    """All faults at once: no reading, no scatter, means without counts; and a negative count."""
    with pytest.raises(BadRequest) as caught:
        which_ball(float("nan"), [2.7], [1, 2], 0.0)
    assert [fault.where for fault in caught.value.faults] == ["reading", "sd", "means"]
    with pytest.raises(BadRequest, match="counts"):
        which_ball(2.7, [2.7], [-1], SD)
