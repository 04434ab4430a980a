from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.normal_range import d2, d3, noise_floor, range_cdf, range_quantile

DATA = Path(__file__).resolve().parents[1] / "reference" / "normal_range"
PUBLISHED = np.genfromtxt(DATA / "constants.csv", delimiter=",", names=True)
COMPUTED = np.genfromtxt(DATA / "computed.csv", delimiter=",", names=True)


def test_mean_and_sd_of_the_range_are_those_of_the_tables() -> None:
    """d2 and d3 for 2 to 10 readings as in ASTM control chart constants (seen), to three decimals."""
    for row in PUBLISHED:
        assert d2(int(row["n"])) == pytest.approx(row["d2"], abs=5.1e-4)
        assert d3(int(row["n"])) == pytest.approx(row["d3"], abs=5.1e-4)


def test_constants_agree_with_an_independent_integral() -> None:
    """Five decimals of d2, d3 and three of the 95 and 99 % points (computed for this project, not published)."""
    for row in COMPUTED:
        n = int(row["n"])
        assert (d2(n), d3(n)) == pytest.approx((row["d2"], row["d3"]), abs=6e-6)
        assert (range_quantile(n, 0.95), range_quantile(n, 0.99)) == pytest.approx((row["q95"], row["q99"]), abs=6e-4)


def test_quantiles_are_those_of_the_studentized_range_table() -> None:
    """95 % points for 2 to 10 readings, infinite degrees of freedom (from memory), to two decimals."""
    printed = [2.77, 3.31, 3.63, 3.86, 4.03, 4.17, 4.29, 4.39, 4.47]
    assert [range_quantile(k, 0.95) for k in range(2, 11)] == pytest.approx(printed, abs=5.1e-3)


def test_the_range_of_two_readings_is_exact() -> None:
    """For two readings d2 = 2/sqrt(pi), d3 = sqrt(2 - 4/pi), F(w) = 2 Phi(w/sqrt 2) - 1 (exact algebra)."""
    assert d2(2) == pytest.approx(2 / math.sqrt(math.pi), rel=1e-13)
    assert d3(2) == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-12)
    w = np.array([[0.0, 0.5], [1.0, 4.0]])
    assert range_cdf(w, 2) == pytest.approx(2 * stats.norm.cdf(w / math.sqrt(2)) - 1, abs=1e-13)
    assert d2(3) == pytest.approx(3 / math.sqrt(math.pi), rel=1e-13)


@pytest.mark.parametrize("k", [3, 5, 12, 100])
def test_the_distribution_agrees_with_a_second_opinion(k: int) -> None:
    """F agrees with scipy's studentized range at infinite degrees of freedom to nine digits."""
    w = np.array([0.5, 2.0, 4.0, 6.0])
    assert range_cdf(w, k) == pytest.approx(stats.studentized_range.cdf(w, k, np.inf), abs=1e-9)


def test_simulated_ranges_have_that_mean_and_spread() -> None:
    """200,000 simulated ranges of 4 readings have mean d2 and SD d3 (known truth)."""
    ranges = np.ptp(np.random.default_rng(26).standard_normal((200_000, 4)), axis=1)
    assert float(ranges.mean()) == pytest.approx(d2(4), abs=4 * d3(4) / math.sqrt(200_000))
    assert float(ranges.std()) == pytest.approx(d3(4), rel=0.01)


@pytest.mark.parametrize(("k", "printed"), [(3, 0.034), (5, 0.047), (10, 0.062)])
def test_a_perfect_ball_looks_out_of_round(k: int, printed: float) -> None:
    """Noise of 0.02 mm shows 0.034, 0.047 and 0.062 mm from 3, 5 and 10 readings (computed before from d2)."""
    assert noise_floor(k, 0.02) == pytest.approx(printed, abs=5.1e-4)
    assert math.isnan(noise_floor(k, math.nan))


def test_ranges_that_cannot_be_are_refused() -> None:
    """One reading has no range, a spread is not negative, a chance is between 0 and 1."""
    for wrong in (lambda: d2(1), lambda: d3(1), lambda: range_cdf(1.0, 1), lambda: range_quantile(1, 0.5)):
        with pytest.raises(BadRequest, match="two readings"):
            wrong()
    with pytest.raises(BadRequest, match=r"0\.95 for 95 %"):
        range_quantile(3, 95)
    with pytest.raises(BadRequest, match="repeatability"):
        noise_floor(3, -0.1)
