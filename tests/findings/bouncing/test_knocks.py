"""Knocks that get faster, heard and held against a ball with and without the drop height."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from tests.findings.bouncing.made_drops import ball_of, heard, known, settings, shared_of, true_times
from tests.signals.speeding_knocks import RATE, SERIES, knocked

from ballbench.findings.bouncing import doubt
from ballbench.findings.bouncing.balls import HeardDrop, ball_bounces
from ballbench.findings.bouncing.draws import SharedDraws, named_rng
from ballbench.findings.bouncing.drops import drop_of, flown
from ballbench.findings.bouncing.results import HeardImpact
from ballbench.findings.bouncing.words import ball_sentence
from ballbench.signals.hearing import hear

PAGE = Path(__file__).resolve().parents[3] / "docs" / "methods" / "restitution.md"
AS_TAKEN = {
    "drag": None, "drag_u": 0.1, "contact": known(1e-3, 4e-4), "slowing": known(0.1, 0.06),
}  # fmt: skip
KEPT = [0.90, 0.902, 0.904, 0.906, 0.908, 0.91, 0.911]


def blind(**changes: object) -> SharedDraws:
    return shared_of(settings(drop_height=None, **AS_TAKEN, **changes), draws=500)


def at_305() -> SharedDraws:
    return shared_of(settings(drop_height=known(305.0, 1.2), **AS_TAKEN), draws=500)


def passed(series: str, first: int, seeds: range) -> Counter[str]:
    """Count what passed for a ball without a drop height, and with one that was said as 305 mm."""
    found: Counter[str] = Counter()
    for seed in seeds:
        sound = knocked(series, np.random.default_rng([first, SERIES.index(series), seed]))
        for name, shared in (("blind", blind()), ("at 305 mm", at_305())):
            found[name] += any(
                drop_of(
                    1, [HeardImpact(i.time, i.u, i.above, i.picked) for i in drop.impacts], shared, named_rng(1, "x"),
                    (), quieter=drop.quieter,
                )[0].counted
                for drop in hear(sound, RATE).drops
            )  # fmt: skip
    return found


@pytest.mark.parametrize("series", ["spun coin", "rattle", "latch"])
def test_what_rattles_or_settles_quickly_is_no_ball(series: str) -> None:
    """Three of each: none passes, with a drop height or without."""
    assert passed(series, 40, range(3)) == Counter({"blind": 0, "at 305 mm": 0})


@pytest.mark.slow
@pytest.mark.parametrize(
    ("series", "most_blind", "most_known"),
    [("by hand", 0.25, 0.15), ("by a drummer", 0.45, 0.2), ("at even steps", 0.25, 0.15), ("settling", 0.5, 0.05),
     ("spun coin", 0.15, 0.05), ("rattle", 0.2, 0.05), ("latch", 0.05, 0.05), ("dribbled", 0.35, 0.12)],
)  # fmt: skip
def test_how_many_series_of_knocks_pass_for_a_ball(series: str, most_blind: float, most_known: float) -> None:
    """40 of each on fresh seeds, [41, ...]: the page's shares, with room for chance; a drop height sorts most out."""
    found = passed(series, 41, range(40))
    assert found["blind"] <= most_blind * 40
    assert found["at 305 mm"] <= most_known * 40


def test_a_first_flight_too_low_or_too_high_is_no_balls_without_a_drop_height() -> None:
    """Flights of 0.1 s rise 12 mm (g T^2/8, no drag), of 1.7 s 3.5 m; a drop from 0.1 m counts."""
    for first, words in ((0.1, "of something that settles"), (1.7, "as of knocks")):
        gaps = first * 0.9 ** np.arange(7)
        impacts = heard(0.5 + np.concatenate([[0.0], np.cumsum(gaps)]))
        heavy = blind(mass=known(100.0))
        drop, drawn = drop_of(1, impacts, heavy, named_rng(1, "x"), ())
        assert drawn is None
        assert words in drop.notes[-1]
        assert drop_of(1, impacts, heavy, named_rng(1, "x"), (), sure=True)[0].counted
    low = heard(true_times(0.1, KEPT, ball_of(settings())))
    assert drop_of(1, low, blind(), named_rng(1, "x"), ())[0].counted


def test_restitution_that_falls_as_the_impacts_get_slower_is_no_balls() -> None:
    """Gaps that shrink by even steps, 0.5 to 0.2 s: restitution falls by some 0.07 a m/s, and it does not count."""
    impacts = heard(0.5 + np.concatenate([[0.0], np.cumsum(np.linspace(0.5, 0.2, 8))]))
    drop, drawn = drop_of(1, impacts, blind(mass=known(100.0)), named_rng(1, "x"), ())
    assert drawn is None
    assert "which no ball's does" in drop.notes[-1] or "impact 2" in drop.notes[-1]


@pytest.mark.parametrize("bend", [-0.04, -0.02, 0.0, 0.01])
def test_balls_whose_restitution_changes_with_speed_count_without_a_height(bend: float) -> None:
    """Restitution that changes by -0.04 to 0.01 a m/s, scattering by 0.006: of 20 drops 19 or more count."""
    rng, shared = np.random.default_rng(5), blind()
    counted = 0
    for _ in range(20):
        kept = 0.88 + bend * (2.2 * 0.88 ** np.arange(8) - 1.0) + 0.006 * rng.standard_normal(8)
        counted += drop_of(1, heard(true_times(0.305, list(kept), ball_of(settings()))), shared, named_rng(1, "x"), ())[
            0
        ].counted
    assert counted >= 19


def test_without_a_drop_height_the_answer_says_what_it_cannot_tell() -> None:
    """The sentence of a ball names knocks and what settles; with the height it does not."""
    impacts = heard(true_times(0.305, KEPT, ball_of(settings())))
    for one, said in ((settings(drop_height=None), True), (settings(), False)):
        shared = shared_of(one)
        _, drawn = drop_of(1, impacts, shared, named_rng(1, "x"), ())
        assert drawn is not None
        balls, _ = ball_bounces({("Curlew", "07"): [HeardDrop(drawn, flown(impacts, shared, None))]}, {}, 1)
        assert ("nothing here tells a ball from knocks" in ball_sentence(balls[0], one)) is said


def test_a_phones_clock_changes_restitution_by_nothing_and_rebound_hardly() -> None:
    """100 millionths fast (a usual crystal keeps to 50, from memory): H = g T^2/8, so 0.02 % of the rebound."""
    times = true_times(0.305, KEPT, ball_of(settings()))
    exact, fast = (
        drop_of(1, heard(t), shared_of(settings()), named_rng(1, "x"), ())[0] for t in (times, times * 1.0001)
    )
    assert exact.rebound is not None
    assert fast.rebound is not None
    assert fast.rebound.value / exact.rebound.value - 1.0 == pytest.approx(2e-4, rel=0.1)
    for one, other in zip(exact.bounces[1:], fast.bounces[1:], strict=True):
        assert other.restitution.value == pytest.approx(one.restitution.value, abs=5e-6)


@pytest.mark.parametrize(
    "words",
    [
        f"restitution scatters by more than {doubt._RAGGED:g} about its line",
        f"restitution scatters by {doubt._RAGGED_ALONE:g} at most",
        f"rises {doubt._RISES_ALONE[0]:g} mm to {doubt._RISES_ALONE[1] / 1e3:g} m",
        f"falls by {doubt._FALLING:g} a m/s at most",
    ],
)
def test_bounds_that_the_page_states_are_those_of_the_program(words: str) -> None:
    """A constant that the page names is the one that the program uses."""
    assert words in " ".join(PAGE.read_text(encoding="utf-8").split())
