from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import TTestIndPower

from ballbench.errors import BadRequest
from ballbench.statistics.two_samples import brown_forsythe, holm, rank_test, smallest_difference, welch

DATA = Path(__file__).resolve().parents[1] / "reference" / "spreads"


def sample_with(n: int, mean: float, sd: float) -> NDArray[np.float64]:
    """Make a sample with exactly this mean and SD."""
    raw = stats.norm.ppf((np.arange(n) + 0.5) / n)
    return np.asarray(mean + sd * (raw - raw.mean()) / raw.std(ddof=1))


def test_the_handbook_example_of_two_means() -> None:
    """T -12.94627, 136.87499 degrees of freedom, p 1.571e-25 (NIST/SEMATECH handbook 1.3.5.3 data, seen)."""
    found = welch(sample_with(249, 20.14458, 6.41470), sample_with(79, 30.48101, 6.10771))
    assert found.t == pytest.approx(-12.94627, abs=2e-5)
    assert found.dof == pytest.approx(136.87499, abs=1e-4)
    assert found.p == pytest.approx(1.571e-25, rel=1e-3)
    assert found.difference == pytest.approx(20.14458 - 30.48101)


def test_two_means_agree_with_a_second_opinion() -> None:
    """Statistic, degrees of freedom, p and interval agree with scipy to 10 digits on unequal samples."""
    rng = np.random.default_rng(22)
    a, b = rng.normal(40.0, 0.05, 12), rng.normal(40.02, 0.15, 7)
    found, other = welch(a, b, 0.9), stats.ttest_ind(a, b, equal_var=False)
    ends = other.confidence_interval(0.9)
    assert (found.t, found.dof, found.p) == pytest.approx((other.statistic, other.df, other.pvalue), rel=1e-10)
    assert (found.low, found.high) == pytest.approx((ends.low, ends.high), rel=1e-10)


def test_intervals_of_a_difference_hold_the_truth_as_often_as_they_say() -> None:
    """Of 4,000 simulated pairs with unequal spread and size, 95 % hold the true difference (known truth)."""
    rng = np.random.default_rng(23)
    held = []
    for _ in range(4000):
        found = welch(rng.normal(1.0, 1.0, 12), rng.normal(0.0, 3.0, 8))
        held.append(found.low <= 1.0 <= found.high)
    assert np.mean(held) == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / 4000))


def test_samples_without_spread_are_said_not_tested() -> None:
    """Equal readings give the difference and NaN for the rest, one sample with spread is enough for a test."""
    found = welch([40.1] * 5, [40.2] * 5)
    assert found.difference == pytest.approx(-0.1)
    assert (found.u, math.isnan(found.p), math.isnan(found.low)) == (0.0, True, True)
    half = welch([40.1] * 5, [40.2, 40.3, 40.4])
    assert half.dof == pytest.approx(2.0)
    assert math.isnan(brown_forsythe([1.0, 1.0], [2.0, 2.0]).p)
    assert rank_test([1.0, 1.0], [1.0, 1.0]).p == 1.0


def test_the_handbook_example_of_equal_spreads() -> None:
    """W = 1.7059 with 9 and 90 degrees of freedom, level 90.09 % (second-hand; data from memory, verified by it)."""
    batches = np.loadtxt(DATA / "gear.csv", delimiter=",", skiprows=1)[:, 1:]
    found = brown_forsythe(*batches)
    assert found.statistic == pytest.approx(1.7059, abs=5e-5)
    assert (found.dof_between, found.dof_within) == (9, 90)
    assert 1 - found.p == pytest.approx(0.9009, abs=5e-5)


def test_ranks_of_separate_samples_are_exact() -> None:
    """Three above four without ties: share 1 and p = 2/35, one of 35 orders on either side (exact counting)."""
    found = rank_test([5.0, 6.0, 7.0], [1.0, 2.0, 3.0, 4.0])
    assert found.share == 1.0
    assert found.p == pytest.approx(2 / 35)


