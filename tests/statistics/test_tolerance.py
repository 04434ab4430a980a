from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.tolerance import howe_factor, one_sided_factor, tolerance_interval, two_sided_factor

DATA = Path(__file__).resolve().parents[1] / "reference" / "tolerance_factors"


def test_two_sided_factors_are_those_of_a_textbook_table() -> None:
    """42 factors agree with Berthouex and Brown, Table 21.1 (seen), to its two decimals."""
    table = np.genfromtxt(DATA / "two_sided_95.csv", delimiter=",", names=True)
    for row in table:
        for share, column in ((0.90, "k_90"), (0.95, "k_95"), (0.99, "k_99")):
            assert round(two_sided_factor(int(row["n"]), share, 0.95), 2) == pytest.approx(row[column], abs=1e-9)


def test_factors_agree_with_an_independent_calculation() -> None:
    """110 factors agree to four decimals with a second calculation (computed for this project, not published)."""
    table = np.genfromtxt(DATA / "computed.csv", delimiter=",", names=True)
    functions = {"k1": one_sided_factor, "k2": two_sided_factor, "howe": howe_factor}
    for column in table.dtype.names[1:]:
        kind, share, _, confidence = column.split("_")
        for n, expected in zip(table["n"], table[column], strict=True):
            found = functions[kind](int(n), int(share) / 100, int(confidence) / 100)
            assert found == pytest.approx(expected, abs=5.1e-5), (column, n)


@pytest.mark.parametrize(
    ("n", "one_sided", "old_two_sided"), [(5, 4.203, 5.079), (10, 2.911, 3.379), (20, 2.396, 2.752), (30, 2.220, 2.549)]
)
def test_common_printed_factors_come_out(n: int, one_sided: float, old_two_sided: float) -> None:
    """Printed 95/95 factors (from memory): one-sided to the digit, the old two-sided approximation to 0.5 %."""
    assert one_sided_factor(n) == pytest.approx(one_sided, abs=6e-4)
    assert two_sided_factor(n) == pytest.approx(old_two_sided, rel=0.005)


def test_the_handbook_example_comes_out() -> None:
    """NIST/SEMATECH handbook 7.2.6.3 (second-hand, recomputed): k2 2.2173159, 97.010576 to 97.12942, s = 0.0268."""
    howe = howe_factor(43, 0.90, 0.99)
    assert howe == pytest.approx(2.2173159, abs=5e-8)
    assert (97.07 - howe * 0.0268, 97.07 + howe * 0.0268) == pytest.approx((97.010576, 97.12942), abs=6e-6)
    # Exact factors stay close to the handbook's approximations 2.2173 (two-sided) and 1.8752 (one-sided).
    exact = tolerance_interval(97.07, 0.0268, 43, 0.90, 0.99)
    assert exact.factor == pytest.approx(2.2173, rel=0.003)
    assert (exact.low, exact.high) == pytest.approx((97.0106, 97.1294), abs=3e-4)
    high = tolerance_interval(97.07, 0.0268, 43, 0.90, 0.99, side="high")
    assert high.factor == pytest.approx(1.8751896, rel=0.001)
    assert (high.low, high.high) == pytest.approx((-math.inf, 97.120255), abs=1e-4)
    low = tolerance_interval(97.07, 0.0268, 43, 0.90, 0.99, side="low")
    assert (low.low, low.high) == pytest.approx((97.019745, math.inf), abs=1e-4)


def test_the_approximation_stays_close_to_the_exact_factor() -> None:
    """Howe's factor, a second opinion, stays within 2 % of the exact one from 5 balls on, 1 % from 8 on."""
    for n in (5, 6, 8, 12, 24, 100):
        for share in (0.9, 0.95, 0.99):
            for confidence in (0.9, 0.95, 0.99):
                exact = two_sided_factor(n, share, confidence)
                assert howe_factor(n, share, confidence) == pytest.approx(exact, rel=0.01 if n >= 8 else 0.02)


@pytest.mark.parametrize(("n", "share", "confidence"), [(4, 0.9, 0.95), (12, 0.95, 0.9), (24, 0.95, 0.95)])
def test_intervals_hold_their_share_as_often_as_they_say(n: int, share: float, confidence: float) -> None:
    """Of 40,000 simulated samples the stated confidence hold the stated share (known truth, standard normal)."""
    rng = np.random.default_rng(20)
    samples = rng.standard_normal((40_000, n))
    mean, sd = samples.mean(axis=1), samples.std(axis=1, ddof=1)
    k1, k2 = one_sided_factor(n, share, confidence), two_sided_factor(n, share, confidence)
    both = stats.norm.cdf(mean + k2 * sd) - stats.norm.cdf(mean - k2 * sd) >= share
    high = stats.norm.cdf(mean + k1 * sd) >= share
    error = 4.0 * math.sqrt(confidence * (1 - confidence) / 40_000)
    assert both.mean() == pytest.approx(confidence, abs=error)
    assert high.mean() == pytest.approx(confidence, abs=error)


def test_a_known_spread_gives_the_normal_quantile() -> None:
    """With n and dof without end, k is the normal quantile (exact limit)."""
    assert two_sided_factor(1e9, dof=1e9) == pytest.approx(stats.norm.ppf(0.975), abs=1e-3)
    assert one_sided_factor(1e6, dof=1e6) == pytest.approx(stats.norm.ppf(0.95), abs=4e-3)
    assert two_sided_factor(10, dof=30) < two_sided_factor(10)


def test_all_that_is_out_of_range_is_said() -> None:
    """One message for each fault."""
    with pytest.raises(BadRequest) as caught:
        two_sided_factor(1, 95, 1.0)
    assert [fault.where for fault in caught.value.faults] == ["dof", "share", "confidence"]
    with pytest.raises(BadRequest, match="both, low or high"):
        tolerance_interval(0.0, 1.0, 5, side="left")
    with pytest.raises(BadRequest, match="size of the sample"):
        howe_factor(0, dof=5)
