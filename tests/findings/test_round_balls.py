"""What a perfectly round ball shows through an instrument."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from ballbench.findings.qualifying.round_balls import round_ball_words, round_balls
from ballbench.records.bench import Instrument
from ballbench.statistics.study import Floats

CONSTANTS = Path(__file__).parents[1] / "reference" / "normal_range" / "constants.csv"
BALLS = 200_000


def caliper(sd: float, step: float = 0.01) -> Instrument:
    """An invented caliper with an SD of displayed readings, mm."""
    return Instrument("caliper", "diameter", "mm", step, sd, 20.0)


def shown(noise: float, k: int, seed: int) -> Floats:
    """Ranges in steps of k displayed readings of round balls that lie anywhere between two steps; `noise` in steps."""
    rng = np.random.default_rng(seed)
    centres = rng.random((BALLS, 1))
    read: Floats = np.floor(centres + rng.normal(0.0, noise, (BALLS, k)))
    return np.asarray(np.ptp(read, axis=1))


def test_the_mean_is_that_of_the_control_chart_constants() -> None:
    """d2 for 2 to 6 readings as ASTM prints them (tests/reference/normal_range), to a last digit, times the SD."""
    with CONSTANTS.open(encoding="utf-8") as lines:
        printed = {int(row["n"]): float(row["d2"]) for row in csv.DictReader(lines)}
    for one in round_balls(caliper(1.0, 0.1), (2, 3, 4, 5, 6), seed=1):
        assert one.mean == pytest.approx(printed[one.axes], abs=6e-4), one


@pytest.mark.parametrize("noise", [0.1, 0.2, 0.35, 0.6, 1.0, 2.5])
@pytest.mark.parametrize("k", [2, 3, 6])
def test_nineteen_of_twenty_simulated_round_balls_stay_within_it(noise: float, k: int) -> None:
    """95 % show `high` or less and fewer than 95 % one step less, give or take a part in a thousand (simulation)."""
    sd = math.sqrt(noise**2 + 1.0 / 12.0)
    (one,) = round_balls(caliper(sd, 1.0), (k,), seed=1)
    ranges = shown(noise, k, seed=2)
    assert np.mean(ranges <= one.high + 0.5) >= 0.949
    assert np.mean(ranges <= one.high - 0.5) < 0.951


@pytest.mark.parametrize("noise", [0.1, 0.2, 0.35])
def test_a_coarse_display_has_the_mean_of_simulated_balls(noise: float) -> None:
    """Under half a step the mean range is that of another simulation, to 3 %, and far under d2 times the SD."""
    sd = math.sqrt(noise**2 + 1.0 / 12.0)
    for one in round_balls(caliper(sd, 1.0), (2, 3, 6), seed=3):
        assert one.mean == pytest.approx(float(shown(noise, one.axes, seed=4).mean()), rel=0.03)


def test_a_fine_display_has_the_mean_of_simulated_balls_or_up_to_a_fifth_more() -> None:
    """From half a step on the rounding is in the SD: up to a fifth too much, never less (simulation)."""
    for noise, most in ((0.41, 1.24), (1.0, 1.05), (4.0, 1.01)):
        for one in round_balls(caliper(math.sqrt(noise**2 + 1.0 / 12.0), 1.0), (2, 3, 6), seed=5):
            truth = float(shown(noise, one.axes, seed=6).mean())
            assert 0.99 * truth < one.mean < most * truth


def test_a_step_that_is_nothing_beside_the_noise_costs_neither_time_nor_memory() -> None:
    """SD 1 mm on steps of a nanometre: the 95 % point of the studentised range, 3.314 for three (table value)."""
    (one,) = round_balls(caliper(1.0, 1e-6), (3,), seed=1)
    assert one.high == pytest.approx(3.314, abs=1e-3)


def test_the_sentence_names_axes_instrument_and_both_numbers() -> None:
    """The noise of the brief of this tool: 0.02 mm shows 0.034 mm on three axes (d2 = 1.693)."""
    tool = caliper(0.02)
    text = round_ball_words(round_balls(tool, (3, 4), seed=1), tool)
    assert text == (
        "A perfectly round ball read once on 3 axes through this caliper shows 0.034 mm of diameter variation on "
        "average, and 95 % of round balls show 0.07 mm or less; on 4 axes 0.041 and 0.07 mm."
    )


def test_an_unknown_noise_says_nothing_and_the_seed_settles_everything() -> None:
    """No SD, no floor; the same seed gives the same numbers."""
    assert round_balls(caliper(math.nan), (3,), seed=1) == ()
    assert round_balls(caliper(0.003), (3, 4), seed=8) == round_balls(caliper(0.003), (3, 4), seed=8)
