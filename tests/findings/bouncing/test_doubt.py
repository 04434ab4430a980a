from __future__ import annotations

import numpy as np
import pytest
from tests.findings.bouncing.made_drops import ball_of, dropped, heard, settings, shared_of, true_times

from ballbench.findings.bouncing.doubt import beginning_in_doubt, first_gain, gain_words, standing_apart
from ballbench.findings.bouncing.draws import named_rng
from ballbench.findings.bouncing.drops import drop_of
from ballbench.findings.bouncing.results import BounceAt, Spread

PLANTED = [0.92, 0.922, 0.924, 0.926, 0.928, 0.93, 0.931]


def bounces(values: list[float], first: int = 1) -> list[BounceAt]:
    speeds = 2.4 * 0.92 ** np.arange(len(values))
    return [
        BounceAt(first + k, Spread(value, 1e-3, value - 2e-3, value + 2e-3), float(speeds[k]), 0.01, "flight before")
        for k, value in enumerate(values)
    ]


def test_a_missed_first_impact_does_not_count() -> None:
    """From the second impact on the first flight is too short for the fall: restitution 0.849 seems to be there."""
    times = true_times(0.305, PLANTED, ball_of(settings()))
    drop, drawn = dropped(times[1:], shared_of(settings()))
    assert drawn is None
    assert not drop.counted
    assert "the first impact was missed" in drop.notes[-1]
    assert len(drop.flights) == 6  # what was heard is still shown


@pytest.mark.parametrize("before", [0.2, 0.35, 0.4, 0.43, 0.5, 0.8])
def test_a_sound_before_the_drop_is_not_its_first_impact(before: float) -> None:
    """A knock so many seconds early makes the first restitutions jump, whatever the gap: such a drop does not count."""
    times = true_times(0.305, PLANTED, ball_of(settings()))
    drop, drawn = dropped(np.concatenate(([times[0] - before], times)), shared_of(settings()))
    assert drawn is None
    assert not drop.counted


def test_another_drop_height_does_not_count() -> None:
    """A drop from 250 mm said to be from 305 mm: 0.92 sqrt(250/305) = 0.833 at first, 0.92 after (algebra, no drag)."""
    times = true_times(0.250, PLANTED, ball_of(settings()))
    drop, drawn = dropped(times, shared_of(settings()))
    assert drawn is None
    assert "drop height was another" in drop.notes[-1]


def test_what_a_person_picked_counts_and_is_pointed_out() -> None:
    """The same drop with its impacts picked by hand counts; the first stands apart."""
    times = true_times(0.250, PLANTED, ball_of(settings()))
    drop, drawn = drop_of(1, heard(times), shared_of(settings()), named_rng(1, "x"), (), sure=True)
    assert drawn is not None
    assert drop.counted
    assert "stands apart" in drop.notes[-1]


@pytest.mark.parametrize(
    "values", [PLANTED, [0.73, 0.76, 0.775, 0.785, 0.79, 0.795], [0.5, 0.53, 0.55, 0.57], [0.9, 0.9]]
)
def test_balls_as_they_are_are_not_doubted(values: list[float]) -> None:
    """Restitution that rises as the ball gets slower, light balls and soft ones, also with few impacts."""
    assert beginning_in_doubt(bounces(values)) == ""


def test_honest_drops_are_hardly_ever_doubted() -> None:
    """400 drops whose restitution scatters by 0.006 from impact to impact: 1 in 100 at most (simulation)."""
    rng = np.random.default_rng(4)
    doubted = sum(
        bool(beginning_in_doubt(bounces(list(np.linspace(0.9, 0.92, n) + 0.006 * rng.standard_normal(n)))))
        for n in rng.integers(5, 10, 400)
    )
    assert doubted <= 4


def test_two_impacts_alone_are_held_against_each_other() -> None:
    """With too few for a line a jump of 0.1 is doubted; with none beside it nothing is."""
    assert "speak for" in beginning_in_doubt(bounces([0.80, 0.90]))
    assert beginning_in_doubt(bounces([0.80])) == ""
    assert beginning_in_doubt(bounces([0.99, 0.90], first=2)) == ""


def test_a_gain_is_told_only_beyond_its_interval() -> None:
    """1.01 with u 0.02 could be 0.99; with u 0.001 it could not (normal draws)."""
    steps = np.random.default_rng(1).standard_normal(2000)
    wide = np.concatenate(([1.01], 1.01 + 0.02 * steps))[:, None]
    sharp = np.concatenate(([1.01], 1.01 + 0.001 * steps))[:, None]
    assert first_gain(wide) is None
    assert first_gain(sharp) == 0
    assert "drop height" in gain_words(1, 1.01)
    assert "impact 4" in gain_words(4, 1.01)


def test_one_odd_impact_is_pointed_out() -> None:
    """0.95 among 0.92 to 0.93 is named; scatter alone is not."""
    assert "impact 4 (0.960)" in standing_apart(bounces([0.92, 0.921, 0.922, 0.96, 0.924, 0.925]))[0]
    assert standing_apart(bounces([0.92, 0.921, 0.922, 0.923])) == []
    assert standing_apart(bounces([0.8, 0.9, 0.95])) == []


def test_impacts_that_get_no_quieter_need_a_drop_height_or_a_person() -> None:
    """Claps at a ball's intervals keep their loudness, a ball's too by a recorder's gain: the drop height decides."""
    impacts = heard(true_times(0.305, PLANTED, ball_of(settings())))
    blind, known = shared_of(settings(drop_height=None)), shared_of(settings())
    drop, drawn = drop_of(1, impacts, blind, named_rng(1, "x"), (), quieter=False)
    assert drawn is None
    assert not drop.counted
    assert "--drop-height" in drop.notes[-1]
    for shared, sure, quieter in ((blind, False, True), (blind, True, False), (known, False, False)):
        drop, drawn = drop_of(1, impacts, shared, named_rng(1, "x"), (), sure=sure, quieter=quieter)
        assert drop.counted
        assert drawn is not None


def test_so_few_impacts_need_a_drop_height() -> None:
    """Four impacts, the fifth missed: by themselves they may be knocks; from a known height the first flight tells."""
    impacts = heard(true_times(0.305, PLANTED[:3], ball_of(settings())))
    drop, _ = drop_of(1, impacts, shared_of(settings(drop_height=None)), named_rng(1, "x"), ())
    assert not drop.counted
    assert "only 4 impacts" in drop.notes[-1]
    assert drop_of(1, impacts, shared_of(settings()), named_rng(1, "x"), ())[0].counted


def test_a_person_who_knocks_faster_and_faster_is_no_ball() -> None:
    """Intervals that shrink by 0.88 with 5 % of noise hardly ever count; a ball that scatters by 0.008 always does."""
    rng, blind = np.random.default_rng(3), shared_of(settings(drop_height=None), draws=400)
    counted = []
    for _ in range(20):
        gaps = 0.5 * 0.88 ** np.arange(9) * (1.0 + 0.05 * rng.standard_normal(9))
        impacts = heard(np.concatenate(([0.5], 0.5 + np.cumsum(gaps))), u=1e-4)
        counted.append(drop_of(1, impacts, blind, named_rng(1, "x"), ())[0].counted)
        ball = list(np.array([*PLANTED, 0.93]) + 0.008 * rng.standard_normal(8))
        assert drop_of(1, heard(true_times(0.305, ball, ball_of(settings())), u=1e-4), blind, named_rng(1, "x"), ())[
            0
        ].counted
    assert sum(counted) <= 2
