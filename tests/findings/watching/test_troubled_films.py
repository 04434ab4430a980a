"""Films with a hand, a catch, a ball that rolls away: the rebound is right, or none is said."""

from __future__ import annotations

import re

import numpy as np
import pytest
from examples.recorded.clips import Scene, motion_of
from tests.findings.watching.made_films import read
from tests.findings.watching.troubled_films import Hand, Moves, caught, place_at, shown

from ballbench.findings.watching.results import FilmedClip
from ballbench.signals.track import track_ball

SCENE = Scene(rate=60.0, drag=0.39, air_density=1.18, bounces=2, width=240)
_, TRUTH, _ = motion_of(SCENE)
FIRST, SECOND = TRUTH.impacts
TOP = (FIRST + SECOND) / 2.0


def seen(moves: Moves | None, hands: tuple[Hand, ...], lasting: float = 0.0) -> FilmedClip:
    clip, _ = shown(SCENE, np.random.default_rng(1), moves, hands, lasting=lasting)
    return read(track_ball(clip), "a")


def right(clip: FilmedClip) -> bool:
    """Whether a rebound is said, within 2 mm, and its restitution within 0.01, of scipy's integration."""
    if clip.rebound is None:
        return False
    assert clip.rebound.value == pytest.approx(TRUTH.rebound, abs=2.0)
    assert clip.impacts[0].restitution.value == pytest.approx(SCENE.restitution, abs=0.01)
    return True


@pytest.mark.parametrize("before", [0.12, 0.0])
def test_a_ball_that_is_caught_before_its_top_is_refused(before: float) -> None:
    """A hand takes the ball 0.12 s before the top of its first rebound, and at the top: no rebound was there to see."""
    moves, hand = caught(SCENE, TOP - before)
    clip = seen(moves, (hand,))
    assert clip.rebound is None
    assert re.search("or the ball is caught before|too few pictures|freely", clip.refused), clip.refused


@pytest.mark.parametrize(
    "when", [TOP + 0.15, SECOND + 0.1, SECOND + 0.2], ids=["falling", "rising again", "at the top"]
)
def test_a_ball_that_is_caught_later_is_read_or_refused(when: float) -> None:
    """Caught in its second flight the first rebound is there to see, and is right; caught falling it is never wrong."""
    moves, hand = caught(SCENE, when)
    clip = seen(moves, (hand,))
    assert right(clip) or (when < SECOND and clip.refused)


def test_a_hand_that_lets_go_and_one_that_waits_do_no_harm() -> None:
    """A hand above the ball that draws back as it falls, and one beside the fall that trembles."""
    above = place_at(SCENE, 0.0)
    assert right(seen(None, (lambda t: (above[0] + 10.0 + 400.0 * max(t - SCENE.held, 0.0), above[1] - 28.0),)))
    assert right(seen(None, (lambda t: (215.0, 120.0 + 15.0 * float(np.sin(9.0 * t))),)))


@pytest.mark.parametrize("impact", [FIRST, SECOND], ids=["first", "second"])
def test_a_ball_that_rolls_away_is_never_read_wrongly(impact: float) -> None:
    """From an impact on the ball stays on the plate and rolls to the side: refused, or its first rebound is right."""
    low = place_at(SCENE, impact)[1]
    clip = seen(lambda t, x, y: (x, y) if t < impact else (x + 150.0 * (t - impact), low), (), lasting=0.4)
    assert right(clip) or clip.refused
    if impact == FIRST:
        assert clip.rebound is None
