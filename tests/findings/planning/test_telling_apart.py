from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.planning.planned import FINE_STEP, ROUGH

from ballbench.errors import BadRequest
from ballbench.findings.comparing import compare_samples
from ballbench.findings.planning.blocks import Place
from ballbench.findings.planning.designs import Design, Kit, TruthAt
from ballbench.findings.planning.telling_apart import Two, simulated_pairs, tell_apart
from ballbench.records import Bench, Instrument, Squeeze
from ballbench.statistics.two_samples import smallest_difference

HERE = Place(1)
MAKE = TruthAt(40.2, 0.025, 0.015)


def _two(design: Design, tool: Instrument = FINE_STEP, **bench: object) -> Two:
    return Two(Kit("diameter", Bench({tool.name: tool}, **bench)), design, MAKE, replace(MAKE, mean=40.0))  # type: ignore[arg-type]


def _ball_sd(axes: int) -> float:
    """SD of a ball's average as read, mm."""
    return float(np.sqrt(0.025**2 + 0.015**2 / axes + 0.008**2 / axes))


@pytest.mark.parametrize(("balls", "axes"), [(24, 3), (12, 1)])
def test_alike_makes_and_far_ones_follow_the_t_test(balls: int, axes: int) -> None:
    """Equal makes are told apart in about 5 %, and the 80 % difference is that of a two-sample t test (exact power).

    The joint draws shrink SDs toward each other a little, hence 15 % room (as measured over designs).
    """
    exact = smallest_difference(_ball_sd(axes), _ball_sd(axes), balls, balls)
    found = tell_apart(_two(Design(balls, axes)), [0.0, exact, 3 * exact], tests=400, place=HERE)
    alike, at, far = found.told
    assert alike.value == pytest.approx(0.05, abs=0.035)
    assert at.value == pytest.approx(0.8, abs=0.1)
    assert far.value > 0.99
    assert found.smallest == pytest.approx(exact, rel=0.15)
    assert found.low < found.smallest < found.high
    assert found.minutes == 2 * balls * axes * 0.25


def test_the_full_comparison_agrees_on_the_same_simulated_makes() -> None:
    """30 simulated pairs at the 80 % difference: `compare_samples` tells about as many apart (binomial error)."""
    two = _two(Design(8, 2))
    found = tell_apart(two, [0.03], tests=300, place=HERE)
    pairs = simulated_pairs(replace(two, difference=0.03), 30, np.random.default_rng(8))
    told = [
        compare_samples({"first": a, "second": b}, two.kit.bench, i, 2000)[1][0].told_apart
        for i, (a, b) in enumerate(pairs)
    ]
    p = found.told[0].value
    assert np.mean(told) == pytest.approx(p, abs=3.5 * np.sqrt(p * (1 - p) / 30))


@pytest.mark.slow
@pytest.mark.parametrize(("balls", "axes", "repeats"), [(6, 2, 1), (12, 3, 2), (24, 4, 1)])
def test_the_smallest_difference_is_told_in_four_of_five_full_comparisons(balls: int, axes: int, repeats: int) -> None:
    """200 `compare_samples` at the smallest difference: told apart in 80 % (simulation, 3.5 standard errors)."""
    two = _two(Design(balls, axes, repeats))
    found = tell_apart(two, [0.0], tests=2000, place=HERE)
    pairs = simulated_pairs(replace(two, difference=found.smallest), 200, np.random.default_rng(8))
    told = [
        compare_samples({"first": a, "second": b}, two.kit.bench, i, 4000)[1][0].told_apart
        for i, (a, b) in enumerate(pairs)
    ]
    assert np.mean(told) == pytest.approx(0.8, abs=3.5 * np.sqrt(0.16 / 200))


def test_the_caliper_cancels_and_the_squeeze_does_not() -> None:
    """An offset known to 0.5 mm changes nothing; squeezes of SD 0.05 mm each add 2.8 x 0.07 mm (exact: normals)."""
    design = Design(12, 2)
    plain = tell_apart(_two(design), [0.0], place=HERE).smallest
    unsure = tell_apart(_two(design, replace(FINE_STEP, offset_sd=0.5)), [0.0], place=HERE).smallest
    assert unsure == pytest.approx(plain, rel=0.12)
    squeeze = {"first": Squeeze(0.0, 0.05), "second": Squeeze(0.0, 0.05)}
    soft = tell_apart(_two(design, squeeze=squeeze), [0.0], place=HERE).smallest
    assert soft == pytest.approx(np.hypot(2.8 * 0.05 * np.sqrt(2), plain), rel=0.12)


def test_a_coarse_display_is_compared_in_full_at_every_difference() -> None:
    """Steps of 0.1 mm: no difference is had by moving another, and one that is never told has no smallest (NaN)."""
    found = tell_apart(_two(Design(3, 2), ROUGH), [0.0, 0.01], tests=3, place=HERE)
    assert found.in_full == 6
    assert np.isnan(found.smallest)


@pytest.mark.parametrize(
    ("balls", "differences", "wanted", "faults"),
    [(1, [-1.0], 1.5, 3), (6, [], 0.8, 1), (6, [float("nan")], 0.8, 1)],
)
def test_impossible_comparisons_are_refused_all_faults_at_once(
    balls: int, differences: list[float], wanted: float, faults: int
) -> None:
    """One ball of a make, no difference, a chance above 1: every fault is named (rule of this project)."""
    with pytest.raises(BadRequest) as caught:
        tell_apart(_two(Design(balls, 2)), differences, wanted, place=HERE)
    assert len(caught.value.faults) == faults
