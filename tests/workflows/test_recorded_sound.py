from __future__ import annotations

import json
import math

import numpy as np
import pytest

from ballbench.findings.bouncing.results import BounceDrop, BounceRecording, HeardImpact, Picture
from ballbench.workflows.recorded.sound import sound_view

RATE = 48_000


def heard(*drops: tuple[float, ...]) -> BounceRecording:
    """A recording in which impacts were found."""
    found = tuple(
        BounceDrop(i, tuple(HeardImpact(time, 2e-5, 30.0, "found") for time in times), (), (), None)
        for i, times in enumerate(drops, 1)
    )
    return BounceRecording(
        "drop.wav", "sha256:1", "Curlew", "1", drops=found, picture=Picture((0.5,), (-0.25,), (0.5,))
    )


def test_a_magnified_piece_holds_every_extreme_of_the_sound_around_an_impact() -> None:
    """The lowest and the highest of its pieces are those of the samples, whatever falls between: numpy says which."""
    rng = np.random.default_rng(3)
    sound = rng.uniform(-1.0, 1.0, (1, RATE)).astype(np.float32)
    view = sound_view(heard((0.25, 0.5)), sound, RATE, None)
    for pick in view["drops"][0]["picks"]:
        close = pick["close"]
        around = sound[0, round(close["from"] * RATE) : round(close["until"] * RATE)]
        assert (min(close["low"]), max(close["high"])) == pytest.approx((around.min(), around.max()), abs=6e-5)
        assert close["until"] - close["from"] == pytest.approx(0.020, abs=2.1 / RATE)
        assert close["from"] < pick["time"] < close["until"]
        assert pick["found"]


def test_a_step_stands_where_it_is() -> None:
    """A sound that begins at an impact is silent in the piece before it and loud in the piece after it."""
    sound = np.zeros((2, RATE), dtype=np.float32)
    sound[1, RATE // 2 :] = 0.5  # the second channel is the louder one, and is the one that is shown
    view = sound_view(heard((0.5,)), sound, RATE, None)
    close = view["drops"][0]["picks"][0]["close"]
    width = (close["until"] - close["from"]) / len(close["high"])
    begins = close["from"] + width * next(i for i, high in enumerate(close["high"]) if high > 0.25)
    assert begins == pytest.approx(0.5, abs=1.5 * width)


def test_picks_of_a_person_are_shown_whatever_was_heard() -> None:
    """Three picks, of which one was heard there: all three stand, and only that one says how sure it is."""
    view = sound_view(heard((0.2500001,)), np.zeros((1, RATE), dtype=np.float32), RATE, ((0.1, 0.25), (0.9,)))
    shown = [[(one["time"], one["u"]) for one in drop["picks"]] for drop in view["drops"]]
    assert shown == [[(0.1, None), (0.25, 2e-5)], [(0.9, None)]]
    assert view["mended"]


@pytest.mark.parametrize("time", [0.0, 1e-6, 0.9999, 1.0, 5.0])
def test_a_pick_at_the_edge_or_beyond_it_breaks_nothing(time: float) -> None:
    """A piece that has hardly any sound in it is smaller, or is not there; the whole is JSON without NaN."""
    sound = np.full((1, RATE), np.nan, dtype=np.float32)
    view = sound_view(heard(), sound, RATE, ((time,),))
    assert "NaN" not in json.dumps(view, allow_nan=False)
    close = view["drops"][0]["picks"][0]["close"]
    assert close is None or all(math.isfinite(level) for level in close["low"])


def test_a_thousand_impacts_are_not_all_magnified() -> None:
    """The picture of a recording of an hour stays small: the first four hundred impacts, in coarser pieces."""
    times = tuple(0.0009 * i for i in range(1, 1001))
    view = sound_view(heard(times), np.zeros((1, RATE), dtype=np.float32), RATE, None)
    close = [one["close"] for one in view["drops"][0]["picks"]]
    assert (sum(one is not None for one in close), close[600]) == (400, None)
    assert max(len(one["low"]) for one in close if one) == 160
    assert len(json.dumps(view)) < 2_000_000