def test_the_share_of_pairs_counts_ties_half() -> None:
    """Of the four pairs of (1, 2) and (2, 3) none is above and one is tied: 1/8 (exact counting)."""
    assert rank_test([1.0, 2.0], [2.0, 3.0]).share == pytest.approx(1 / 8)
    assert rank_test([2.0, 3.0], [1.0, 2.0]).share == pytest.approx(7 / 8)


@settings(deadline=None, derandomize=True)
@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=12))
def test_adjusted_p_values_agree_with_a_second_opinion(values: list[float]) -> None:
    """Holm's adjustment agrees with statsmodels for any list."""
    assert holm(values) == pytest.approx(multipletests(values, method="holm")[1], abs=1e-12)


def test_comparisons_that_could_not_be_made_do_not_count() -> None:
    """0.01, 0.04, 0.03 become 0.03, 0.06, 0.06 (Holm's rule by hand), with or without a NaN between them."""
    assert holm([0.01, 0.04, 0.03]) == pytest.approx([0.03, 0.06, 0.06])
    assert holm([0.01, math.nan, 0.04, 0.03]) == pytest.approx([0.03, math.nan, 0.06, 0.06], nan_ok=True)
    assert holm([]).size == 0


@pytest.mark.parametrize(("n", "printed"), [(3, 3.1), (6, 1.8), (12, 1.2), (24, 0.83)])
def test_the_smallest_difference_told_shrinks_with_the_sample(n: int, printed: float) -> None:
    """3.1, 1.8, 1.2 and 0.83 SD for 3, 6, 12 and 24 balls each (computed before), as statsmodels says to six digits."""
    found = smallest_difference(1.0, 1.0, n, n)
    assert found == pytest.approx(printed, abs=0.05 if n < 24 else 0.005)
    assert found == pytest.approx(TTestIndPower().solve_power(None, n, 0.05, 0.8), rel=1e-6)


def test_the_smallest_difference_is_told_as_often_as_asked_when_spreads_differ() -> None:
    """With SDs 1 and 3 and sizes 15 and 10 Welch's test tells it in 80 % of 20,000 simulated pairs (known truth)."""
    shift = smallest_difference(1.0, 3.0, 15, 10)
    rng = np.random.default_rng(24)
    a, b = rng.normal(shift, 1.0, (20_000, 15)), rng.normal(0.0, 3.0, (20_000, 10))
    told = stats.ttest_ind(a, b, axis=1, equal_var=False).pvalue < 0.05
    assert told.mean() == pytest.approx(0.8, abs=0.015)


def test_the_smallest_difference_has_the_unit_of_the_spread() -> None:
    """Twice the SDs need twice the difference, more power needs more (exact scaling)."""
    assert smallest_difference(0.02, 0.04, 6, 8) == pytest.approx(2 * smallest_difference(0.01, 0.02, 6, 8))
    assert smallest_difference(1.0, 1.0, 6, 6, power=0.99) > smallest_difference(1.0, 1.0, 6, 6, power=0.8)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda: welch([1.0], [1.0, math.nan]), "sample 1"),
        (lambda: welch([1.0, 2.0], [1.0, 2.0], 95), "0.95 for 95 %"),
        (lambda: brown_forsythe([1.0, 2.0]), "two at least"),
        (lambda: rank_test([1.0, 2.0], [math.inf, 1.0]), "sample 2"),
        (lambda: holm([1.2]), "numbers from 0 to 1"),
        (lambda: smallest_difference(0.0, 0.0, 1, 5, power=0.01), "alpha < power"),
    ],
)
def test_samples_that_cannot_be_compared_are_refused(wrong: object, words: str) -> None:
    """Each gives one message that says where and what is allowed."""
    with pytest.raises(BadRequest, match=words):
        wrong()  # type: ignore[operator]
