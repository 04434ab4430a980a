"""What the page draws of a film, against the truth of films that were drawn with it."""

from __future__ import annotations

import base64
import io
import json
import mmap
import sys
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
from ballbench.records.media.clip_file import Clip, read_clip
from ballbench.records.media.held_clip import HeldClip
from ballbench.workflows.recorded import film as film_module
from ballbench.workflows.recorded.asked import RecordedAsk
from ballbench.workflows.recorded.film import KnownFilm, film_view
from ballbench.workflows.recorded.reading import read_recorded

STATED = (("ball", "40 mm, 2.7 g"), ("drop_height", "305 mm"))
SCENE = clips.Scene(width=120, height=360, pixel=0.00115, rate=120.0)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of a ball that falls and bounces three times."""
    place = tmp_path_factory.mktemp("film") / "Curlew_07.mp4"
    clips.film(place, SCENE, np.random.default_rng(4))
    return place


def shown(clip: FilmedClip, film: Path, marks: tuple[ClipMark, ...] = ()) -> Any:
    """What is drawn of a clip that was read elsewhere, of a ball of 40 mm."""
    return film_view(clip, HeldClip(read_clip(film)), KnownFilm(), marks, 40.0)


def view_of(film: Path, picks: Any = None) -> Any:
    """What is drawn of it."""
    return json.loads(read_recorded(RecordedAsk("watch", STATED, picks), str(film)).view)


@pytest.mark.skipif(sys.platform != "linux", reason="LEFT OUT: no other system bounds a process's memory in this form")
def test_a_reading_leaves_the_memory_of_its_process_as_it_was(film: Path) -> None:
    """The bound on a decoder holds while it decodes; what the same process does next is not held to it."""
    import resource  # noqa: PLC0415 - no other system has it

    before = resource.getrlimit(resource.RLIMIT_DATA)
    read_recorded(RecordedAsk("watch", STATED), str(film))
    assert resource.getrlimit(resource.RLIMIT_DATA) == before


@pytest.mark.skipif(sys.platform != "linux", reason="LEFT OUT: no other system bounds a process's memory in this form")
def test_what_a_process_has_already_does_not_count_against_a_recording(film: Path) -> None:
    """A process that holds more than a recording may take reads it all the same."""
    held = [mmap.mmap(-1, 4 * 1024**3, flags=mmap.MAP_PRIVATE)]  # never written to: no memory is spent
    assert "pictures" in view_of(film)
    held[0].close()


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
    seen = Seen(times, level, *flags, (60.0,) * len(times), (250.0,) * len(times), times, level, 120.0, 360.0,
                lambda *place: (0.0 * place[2], 0.0 * place[0]))  # fmt: skip
    by_breadth = SizeCheck(BY_BALL, Spread(1.15, 0.01, 1.13, 1.17), Spread(0.7, 0.01, 0.68, 0.72), agrees=False)
    clip = FilmedClip("a.mp4", "", "Curlew", "07", scale=Spread(0.8, 0.01, 0.78, 0.82), seen=seen)
    assert shown(replace(clip, checks=(by_breadth,)), film)["breadth"] == round(40.0 / 1.15, 2)
    assert shown(clip, film)["breadth"] == 50.0


def test_pieces_are_bounded(film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a long film the pictures beyond a number have their place and no piece; what is sent stays small."""
    monkeypatch.setattr("ballbench.workflows.recorded.film._MOST", 20)
    view = view_of(film)
    assert [one["piece"] is None for one in view["pictures"][18:23]] == [False, False, True, True, True]
    assert len(json.dumps(view)) < 200_000


