from __future__ import annotations

import io
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from tests.records.media.phone_files import edited, first_shown, with_cover, with_matrix

from ballbench.errors import BadRecording
from ballbench.records.media.clip_file import Clip, read_clip
from ballbench.records.media.recording_file import film_behind, take_in_recording

COUNT = 32
TIMES = np.concatenate([[0.0], np.cumsum(np.random.default_rng(1).uniform(3e-3, 9e-3, COUNT - 1))])
"""Uneven, as phones film: pictures of their own times, s."""
EVEN = np.arange(COUNT) / 240.0
HIGH, WIDE = 96, 128
QUIET = {"x265-params": "log-level=0:bframes=3"}
DEEP = {"x265-params": "log-level=0"}


def scene(number: int) -> NDArray[np.uint8]:
    """No turn and no mirror leaves it as it is; its number stands in eight blocks at the bottom."""
    picture = np.full((HIGH, WIDE), 50, np.uint8)
    picture[: HIGH // 2, : WIDE // 2] = 110
    picture[8:24, 8:24] = 200
    for bit in range(8):
        if number >> bit & 1:
            picture[-24:-8, 4 + bit * 14 : 16 + bit * 14] = 220
    return picture


def number_in(picture: NDArray[np.uint8]) -> int:
    return sum(1 << bit for bit in range(8) if picture[-20:-12, 6 + bit * 14 : 14 + bit * 14].mean() > 135.0)


def film(
    path: Path, times: Sequence[float] | NDArray[np.float64] = TIMES, *, packing: dict[str, str] | None = None,
    says: dict[str, str] | None = None, **coding: Any,
) -> bytes:  # fmt: skip
    """Film the scene at these times; `says` are tags of the file, `coding` goes to `_track`."""
    with _scheduled_as_before(), av.open(str(path), "w", options=packing or {}) as out:
        out.metadata.update(says or {})
        _fill(out, _track(out, **coding), times)
    return path.read_bytes()


@contextmanager
def _scheduled_as_before() -> Iterator[None]:
    """The AV1 encoder, run by root, lifts the thread that calls it above every program of the machine, for good."""
    before = os.sched_getscheduler(0) if hasattr(os, "sched_getscheduler") else None
    try:
        yield
    finally:
        if before is not None and os.sched_getscheduler(0) != before:
            os.sched_setscheduler(0, before, os.sched_param(0))


def _track(
    out: Any, *, codec: str = "libx264", pixels: str = "yuv420p", ticks: int = 90_000,
    options: dict[str, str] | None = None, colour: int = 0, grow: int = 1,
) -> Any:  # fmt: skip
    """Give a film track; `colour` are the transfer characteristics of ITU-T H.273, `grow` how many times as large."""
    stream = out.add_stream(codec, rate=240)
    stream.pix_fmt, stream.options = pixels, options or {}
    stream.codec_context.time_base = Fraction(1, ticks)
    stream.height, stream.width = HIGH * grow, WIDE * grow
    if colour:
        stream.codec_context.color_primaries = stream.codec_context.colorspace = 9
        stream.codec_context.color_trc = colour
    return stream


def _fill(out: Any, stream: Any, times: Sequence[float] | NDArray[np.float64]) -> None:
    grow, ticks = stream.height // HIGH, stream.codec_context.time_base.denominator
    for number, time in enumerate(times):
        picture = np.kron(scene(number), np.ones((grow, grow), np.uint8))
        frame = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format=stream.pix_fmt)
        frame.pts, frame.time_base = round(time * ticks), Fraction(1, ticks)
        out.mux(stream.encode(frame))
    out.mux(stream.encode(None))


