"""What the ball's own breadth says of the clip's clock: the interval, and the sentence on it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.findings.watching.made_films import Places, places_in, random_scene, read, track_of

from ballbench.findings.bouncing.results import Spread
from ballbench.findings.watching.checks import BY_BALL, BY_RULER, agreeing, clock_open, wrong_scale
from ballbench.findings.watching.results import FilmedClip, SizeCheck
from ballbench.findings.watching.words import check_sentence
from ballbench.signals.track_flights import NOT_FREE, flights_of


def check(ratio: float, u: float, by: str = BY_BALL) -> SizeCheck:
    """A check of the scale whose ratio has an interval of 1.96 standard uncertainties to each side."""
    half = 1.96 * u
    return SizeCheck(by, Spread(0.85, 0.01, 0.83, 0.87), Spread(ratio, u, ratio - half, ratio + half), agrees=True)


def held(count: int, seed: int) -> tuple[int, int]:
    """In how many films with a clock that is off by up to 1.5 % that error lies in the interval, and of how many."""
    rng = np.random.default_rng(seed)
    inside = read_in_all = 0
    for number in range(count):
        slow = rng.uniform(-0.015, 0.015)
        scene = random_scene(rng)
        places, _ = places_in(scene, 0.15, rng)
        track = track_of(scene, Places(places.t * (1.0 + slow), places.x, places.y, places.width))
        if isinstance(track, str):
            continue
        clip = read(track, f"film {number}")
        if clip.refused:
            continue
        low, high = clock_open(next(one for one in clip.checks if one.by == BY_BALL))
        read_in_all += 1
        inside += low <= slow <= high
    return inside, read_in_all


def test_the_interval_of_the_clock_holds_its_error() -> None:
    """Simulated places, the clip's times drawn out by a known share: the 95 % interval holds it in most films."""
    inside, count = held(12, 1)
    assert count >= 6
    assert inside >= count - 2  # of 12 films at 95 % three or more are outside with a chance of 2 % (binomial)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2, 8))
def test_the_interval_of_the_clock_at_full_size(seed: int) -> None:
    """The same in 60 films of each seed: of 40 to 60 films at 95 % nine or more are outside with 0.3 % (binomial)."""
    inside, count = held(60, seed)
    assert count >= 40
    assert count - inside <= 8


def test_what_agrees_says_what_it_leaves_open() -> None:
    """2.5 % larger with u 1.6 %: the roots of 0.9936 and 1.0564 are a clock 0.3 % fast and 2.8 % slow (arithmetic)."""
    one = check(1.025, 0.016)
    assert clock_open(one) == pytest.approx((math.sqrt(0.99364) - 1.0, math.sqrt(1.05636) - 1.0))
    said = check_sentence(one)
    assert "by gravity a pixel is 2.5 % larger (u 1.6 %), which agrees, as up to 4.7 % does" in said
    assert said.endswith("the clip's clock may still be between 0.3 % fast and 2.8 % slow (95 %)")
    assert agreeing(one) == pytest.approx(3.0 * 0.016 / 1.025)


def test_an_interval_without_the_right_clock_is_not_said_to_leave_it() -> None:
    """3.5 % with u 1.0 % agrees, since up to 4 % does, and lies 0.8 to 2.7 % slow; likewise fast."""
    slow, fast = check_sentence(check(1.035, 0.01)), check_sentence(check(0.965, 0.01))
    assert "the clip's clock is 0.8 to 2.7 % slow (95 %), or the ball not as large as said" in slow
    assert "the clip's clock is 0.8 to 2.8 % fast (95 %), or the ball not as large as said" in fast


def test_what_does_not_agree_says_from_where_it_would() -> None:
    """No word of the clock there: the refusal says it; a ruler has its own, narrower, bound (2 %)."""
    off = check_sentence(replace(check(1.3, 0.01), agrees=False))
    assert off.endswith("by gravity a pixel is 30.0 % larger (u 1.0 %), which does not agree: at most 4.0 % would")
    ruler = check_sentence(check(1.01, 0.005, BY_RULER))
    assert ruler.endswith("which agrees, as up to 2.0 % does")


@pytest.mark.parametrize("ratio", [-0.4, 0.0, math.nan])
def test_a_ratio_that_has_no_root_is_refused_with_its_reason(ratio: float) -> None:
    """A way that bends upwards gives a ratio below 0: a sentence on the way it bends, no error of arithmetic."""
    one = replace(check(1.0, 0.01), ratio=Spread(ratio, 0.01, ratio, ratio), agrees=False)
    clip = replace(FilmedClip("a.mp4", "", "Curlew", "1"), checks=(one,))
    assert "does not bend downwards" in wrong_scale(clip)


PLACES = (
    487.78, 487.21, 486.97, 486.83, 486.33, 487.16, 487.59, 487.38, 486.75, 487.83, 488.79, 490.62,
    492.13, 494.60, 497.71, 499.62, 496.85, 496.66, 495.84, 494.60, 494.61, 495.74, 496.76, 497.44,
    500.31, 499.19, 498.60, 497.63, 497.99, 498.42, 499.26, 499.06, 499.08, 499.91, 500.38, 499.79,
    499.96,
)  # fmt: skip
"""Of a simulated drop of few pixels, 30 pictures a second: the places of its first rebound, cut at its impacts, bend
upwards by noise."""


def test_a_rebound_that_bends_upwards_is_no_flight() -> None:
    """The film's scale is begun with the logarithm of that bend: there is none, and the track is said to be no drop."""
    t, y = np.arange(len(PLACES)) / 30.0, np.array(PLACES)
    assert flights_of(t, y, 5.0) == NOT_FREE
