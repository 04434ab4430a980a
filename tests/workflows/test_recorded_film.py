"""What the page draws of a film, against the truth of films that were drawn with it."""

from __future__ import annotations

import base64
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from examples.recorded import clips
from PIL import Image
from scipy import ndimage

from ballbench.findings.bouncing.results import Spread
from ballbench.findings.watching.checks import BY_BALL
from ballbench.findings.watching.results import FilmedClip, Seen, SizeCheck
from ballbench.records.clip_marks import ClipMark
from ballbench.workflows.recorded.film import film_view
from ballbench.workflows.recorded.reading import RecordedAsk, read_recorded

STATED = (("ball", "40 mm, 2.7 g"), ("drop_height", "305 mm"))
SCENE = clips.Scene(width=120, height=360, pixel=0.00115, rate=120.0)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of a ball that falls and bounces three times."""
    place = tmp_path_factory.mktemp("film") / "Curlew_07.mp4"
    clips.film(place, SCENE, np.random.default_rng(4))
    return place


def view_of(film: Path, picks: Any = None) -> Any:
    """What is drawn of it."""
    return json.loads(read_recorded(RecordedAsk("watch", STATED, picks), str(film)).view)


def test_heights_are_those_of_the_ball_and_the_piece_shows_it(film: Path) -> None:
    """Height by an integrated flight to 1 mm; the ball, by its light in the piece, to a pixel of where it is said."""
    view = view_of(film)
    height_at = clips.motion_of(SCENE)[0]
    counting = [one for one in view["pictures"] if one["look"] == "used"]
    assert len(counting) > 90
    for one in counting[::7]:
        seen_at = one["time"] + 0.5 * SCENE.exposure / SCENE.rate  # the middle of what the exposure saw
        truth = 1e3 * float(height_at(np.array([seen_at]))[0])
        assert one["height"] == pytest.approx(truth, abs=1.0)
        piece = one["piece"]
        grey = np.asarray(Image.open(io.BytesIO(base64.b64decode(piece["jpeg"]))), dtype=np.float64)
        row, column = ndimage.center_of_mass(grey > 0.5 * (SCENE.ball + SCENE.ground))
        per_dot = piece["side"] / grey.shape[0]
        assert piece["left"] + (column + 0.5) * per_dot == pytest.approx(one["x"], abs=1.5)
        assert piece["top"] + (row + 0.5) * per_dot == pytest.approx(one["y"], abs=1.5)


def test_pictures_without_a_ball_have_no_place_of_their_own(film: Path) -> None:
    """What was left out or not found is drawn where its neighbours would have the ball, and off by nothing known."""
    one = view_of(film)["pictures"][40]
    left = next(other for other in view_of(film, ((one["time"],),))["pictures"] if other["time"] == one["time"])
    assert (left["look"], left["off"], left["doubt"]) == ("left out", None, False)
    assert left["height"] == pytest.approx(one["height"], abs=4.0)


def test_the_ring_is_as_wide_as_the_ball_is_seen(film: Path) -> None:
    """By the ball's own breadth where it was measured, else by gravity's scale: 40 mm of 1.15 and of 0.8 mm a pixel."""
    times = tuple(k / SCENE.rate for k in range(14, 71))
    level = (100.0,) * len(times)
    flags = (True,) * len(times), (False,) * len(times)
    seen = Seen(times, level, *flags, (60.0,) * len(times), (250.0,) * len(times), times, level, 120.0, 360.0)
    by_breadth = SizeCheck(BY_BALL, Spread(1.15, 0.01, 1.13, 1.17), Spread(0.7, 0.01, 0.68, 0.72), agrees=False)
    clip = FilmedClip("a.mp4", "", "Curlew", "07", scale=Spread(0.8, 0.01, 0.78, 0.82), seen=seen)
    assert film_view(replace(clip, checks=(by_breadth,)), film, (), 40.0)["breadth"] == round(40.0 / 1.15, 2)
    assert film_view(clip, film, (), 40.0)["breadth"] == 50.0


def test_pieces_are_bounded(film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a long film the pictures beyond a number have their place and no piece; what is sent stays small."""
    monkeypatch.setattr("ballbench.workflows.recorded.film._MOST", 20)
    view = view_of(film)
    assert [one["piece"] is None for one in view["pictures"][18:23]] == [False, False, True, True, True]
    assert len(json.dumps(view)) < 200_000


def test_off_is_reckoned_from_the_flight_on_either_side_of_an_impact(film: Path) -> None:
    """Flights of known parabolas that meet at an impact: places on them are off by nothing right up to it."""

    def height(time: float) -> float:
        since = (time - 0.4) % 0.3
        return 4905.0 * since * (0.3 - since)

    drawn = tuple(map(float, np.linspace(0.0, 0.6, 121)))
    times = tuple(k / SCENE.rate for k in range(14, 71) if k != 30)
    heights = tuple(map(height, times))
    ys = tuple(350.0 - one / 1.15 for one in heights)
    marks = (True,) * len(times), (False,) * len(times)
    seen = Seen(times, heights, *marks, (60.0,) * len(times), ys, drawn, tuple(map(height, drawn)), 120.0, 360.0)
    clip = FilmedClip("a.mp4", "", "Curlew", "07", seen=seen)
    put = ClipMark(0, "", 30 / SCENE.rate, 60.0, 350.0 - height(30 / SCENE.rate) / 1.15 - 10.0, 1.5)
    pictures = film_view(clip, film, (put,), 40.0)["pictures"]
    used = [one["off"] for one in pictures if one["look"] == "used"]
    assert len(used) == len(times)
    assert max(map(abs, used)) < 1e-3
    (moved,) = [one for one in pictures if one["look"] == "by hand"]
    assert moved["off"] == pytest.approx(10.0 * 1.15, abs=1e-2), "10 px of 1.15 mm above the flight"
    assert moved["doubt"]
