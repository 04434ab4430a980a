"""A clip whose pictures are held while it is looked through, against the same clip decoded each time."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from examples.recorded import clips

from ballbench.records.media.clip_file import Clip, read_clip
from ballbench.records.media.held_clip import HeldClip

SCENE = clips.Scene(width=64, height=128, pixel=0.004, rate=60.0, bounces=1)
SPANS = ((), (0.2, 0.5), (0.3, 0.4), (0.25, 0.6), ())


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A short film of a ball that falls and bounces once."""
    place = tmp_path_factory.mktemp("film") / "Curlew_07.mp4"
    clips.film(place, SCENE, np.random.default_rng(4))
    return place


@pytest.fixture
def decoded(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The spans that were decoded."""
    asked: list[Any] = []
    frames = Clip.frames

    def counted(self: Clip, *span: float) -> Any:
        asked.append(span)
        return frames(self, *span)

    monkeypatch.setattr(Clip, "frames", counted)
    return asked


def pictures(clip: Any, span: tuple[float, ...]) -> list[tuple[float, bytes]]:
    """Times and pictures as bytes."""
    return [(time, picture.tobytes()) for time, picture in clip.frames(*span)]


@pytest.mark.parametrize(("most", "times"), [(10**9, 1), (20 * 64 * 128, 4), (0, 5)])
def test_pictures_are_the_same_and_decoded_as_seldom_as_memory_allows(
    film: Path, decoded: list[Any], most: int, times: int
) -> None:
    """Of five looks: one decoding where all fit; where a third of a second does, none for the span inside it; five."""
    clip = read_clip(film)
    truth = [pictures(clip, span) for span in SPANS]
    decoded.clear()
    held = HeldClip(clip, most)
    assert [pictures(held, span) for span in SPANS] == truth
    assert len(decoded) == times
    assert (held.width, held.height) == (64, 128)


def test_a_look_that_ends_early_holds_nothing(film: Path, decoded: list[Any]) -> None:
    """Who stops after one picture leaves no part of the clip behind that would be taken for the whole."""
    clip = read_clip(film)
    held = HeldClip(clip)
    next(iter(held.frames()))
    decoded.clear()
    assert pictures(held, ()) == pictures(clip, ())
    assert len(decoded) == 2


def test_nobody_writes_into_a_picture_that_is_held(film: Path) -> None:
    """It is handed out again."""
    picture = next(iter(HeldClip(read_clip(film)).frames()))[1]
    with pytest.raises(ValueError, match="read-only"):
        picture[0, 0] = 1
