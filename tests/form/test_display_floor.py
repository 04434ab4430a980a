from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special

from ballbench.errors import BadRequest
from ballbench.form.display_floor import display_floor, displayed_sd, noise_behind
from ballbench.statistics.normal_range import d2


def simulated(noise: float, k: int, rng: np.random.Generator, balls: int = 200_000) -> np.ndarray:
    """Displayed readings, step 1, of round balls that lie anywhere between two steps."""
    return np.round(rng.uniform(0, 1, (balls, 1)) + noise * rng.standard_normal((balls, k)))


@pytest.mark.parametrize("noise", [0.01, 0.05, 0.0999, 0.1001, 0.2, 0.4, 1.0])
def test_the_sd_of_displayed_readings(noise: float) -> None:
    """The root of the mean variance of rounded readings agrees with 200,000 simulated places to 1 %."""
    shown = simulated(noise, 4, np.random.default_rng(1))
    assert displayed_sd(noise, 1.0) == pytest.approx(math.sqrt(float(shown.var(axis=1, ddof=1).mean())), rel=0.015)


@pytest.mark.parametrize("noise", [0.03, 0.0999, 0.1001, 0.2, 0.29, 0.5])
def test_the_sd_of_displayed_readings_to_many_digits(noise: float) -> None:
    """The same from the chances of every step, averaged over 20,001 places (direct sum), to seven digits."""
    edges = np.arange(-8, 9) + 0.5
    place = (np.arange(20_001) + 0.5)[:, np.newaxis] / 20_001 - 0.5
    chances = np.diff(special.ndtr((edges - place) / noise), axis=1)
    steps = np.arange(-7, 9)
    variance = float(np.mean(chances @ steps**2 - (chances @ steps) ** 2))
    assert displayed_sd(noise, 1.0) == pytest.approx(math.sqrt(variance), rel=1e-7)


def test_a_fine_display_adds_a_twelfth() -> None:
    """For noise of a step and more s^2 = sigma^2 + step^2/12 (JCGM 100:2008, F.2.2.1), to ten digits."""
    assert displayed_sd(0.01, 0.01) == pytest.approx(math.sqrt(0.01**2 + 0.01**2 / 12), rel=1e-10)


@pytest.mark.parametrize("noise", [1e-4, 0.03, 0.1, 0.3, 2.0])
def test_the_noise_comes_back(noise: float) -> None:
    """From noise to displayed SD and back."""
    assert noise_behind(displayed_sd(noise * 0.01, 0.01), 0.01) == pytest.approx(noise * 0.01, rel=1e-8)


@pytest.mark.parametrize("k", [2, 3, 6])
def test_a_coarse_display_shows_less_than_its_sd_makes_believe(k: int) -> None:
    """The simulated mean range is d2(k) times the noise behind the display (exact), far under d2(k) times the SD."""
    noise = 0.001
    sd = displayed_sd(noise, 0.01)
    floor = display_floor(k, sd, 0.01, np.random.default_rng(2))
    assert floor.noise == pytest.approx(noise, rel=1e-9)
    assert floor.mean == pytest.approx(d2(k) * noise, rel=0.04)
    assert floor.mean < 0.5 * d2(k) * sd
    assert floor.high == pytest.approx(0.01)  # more than one round ball in twenty shows a step
    assert "coarser" in floor.notes[0]


def test_a_fine_display_has_the_plain_floor() -> None:
    """0.02 mm noise shows 0.034 mm from three readings (computed before), one ball in twenty more than 3.314 SD."""
    floor = display_floor(3, 0.02, 0.01, np.random.default_rng(3))
    assert floor.mean == pytest.approx(0.034, abs=5e-4)
    assert floor.high == pytest.approx(3.314 * 0.02, abs=2e-5)
    assert floor.notes == ()


def test_the_quantile_is_that_of_simulated_balls() -> None:
    """One round ball in twenty shows more than `high` and no more than that, by another simulation."""
    floor = display_floor(4, displayed_sd(0.2, 1.0), 1.0, np.random.default_rng(4))
    other = np.ptp(simulated(0.2, 4, np.random.default_rng(5)), axis=1)
    assert np.mean(other > floor.high + 0.5) < 0.05 < np.mean(other > floor.high - 0.5)
    assert floor.mean == pytest.approx(float(other.mean()), rel=0.02)


def test_equal_repeats_say_little() -> None:
    """An SD of 0 gives a floor of 0 and says that the noise is not known."""
    floor = display_floor(3, 0.0, 0.01, np.random.default_rng(6))
    assert (floor.mean, floor.high) == (0.0, 0.0)
    assert "not known" in floor.notes[1]


def test_arguments_that_cannot_be_are_refused() -> None:
    """A negative SD, no step, one reading, a percentage."""
    rng = np.random.default_rng(1)
    with pytest.raises(BadRequest) as caught:
        displayed_sd(-1.0, 0.0)
    assert len(caught.value.faults) == 2
    with pytest.raises(BadRequest) as caught:
        display_floor(1, 0.01, 0.01, rng, p=95)
    assert len(caught.value.faults) == 2
    with pytest.raises(BadRequest):
        noise_behind(math.nan, 0.01)