def seen(clip: Clip) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Numbers of the pictures, and their times."""
    found = [(number_in(picture), time) for time, picture in clip.frames()]
    return np.array([number for number, _ in found]), np.array([time for _, time in found])


def written(path: Path, data: bytes) -> Clip:
    path.write_bytes(data)
    return read_clip(path)


@pytest.mark.parametrize(
    ("name", "coding", "off"),
    [
        ("a.mov", {"codec": "libx265", "options": QUIET}, 2e-5),
        ("hlg.mov", {"codec": "libx265", "pixels": "yuv420p10le", "colour": 18, "options": DEEP}, 2e-5),
        ("pq.mp4", {"codec": "libx265", "pixels": "yuv420p10le", "colour": 16, "options": DEEP}, 2e-5),
        ("b.mp4", {"options": {"bf": "3", "b-adapt": "0"}}, 2e-5),
        ("minus.mp4", {"options": {"bf": "3", "b-adapt": "0"}, "packing": {"movflags": "negative_cts_offsets"}}, 2e-5),
        ("full.mp4", {"pixels": "yuvj420p"}, 2e-5),
        ("a.mov", {"codec": "prores_ks", "pixels": "yuv422p10le"}, 2e-5),
        ("a.mov", {"codec": "mjpeg", "pixels": "yuvj420p"}, 2e-5),
        ("a.mp4", {"codec": "libsvtav1"}, 2e-5), ("a.webm", {"codec": "libvpx-vp9", "ticks": 1000}, 1e-3),
        ("parts.mp4", {"packing": {"movflags": "frag_keyframe+empty_moov"}, "options": {"g": "10"}}, 2e-5),
        ("first.mp4", {"packing": {"movflags": "faststart"}}, 2e-5),
        ("coarse.mov", {"ticks": 600}, 1.7e-3),
    ],
    ids=["hevc", "hlg", "pq", "b", "negative", "full", "prores", "mjpeg", "av1", "vp9", "fragments", "first", "600"],
)  # fmt: skip
def test_every_picture_has_its_own_time_in_every_coding(
    tmp_path: Path, name: str, coding: dict[str, Any], off: float
) -> None:
    """Numbers in the pictures are those that were filmed, in turn, each at its time to a tick; levels within 6."""
    film(tmp_path / name, **coding)
    clip = read_clip(tmp_path / name)
    numbers, times = seen(clip)
    assert numbers.tolist() == list(range(COUNT))
    assert times == pytest.approx(TIMES, abs=off)
    _, picture = next(clip.frames())
    assert [picture[16, 16], picture[38, 40], picture[38, 100]] == pytest.approx([200, 110, 50], abs=6)


@pytest.mark.parametrize(
    ("numbers", "back"),
    [
        ((1, 0, 0, 1), lambda p: p), ((0, 1, -1, 0), lambda p: np.rot90(p, 1)),
        ((-1, 0, 0, -1), lambda p: p[::-1, ::-1]), ((0, -1, 1, 0), lambda p: np.rot90(p, -1)),
        ((-1, 0, 0, 1), lambda p: p[:, ::-1]), ((1, 0, 0, -1), lambda p: p[::-1]),
        ((0, 1, 1, 0), lambda p: p.T), ((0, -1, -1, 0), lambda p: p[::-1, ::-1].T),
        ((0, 0, 0, 0), lambda p: p),
    ],
    ids=["none", "90", "180", "270", "mirrored", "upside down", "exchanged", "exchanged back", "nothing"],
)  # fmt: skip
def test_all_eight_ways_to_stand_are_undone(
    tmp_path: Path, numbers: tuple[float, ...], back: Callable[[NDArray[np.uint8]], NDArray[np.uint8]]
) -> None:
    """A point (p, q) is shown at (a p + c q, b p + d q), rows down (ISO/IEC 14496-12, 6.2.2): algebra of each."""
    clip = written(tmp_path / "a.mp4", with_matrix(film(tmp_path / "plain.mp4", TIMES[:4]), numbers))
    pictures = [back(picture) for _, picture in clip.frames()]
    assert [number_in(picture) for picture in pictures] == [0, 1, 2, 3]
    assert np.median(np.abs(pictures[0].astype(float) - scene(0))) < 6.0
    assert not clip.notes


def test_a_film_that_asks_for_a_third_of_a_turn_is_told(tmp_path: Path) -> None:
    """30 degrees: not turned, and a note."""
    data = with_matrix(film(tmp_path / "plain.mp4", TIMES[:4]), (0.866, 0.5, -0.5, 0.866))
    clip = written(tmp_path / "a.mp4", data)
    assert clip.turned == 0
    assert any("no quarter of a turn" in note for note in clip.notes)


def test_pieces_in_a_row_and_other_paces_keep_the_times_of_the_track(tmp_path: Path) -> None:
    """Slow motion by an edit list: 50 ms, 50 ms at an eighth of the pace, the rest; and the whole at an eighth."""
    data = film(tmp_path / "plain.mp4", options={"bf": "3", "b-adapt": "0"})
    begin, end = first_shown(data), float(TIMES[-1]) + 0.01
    parts = [(0.05, begin, 1.0), (0.4, begin + 0.05, 0.125), (end - 0.1, begin + 0.1, 1.0)]
    for edits in (parts, [(8 * end, begin, 0.125)]):
        clip = written(tmp_path / "a.mp4", edited(data, edits))
        numbers, times = seen(clip)
        assert numbers.tolist() == list(range(COUNT))
        assert times == pytest.approx(TIMES, abs=2e-5)
        assert any("another pace" in note for note in clip.notes)


def test_a_trimmed_film_is_what_is_left_of_it(tmp_path: Path) -> None:
    """An edit list that begins later and ends sooner: pictures of that part, times from its first; one of no length."""
    data = film(tmp_path / "plain.mp4", options={"bf": "0"})
    begin = first_shown(data)
    numbers, times = seen(written(tmp_path / "a.mp4", edited(data, [(0.08, begin + float(TIMES[10]), 1.0)])))
    assert numbers[0] == 10
    assert np.all(np.diff(numbers) == 1)
    assert times == pytest.approx(TIMES[numbers] - TIMES[10], abs=2e-5)
    assert times[-1] == pytest.approx(0.08, abs=0.01)
    assert len(seen(written(tmp_path / "a.mp4", edited(data, [(0.0, begin, 1.0)])))[0]) == COUNT


@pytest.mark.parametrize("second", [0.12, 0.0], ids=["cut out", "twice"])
def test_an_edited_film_is_refused(tmp_path: Path, second: float) -> None:
    """Pieces that do not follow each other: the time between them is not known."""
    data = film(tmp_path / "plain.mp4", options={"bf": "0"})
    begin = first_shown(data)
    with pytest.raises(BadRecording, match="was edited"):
        written(tmp_path / "a.mp4", edited(data, [(0.08, begin, 1.0), (0.05, begin + second, 1.0)]))


SAYS = "invented.recorder.capture.fps"


@pytest.mark.parametrize(
    ("taken", "stored", "factor"),
    [("240", 30.0, 8.0), ("240.000000", 29.97, 240 / 29.97), ("240", 240.0, 1.0), ("30", 30.0, 1.0), ("1", 30.0, 1.0),
     ("fast", 30.0, 1.0)],
)  # fmt: skip
def test_a_film_that_is_stored_slowed_down_is_given_its_own_times(
    tmp_path: Path, taken: str, stored: float, factor: float
) -> None:
    """Pictures taken at 240 a second and stored at 30, with one that was dropped: times of 240 a second again.

    Where both rates agree, or nothing useful is said, times are those of the file.
    """
    numbers = np.delete(np.arange(COUNT + 1), 9)
    film(tmp_path / "a.mp4", numbers / stored, says={SAYS: taken}, packing={"movflags": "use_metadata_tags"})
    clip = read_clip(tmp_path / "a.mp4")
    assert clip.slowed == pytest.approx(factor, rel=1e-4)
    assert [time for time, _ in clip.frames()] == pytest.approx(numbers / stored / factor, abs=2e-5)
    assert any("times slower" in note for note in clip.notes) == (factor != 1.0)


def test_covers_and_previews_are_not_taken_for_the_film(tmp_path: Path) -> None:
    """A cover larger than the film; a track of one large picture before it, as a thumbnail."""
    clip = written(tmp_path / "cover.mp4", with_cover(film(tmp_path / "plain.mp4", options={"bf": "0"})))
    assert seen(clip)[0].tolist() == list(range(COUNT))
    with av.open(str(tmp_path / "preview.mov"), "w") as out:
        preview, whole = _track(out, codec="mjpeg", pixels="yuvj420p", grow=2), _track(out, options={"bf": "0"})
        _fill(out, preview, TIMES[:1])
        _fill(out, whole, TIMES)
    clip = read_clip(tmp_path / "preview.mov")
    assert (clip.width, clip.height) == (WIDE, HIGH)
    assert seen(clip)[0].tolist() == list(range(COUNT))


def test_a_pause_within_a_film_stays_a_pause(tmp_path: Path) -> None:
    """A second without pictures: those behind it are a second later."""
    late = TIMES + np.where(np.arange(COUNT) >= 16, 1.0, 0.0)
    film(tmp_path / "a.mp4", late, options={"bf": "0"})
    assert seen(read_clip(tmp_path / "a.mp4"))[1] == pytest.approx(late, abs=2e-5)


def test_what_the_phone_did_not_finish_is_told(tmp_path: Path) -> None:
    """No table of contents; a copy that ends early; half pictures; a sound under a film's name."""
    data = film(tmp_path / "plain.mp4")
    with pytest.raises(BadRecording, match="table of contents"):
        written(tmp_path / "a.mp4", data[: data.index(b"moov") - 4])
    front = film(tmp_path / "front.mp4", options={"bf": "0", "g": "4"}, packing={"movflags": "faststart"})
    clip = written(tmp_path / "b.mp4", front[: len(front) - 400])
    assert any("cut short" in note for note in clip.notes)
    assert 1 <= len(seen(clip)[0]) < COUNT
    film(tmp_path / "half.mov", codec="prores_ks", pixels="yuv422p10le", options={"flags": "+ildct"})
    with pytest.raises(BadRecording, match="interlaced"):
        read_clip(tmp_path / "half.mov")
    for name, head in (("a.wav", b"RF64\0\0\0\0WAVEds64"), ("a.caf", b"caff\0\1\0\0desc"), ("a.amr", b"#!AMR\n")):
        (tmp_path / name).write_bytes(head + bytes(100))
        with pytest.raises(BadRecording, match="a sound is for `ballbench listen`"):
            read_clip(tmp_path / name)


