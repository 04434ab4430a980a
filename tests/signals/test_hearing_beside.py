"""What sounds among the impacts of a ball and is none of them: said where it may be another ball."""

from __future__ import annotations

import numpy as np
import pytest
from examples.recorded.sounds import hiss, speech_like
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


def test_talk_among_the_impacts_is_no_other_ball() -> None:
    """Four drops beside talk that is a tenth as loud: heard, and nothing is said of another ball."""
    for seed in range(4):
        samples, _ = a_drop(20 + seed)
        rng = np.random.default_rng(seed)
        talk = 0.05 * speech_like(samples.size, rng) + 1e-3 * hiss(samples.size, rng)
        heard = hear(samples + talk, RATE)
        assert heard.drops
        assert not any("another ball" in note for drop in heard.drops for note in drop.notes)
