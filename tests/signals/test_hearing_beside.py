"""What sounds among the impacts of a ball and is none of them: said where it may be another ball."""

from __future__ import annotations

import numpy as np
import pytest
from examples.recorded.sounds import hiss, speech_like
from scipy import signal
from test_hearing import RATE, a_drop

from ballbench.signals.hearing import hear


@pytest.mark.parametrize("late", [0.07, 0.16, 0.23])
def test_a_second_ball_among_the_impacts_is_said(late: float) -> None:
    """Two balls let go a moment after each other: at most one is followed, and that another sounds is said."""
    one, _ = a_drop(1, count=12)
    other, _ = a_drop(2, "hard ball on stone", count=8)
    both = np.zeros(one.size + round(late * RATE))
    both[: one.size] += one
    begin = round(late * RATE)
    size = min(other.size, both.size - begin)
    both[begin : begin + size] += other[:size]
    heard = hear(both, RATE)
    if not heard.refused:
        assert any("another ball" in note for drop in heard.drops for note in drop.notes)


@pytest.mark.parametrize("late", [0.05, 0.3])
def test_of_two_balls_one_is_followed_throughout(late: float) -> None:
    """Two balls at once: every drop that is heard has impacts of one of them alone, to 2 ms."""
    one, first = a_drop(3, count=10)
    other, second = a_drop(4, "hard ball on stone", count=9)
    begin = round(late * RATE)
    both = np.zeros(max(one.size, begin + other.size))
    both[: one.size] += one
    both[begin : begin + other.size] += other
    heard = hear(both, RATE)
    assert heard.drops
    for drop in heard.drops:
        times = np.array([impact.time for impact in drop.impacts])
        away = [np.abs(times[:, None] - onsets).min(axis=1).max() for onsets in (first, second + begin / RATE)]
        assert min(away) < 2e-3


def test_a_ball_in_the_next_room_changes_nothing() -> None:
    """Muffled below 900 Hz and 20 dB quieter: the same impacts, to 0.1 ms or three uncertainties."""
    samples, _ = a_drop(5, count=10)
    other, _ = a_drop(6, "felt ball on concrete", count=8)
    muffled = signal.sosfilt(signal.butter(2, 900.0, fs=RATE, output="sos"), other)
    both = samples.copy()
    size = min(both.size, muffled.size)
    both[:size] += 0.05 * muffled[:size] / np.max(np.abs(muffled))
    alone, beside = hear(samples, RATE).drops[0], hear(both, RATE).drops[0]
    for a, b in zip(alone.impacts, beside.impacts, strict=False):
        assert abs(a.time - b.time) < max(1e-4, 3.0 * b.u)
    assert len(beside.impacts) >= 6


def test_talk_among_the_impacts_is_no_other_ball() -> None:
    """Four drops beside talk that is a tenth as loud: heard, and nothing is said of another ball."""
    for seed in range(4):
        samples, _ = a_drop(20 + seed)
        rng = np.random.default_rng(seed)
        talk = 0.05 * speech_like(samples.size, rng) + 1e-3 * hiss(samples.size, rng)
        heard = hear(samples + talk, RATE)
        assert heard.drops
        assert not any("another ball" in note for drop in heard.drops for note in drop.notes)
