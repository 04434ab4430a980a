from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.spread import c4, pooled_sd, sd_interval, sd_ratio, sd_test

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
DATA = REFERENCE / "spreads"


def rows() -> list[dict[str, str]]:
    """Read the printed intervals."""
    with (DATA / "sd_intervals.csv").open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['case']} {row['conf']} %")
def test_intervals_of_a_standard_deviation_are_those_printed(row: dict[str, str]) -> None:
    """Twelve intervals agree with those printed on NIST/SEMATECH handbook data (seen), to the last digit."""
    found = sd_interval(float(row["s"]), int(row["n"]) - 1, float(row["conf"]) / 100)
    assert (found.low, found.high) == pytest.approx((float(row["lower"]), float(row["upper"])), abs=5.1e-6)


def test_standard_deviations_against_a_stated_one() -> None:
    """T 0.3903044 and 17.56448 (NIST/SEMATECH handbook 1.3.5.8 data, seen); the second is beyond 16.92 at 5 %."""
    gear, wafer = sd_test(0.006278908, 99, 0.1), sd_test(13.97, 9, 10.0)
    assert gear.statistic == pytest.approx(0.3903044, abs=6e-8)
    assert wafer.statistic == pytest.approx(17.56448, abs=6e-6)
    assert wafer.p_above < 0.05
    assert sd_test(10.0 * math.sqrt(16.92 / 9), 9, 10.0).p_above == pytest.approx(0.05, abs=1e-4)
    assert wafer.p_above + wafer.p_below == pytest.approx(1.0)


def test_the_ratio_of_two_standard_deviations() -> None:
    """F 1.123037 within 0.7756 to 1.289 (1.3.5.9), F 3.59847 beyond 3.347 at 5 % (7.3.2), NIST/SEMATECH data, seen."""
    same = sd_ratio(65.54909, 239, 61.85425, 239)
    assert same.f == pytest.approx(1.123037, abs=6e-7)
    assert (same.f / same.high**2, same.f / same.low**2) == pytest.approx((0.7756, 1.289), abs=5.1e-4)
    assert same.low < 1.0 < same.high
    assert same.p > 0.05
    larger = sd_ratio(4.9082, 10, 2.5874, 8, 0.90)
    assert larger.f == pytest.approx(3.59847, abs=1e-4)
    assert larger.f / larger.low**2 == pytest.approx(3.347, abs=5.1e-4)  # upper 5 % point
    assert larger.p / 2 < 0.05


def test_the_ratio_turns_over_with_the_samples() -> None:
    """The ratio b over a is one over a over b, with the same p (exact algebra)."""
    there, back = sd_ratio(2.0, 11, 1.0, 7), sd_ratio(1.0, 7, 2.0, 11)
    assert (back.ratio, back.low, back.high) == pytest.approx((1 / there.ratio, 1 / there.high, 1 / there.low))
    assert back.p == pytest.approx(there.p)


@pytest.mark.parametrize(("n", "low", "high"), [(3, 0.5, 6.3), (6, 0.62, 2.5), (12, 0.71, 1.7), (24, 0.78, 1.4)])
def test_few_balls_say_little_about_their_spread(n: int, low: float, high: float) -> None:
    """The SD is known within x0.5 to 6.3 from 3 balls, x0.78 to 1.4 from 24 (computed before by the same law)."""
    found = sd_interval(1.0, n - 1)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.055)


def test_intervals_hold_the_true_spread_as_often_as_they_say() -> None:
    """Of 20,000 simulated samples of 6, 95 % hold the true SD, of pairs the true ratio (known truth)."""
    rng = np.random.default_rng(25)
    first, second = rng.normal(0, 1, (20_000, 6)).std(axis=1, ddof=1), rng.normal(0, 3, (20_000, 9)).std(axis=1, ddof=1)
    unit, ratio = sd_interval(1.0, 5), sd_ratio(1.0, 5, 1.0, 8)
    error = 4 * math.sqrt(0.95 * 0.05 / 20_000)
    assert np.mean((first * unit.low <= 1) & (first * unit.high >= 1)) == pytest.approx(0.95, abs=error)
    found = first / second
    assert np.mean((found * ratio.low <= 1 / 3) & (found * ratio.high >= 1 / 3)) == pytest.approx(0.95, abs=error)


def test_pooled_standard_deviations() -> None:
    """6.34260 for the samples of NIST/SEMATECH handbook 1.3.5.3 (seen); gear batches give their one-way residual."""
    pooled = pooled_sd([6.41470, 6.10771], [248, 78])
    assert (pooled.sd, pooled.dof) == pytest.approx((6.34260, 326), abs=6e-6)
    # T of the equal-spread test, -12.62059, from memory.
    t = (20.14458 - 30.48101) / (pooled.sd * math.sqrt(1 / 249 + 1 / 79))
    assert t == pytest.approx(-12.62059, abs=2e-5)
    batches = np.loadtxt(DATA / "gear.csv", delimiter=",", skiprows=1)[:, 1:]
    residual = pooled_sd(batches.std(axis=1, ddof=1).tolist(), [9] * 10)
    between = 10 * float(batches.mean(axis=1).var(ddof=1))
    assert between / residual.sd**2 == pytest.approx(2.2969, abs=5.1e-5)  # NIST/SEMATECH handbook 1.3.5.4, from memory
    assert float(stats.f_oneway(*batches).statistic) == pytest.approx(2.2969, abs=5.1e-5)


def test_the_gear_data_are_those_of_the_handbook() -> None:
    """The batches, kept from memory, have mean 0.99764 and s 0.006278908 (seen), the latter to six figures."""
    batches = np.loadtxt(DATA / "gear.csv", delimiter=",", skiprows=1)[:, 1:]
    assert float(batches.mean()) == pytest.approx(0.99764, abs=5.1e-6)
    assert float(batches.std(ddof=1)) == pytest.approx(0.006278908, abs=5e-9)


def test_the_bias_of_the_sample_sd_is_that_of_the_tables() -> None:
    """c4 for 2 to 10 readings as in ASTM control chart constants (seen), and exact for 2: sqrt(2/pi)."""
    table = np.genfromtxt(REFERENCE / "normal_range" / "constants.csv", delimiter=",", names=True)
    assert c4(table["n"]) == pytest.approx(table["c4"], abs=5.1e-5)
    assert float(c4(2)) == pytest.approx(math.sqrt(2 / math.pi), rel=1e-14)


def test_spreads_that_cannot_be_are_refused() -> None:
    """All faults at once."""
    with pytest.raises(BadRequest) as caught:
        sd_interval(-1.0, 0.0, 95)
    assert [fault.where for fault in caught.value.faults] == ["sd", "dof", "confidence"]
    with pytest.raises(BadRequest, match="above 0"):
        sd_ratio(1.0, 5, 0.0, 5)
    with pytest.raises(BadRequest, match="as many of both"):
        pooled_sd([1.0], [1, 2])
    with pytest.raises(BadRequest, match="two values"):
        c4([2, 1])
    with pytest.raises(BadRequest, match="against"):
        sd_test(1.0, 5, 0.0)