def test_a_photograph_with_a_film_behind_it_says_so(tmp_path: Path) -> None:
    """A JPEG to which an MP4 is appended is a photograph to `trace`; `watch` says what it is and what to do."""
    held = io.BytesIO()
    Image.fromarray(scene(3)).save(held, "JPEG", comment=b"a comment that says ftyp and no more")
    plain, motion = tmp_path / "plain.jpg", tmp_path / "motion.jpg"
    plain.write_bytes(held.getvalue())
    motion.write_bytes(held.getvalue() + film(tmp_path / "a.mp4", TIMES[:4]))
    assert not film_behind(take_in_recording(plain, "a photograph"))
    assert film_behind(take_in_recording(motion, "a photograph"))
    with pytest.raises(BadRecording, match="motion photo"):
        read_clip(motion)


@pytest.mark.parametrize("seed", range(8))
def test_damaged_boxes_are_read_or_refused(tmp_path: Path, seed: int) -> None:
    """Bytes of moov changed at random: pictures whose times go on, or one fault."""
    data = bytearray(edited(film(tmp_path / "plain.mp4"), [(0.05, 0.01, 1.0), (0.4, 0.06, 0.125)]))
    generator = np.random.default_rng(seed)
    for place in generator.integers(data.index(b"moov"), len(data), 8):
        data[place] = generator.integers(256)
    times, faults = np.zeros(0), 1
    try:
        times = np.array([time for time, _ in written(tmp_path / "a.mp4", bytes(data)).frames()])
    except BadRecording as told:
        faults = len(told.faults)
    assert np.all(np.diff(times) > 0.0)
    assert faults == 1
