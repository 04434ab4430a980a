from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.records.reference_check import check_reading

CHECKS = 20_000


@pytest.mark.parametrize(
    ("u_known", "noise", "dof"),
    [
        (0.0, 0.05, 9.0),
        (0.0, 0.05, math.inf),
        (0.02, 0.05, 9.0),
        (0.05, 0.02, 4.0),
        (0.02, 0.02, 6.5),
        (0.05, 0.05, 20.0),
    ],
)
def test_a_sound_instrument_fails_about_one_check_in_twenty(u_known: float, noise: float, dof: float) -> None:
    """Simulation with known truth: 4 to 6.5 % false alarms, display of 0.01, SD known from as many readings as stated.

    Welch-Satterthwaite is an approximation, and the display lets the limit jump by steps: hence the room.
    """
    rng = np.random.default_rng(23)
    true = 40.0 + rng.normal(0.0, u_known, CHECKS)
    shown = np.round((true + rng.normal(0.0, noise, CHECKS)) / 0.01) * 0.01
    sd = np.full(CHECKS, math.hypot(noise, 0.01 / math.sqrt(12)))
    if math.isfinite(dof):
        sd *= np.sqrt(rng.chisquare(dof, CHECKS) / dof)
    failed = [not check_reading(value, 40.0, u_known, 0.01, own, dof)[1] for value, own in zip(shown, sd, strict=True)]
    assert 0.04 <= np.mean(failed) <= 0.065


def test_an_instrument_that_is_off_fails() -> None:
    """Off by five SDs, more than 97 % of readings fail, as a normal variable is 3 SDs on that side (simulation)."""
    rng = np.random.default_rng(24)
    shown = np.round((40.25 + rng.normal(0.0, 0.05, 2000)) / 0.01) * 0.01
    failed = [not check_reading(value, 40.0, 0.0, 0.01, 0.05, math.inf)[1] for value in shown]
    assert np.mean(failed) > 0.97


def test_the_limit_is_the_expanded_uncertainty() -> None:
    """Worked by hand after JCGM 100:2008 G.2b: u = 0.05, 0.05^4 / (0.04^4 / 9) = 21.97, cut to 21, t = 2.0796."""
    allowed, passed = check_reading(10.0, 10.1, 0.03, 0.01, 0.04, 9.0)
    assert allowed == pytest.approx(2.0796 * 0.05, rel=1e-4)
    assert passed
    assert not check_reading(10.0, 10.11, 0.03, 0.01, 0.04, 9.0)[1]
    known, _ = check_reading(10.0, 10.0, 0.03, 0.01, 0.04, math.inf)
    assert known == pytest.approx(stats.norm.ppf(0.975) * 0.05)


def test_never_less_than_a_display_step() -> None:
    """A step off passes and two do not, though the scale always showed the same; decimals do not tip the balance."""
    for value in (40.01, 39.99):
        assert check_reading(value, 40.0, 0.0, 0.01, 0.0, 9.0) == (0.01, True)
    assert check_reading(40.02, 40.01, 0.0, 0.01, 0.0, 9.0)[1]
    assert check_reading(0.3, 0.2, 0.0, 0.1, 0.0, 9.0)[1]
    assert not check_reading(40.02, 40.0, 0.0, 0.01, 0.0, 9.0)[1]


def test_rounding_counts_where_the_scatter_does_not_show_it() -> None:
    """SD 0 on a display of 0.1: step / sqrt(12) takes its place (JCGM 100:2008, F.2.2.1), beside u = 0.06."""
    allowed, _ = check_reading(10.0, 10.0, 0.06, 0.1, 0.0, 9.0)
    assert allowed == pytest.approx(stats.norm.ppf(0.975) * math.hypot(0.06, 0.1 / math.sqrt(12)))


def test_an_unknown_repeatability_is_a_display_step() -> None:
    """Without an SD a step with 4 degrees of freedom is assumed: t = 2.776 (JCGM 100:2008, Table G.2)."""
    allowed, _ = check_reading(10.0, 10.0, 0.0, 0.01)
    assert allowed == pytest.approx(2.776 * 0.01, rel=2e-4)
    assert check_reading(10.0, 10.0, 0.0, 0.01, None, 100.0)[0] == allowed


def test_what_is_no_measurement_is_refused() -> None:
    """All faults at once, each with its place."""
    with pytest.raises(BadRequest) as caught:
        check_reading(math.nan, math.inf, -0.1, 0.0, -1.0, 0.0)
    assert [fault.where for fault in caught.value.faults] == ["value", "known", "u_known", "step", "sd", "dof"]
