from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm

from ballbench.errors import BadRequest
from ballbench.statistics.drift import drift


def test_the_rate_is_that_of_another_library() -> None:
    """Rate, its uncertainty, interval and p agree with statsmodels' OLS on six single readings, to 1e-9."""
    times = np.array([0.0, 5.0, 11.0, 20.0, 26.0, 30.0])
    values = 38.1 + 0.001 * times + np.random.default_rng(1).normal(0.0, 0.004, 6)
    found, other = drift(times, values), sm.OLS(values, sm.add_constant(times)).fit()
    low, high = other.conf_int()[1]
    assert (found.rate, found.u_rate, found.p_rate) == pytest.approx(
        (other.params[1], other.bse[1], other.pvalues[1]), rel=1e-7
    )
    assert (found.low, found.high, found.dof) == pytest.approx((low, high, 4.0), rel=1e-7)
    assert math.isnan(found.p_largest)


def test_start_middle_and_end_show_a_drift() -> None:
    """0.00, 0.02, 0.04 with a noise of 0.005 known: 0.02 a half hour, u = 0.005/sqrt(2) of that, far beyond noise."""
    found = drift([0.0, 0.5, 1.0], [38.10, 38.12, 38.14], noise=(0.005, math.inf))
    assert (found.rate, found.u_rate) == pytest.approx((0.04, 0.005 / math.sqrt(0.5)))
    assert (found.largest, found.largest_time) == pytest.approx((0.04, 1.0))
    assert found.u_largest == pytest.approx(0.005 * math.sqrt(2))
    assert found.beyond_noise


def test_a_hump_is_found_although_the_line_is_flat() -> None:
    """Up by 0.03 in the middle and back: rate 0, largest departure 0.03, beyond a noise of 0.005 (exact algebra)."""
    found = drift([0.0, 1.0, 2.0], [38.10, 38.13, 38.10], noise=(0.005, math.inf))
    assert found.rate == pytest.approx(0.0, abs=1e-12)
    assert found.largest == pytest.approx(0.03)
    assert found.beyond_noise
    assert found.carried_sd >= 0.03 / math.sqrt(12) - 1e-12


@pytest.mark.parametrize("known", [True, False])
def test_a_steady_instrument_is_seldom_said_to_drift(known: bool) -> None:
    """Without drift "beyond noise" is said in at most 5 % and some of 3,000 sessions (simulation)."""
    rng, said = np.random.default_rng(2), 0
    times = np.repeat([0.0, 1.0, 2.0], 3)
    for _ in range(3000):
        values = rng.normal(0.0, 0.01, 9)
        said += drift(times, values, noise=(0.01, math.inf) if known else None).beyond_noise
    assert 0.02 <= said / 3000 <= 0.055


@pytest.mark.parametrize("rate", [0.0, 0.005, 0.03])
def test_the_rate_is_covered(rate: float) -> None:
    """The 95 % interval of the rate covers 93 to 97 % of 2,000 sessions with noise from repeats (simulation)."""
    rng, hits = np.random.default_rng(3), 0
    times = np.repeat([0.0, 1.0, 2.0], 2)
    for _ in range(2000):
        found = drift(times, rate * times + rng.normal(0.0, 0.01, 6))
        hits += found.low <= rate <= found.high
    assert 0.93 <= hits / 2000 <= 0.97


@pytest.mark.parametrize("rate", [0.0, 0.01, 0.05])
def test_what_is_carried_is_enough_for_readings_between_the_checks(rate: float) -> None:
    """Over 1,000 sessions the instrument's error between checks, about its mean, is within the carried SD (rms)."""
    rng, squares, carried = np.random.default_rng(4), [], []
    times = np.array([0.0, 1.0, 2.0])
    for _ in range(1000):
        found = drift(times, rate * times + rng.normal(0.0, 0.01, 3), noise=(0.01, math.inf))
        at = rng.uniform(0.0, 2.0)
        squares.append((rate * (at - 1.0)) ** 2)
        carried.append(found.carried_sd**2)
    assert np.mean(squares) <= np.mean(carried)
    assert np.mean(carried) <= np.mean(squares) + 0.01**2


def test_units_of_time_go_through() -> None:
    """In minutes the rate is a sixtieth of that in hours; what is carried stays (exact algebra)."""
    hours, values = np.array([0.0, 0.5, 1.0]), [38.10, 38.11, 38.14]
    one, sixty = drift(hours, values), drift(60 * hours, values)
    assert sixty.rate == pytest.approx(one.rate / 60)
    assert sixty.carried_sd == pytest.approx(one.carried_sd)


def test_a_display_that_does_not_move_is_not_without_noise() -> None:
    """Three equal readings on a 0.01 display: noise 0.01/sqrt(12) (JCGM 100:2008, F.2.2.1), rate 0 with that u."""
    found = drift([0.0, 1.0, 2.0], [38.1, 38.1, 38.1], resolution=0.01)
    assert found.noise == pytest.approx(0.01 / math.sqrt(12))
    assert found.u_rate == pytest.approx(found.noise / math.sqrt(2))
    assert not found.beyond_noise
    assert found.carried_sd > 0.0


@pytest.mark.parametrize(
    ("times", "values", "options", "words"),
    [
        ([0.0, 1.0], [1.0], {}, "one time a value"),
        ([0.0, math.nan], [1.0, 2.0], {}, "finite"),
        ([1.0, 1.0, 1.0], [1.0, 2.0, 3.0], {}, "at the end"),
        ([0.0, 1.0], [1.0, 2.0], {}, "SD of repeats"),
        ([0.0, 1.0], [1.0, 2.0], {"noise": (-1.0, 3.0)}, "0 or more"),
        ([0.0, 1.0, 2.0], [1.0, 2.0, 2.0], {"confidence": 2.0}, "between 0 and 1"),
        ([0.0, 1.0, 2.0], [1.0, 2.0, 2.0], {"resolution": -1.0}, "step of the display"),
    ],
)
def test_checks_that_show_nothing_are_refused(
    times: list[float], values: list[float], options: dict[str, Any], words: str
) -> None:
    """The refusal says what was found, what is allowed and what to do (rule of this project)."""
    with pytest.raises(BadRequest, match=words):
        drift(times, values, **options)


def test_one_check_that_lies_off_is_no_steady_drift() -> None:
    """Off by 0.03 in the middle and back: beyond noise, not steady, rate 0; 0.02 at each step: steady (by hand)."""
    hump = drift([0.0, 1.0, 2.0], [38.10, 38.07, 38.10], noise=(0.005, math.inf))
    assert (hump.beyond_noise, hump.steady) == (True, False)
    assert hump.largest == pytest.approx(-0.03)
    ramp = drift([0.0, 1.0, 2.0], [38.10, 38.12, 38.14], noise=(0.005, math.inf))
    assert (ramp.beyond_noise, ramp.steady) == (True, True)