def test_off_is_reckoned_from_the_flight_on_either_side_of_an_impact(film: Path) -> None:
    """Flights of known parabolas that meet at an impact: places on them are off by nothing right up to it."""

    def height(time: Any) -> Any:
        since = (time - 0.4) % 0.3
        return 4905.0 * since * (0.3 - since)

    def by_fit(t: Any, _: Any, y: Any) -> Any:
        return 1.15 * (350.0 - y), height(t)

    drawn = tuple(map(float, np.linspace(0.0, 0.6, 121)))
    times = tuple(k / SCENE.rate for k in range(14, 71) if k != 30)
    heights = tuple(map(height, times))
    ys = tuple(350.0 - one / 1.15 for one in heights)
    marks = (True,) * len(times), (False,) * len(times)
    seen = Seen(times, heights, *marks, (60.0,) * len(times), ys, drawn, tuple(map(height, drawn)), 120.0, 360.0,
                by_fit)  # fmt: skip
    clip = FilmedClip("a.mp4", "", "Curlew", "07", seen=seen)
    put = ClipMark(0, "", 30 / SCENE.rate, 60.0, 350.0 - height(30 / SCENE.rate) / 1.15 - 10.0, 1.5)
    pictures = shown(clip, film, (put,))["pictures"]
    used = [one["off"] for one in pictures if one["look"] == "used"]
    assert len(used) == len(times)
    assert max(map(abs, used)) < 1e-3
    (moved,) = [one for one in pictures if one["look"] == "by hand"]
    assert moved["off"] == pytest.approx(10.0 * 1.15, abs=1e-2), "10 px of 1.15 mm above the flight"
    assert moved["doubt"]


def test_off_is_free_of_the_order_in_which_rows_are_read(tmp_path: Path) -> None:
    """Rows read over 6 ms by a camera that looks down and is turned: fast pictures lie off by no more than slow ones.

    While its row is read the ball moves by up to 2.4 m/s times 6 ms, 14 mm (true motion); a picture's own place is
    known to a fraction of a pixel of 1.15 mm.
    """
    place = tmp_path / "Curlew_07.mp4"
    clips.film(place, replace(SCENE, readout=6e-3, pitch=5.0, roll=3.0), np.random.default_rng(8))
    pictures = [one for one in view_of(place)["pictures"] if one["look"] == "used"]
    assert len(pictures) > 80
    assert max(abs(one["off"]) for one in pictures) < 0.6


def test_a_place_by_hand_lies_as_far_off_as_it_was_put(film: Path) -> None:
    """10 px of 1.15 mm above where it was found, so unsure that it cannot pull the flight along: 11.5 mm to 0.4 mm."""
    one = view_of(film)["pictures"][40]
    moved = view_of(film, ((one["time"], one["x"], one["y"] - 10.0, 100.0),))["pictures"]
    (put,) = [other for other in moved if other["look"] == "by hand"]
    assert put["off"] - one["off"] == pytest.approx(11.5, abs=0.4)
    assert put["doubt"]


def test_a_film_is_decoded_once_however_often_it_is_mended(film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One decoding when it is first read, none to mend it; what is mended is what a reader that knows nothing gives."""
    decoded = []

    def counted(self: Clip, *span: float) -> Any:
        decoded.append(span)
        return frames(self, *span)

    frames = Clip.frames
    monkeypatch.setattr(Clip, "frames", counted)
    monkeypatch.setattr(film_module, "_known", type(film_module._known)())
    one = view_of(film)["pictures"][40]
    assert len(decoded) == 1
    picks = ((one["time"], one["x"] + 1.0, one["y"] - 1.0), (one["time"] + 0.1,))
    mended = read_recorded(RecordedAsk("watch", STATED, picks), str(film))
    assert len(decoded) == 1
    film_module._known.clear()
    afresh = read_recorded(RecordedAsk("watch", STATED, picks), str(film))
    assert len(decoded) == 2
    assert (mended.document, mended.values) == (afresh.document, afresh.values)
    for now, then in zip(*(json.loads(told.view)["pictures"] for told in (mended, afresh)), strict=True):
        assert {**now, "piece": None} == {**then, "piece": None}
        assert now["piece"]["left"] == pytest.approx(then["piece"]["left"], abs=0.16 * then["piece"]["side"])
        assert now["piece"]["side"] == pytest.approx(then["piece"]["side"], rel=0.16)


def test_only_the_last_films_are_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of three films looked at in turn the first is forgotten, and one that was asked for again is not."""
    monkeypatch.setattr(film_module, "_known", type(film_module._known)())
    first, second = film_module.known_film("a"), film_module.known_film("b")
    assert film_module.known_film("a") is first
    film_module.known_film("c")
    assert film_module.known_film("a") is first
    assert film_module.known_film("b") is not second
