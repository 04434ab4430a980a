from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from examples.recorded.clips import write_clip

from ballbench.errors import BadRecording
from ballbench.records.media import clip_file
from ballbench.records.media.clip_file import read_clip

TIMES = (0.0, 0.01, 0.04, 0.05, 0.12, 0.13, 0.20, 0.31)


def shown(size: tuple[int, int] = (64, 96)) -> list[tuple[float, np.ndarray]]:
    """Pictures whose left upper quarter is bright, each a little brighter than the last."""
    pictures = []
    for k, time in enumerate(TIMES):
        picture = np.full(size, 40, np.uint8)
        picture[: size[0] // 2, : size[1] // 2] = 120 + 10 * k
        pictures.append((time, picture))
    return pictures


@pytest.mark.parametrize(
    ("name", "coding", "off"),
    [
        ("a.mp4", {"codec": "libx264"}, 1e-4), ("a.mov", {"codec": "mpeg4", "ticks": 1000}, 1e-3),
        ("a.mkv", {"codec": "ffv1", "ticks": 1000}, 1e-3), ("a.webm", {"codec": "libvpx-vp9", "ticks": 1000}, 1e-3),
        ("a.mp4", {"codec": "libx265"}, 1e-4),
    ],
    ids=["h264", "mpeg4", "ffv1", "vp9", "h265"],
)  # fmt: skip
def test_every_frame_comes_with_its_own_time(tmp_path: Path, name: str, coding: dict[str, object], off: float) -> None:
    """Uneven times that were written by FFmpeg's libraries come back as they were, and grey levels within 6 of 256."""
    path = tmp_path / name
    write_clip(path, iter(shown()), **coding)  # type: ignore[arg-type]
    clip = read_clip(path)
    found = list(clip.frames())
    assert [time for time, _ in found] == pytest.approx(TIMES, abs=off)
    assert (clip.width, clip.height, clip.shrunk) == (96, 64, 1.0)
    for (_, was), (_, now) in zip(shown(), found, strict=True):
        assert np.abs(now[4:28, 4:44].astype(float) - was[4:28, 4:44]).max() < 6.0
        assert np.abs(now[36:60, 52:92].astype(float) - was[36:60, 52:92]).max() < 6.0


def test_a_part_of_a_clip_and_the_whole_again(tmp_path: Path) -> None:
    """Frames between two times, both included; asked again, the clip begins anew."""
    path = tmp_path / "a.mp4"
    write_clip(path, iter(shown()))
    clip = read_clip(path)
    assert [round(time, 3) for time, _ in clip.frames(0.04, 0.13)] == [0.04, 0.05, 0.12, 0.13]
    assert len(list(clip.frames())) == len(TIMES)


@pytest.mark.parametrize("turned", [90, 180, 270])
def test_a_turned_clip_stands_upright(tmp_path: Path, turned: int) -> None:
    """The display matrix that FFmpeg's libraries write turns the picture counter-clockwise by so many degrees."""
    path = tmp_path / "a.mp4"
    write_clip(path, iter(shown()), turned=turned)
    clip = read_clip(path)
    _, picture = next(clip.frames())
    assert picture.shape == (clip.height, clip.width)
    expected = np.rot90(shown()[0][1], turned // 90)
    assert picture.shape == expected.shape
    assert np.median(np.abs(picture.astype(float) - expected)) < 6.0


def test_large_pictures_are_averaged_down_by_whole_steps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three px of the file become one, and means stay: grey levels of the quarters within 6."""
    monkeypatch.setattr(clip_file, "_WORKING_SIDE", 100)
    path = tmp_path / "a.mp4"
    write_clip(path, iter(shown((192, 288))))
    clip = read_clip(path)
    _, picture = next(clip.frames())
    assert (clip.shrunk, picture.shape) == (3.0, (64, 96))
    assert abs(float(picture[:28, :44].mean()) - 120.0) < 6.0
    assert abs(float(picture[36:, 52:].mean()) - 40.0) < 6.0


def sound_only(path: Path) -> None:
    with av.open(str(path), "w") as out:
        stream = out.add_stream("aac", rate=48000, layout="mono")
        frame = av.AudioFrame(format="fltp", layout="mono", samples=1024)
        for plane in frame.planes:
            plane.update(bytes(plane.buffer_size))
        frame.sample_rate = 48000
        for packet in (*stream.encode(frame), *stream.encode(None)):
            out.mux(packet)


def test_what_is_no_clip_is_refused_with_the_reason(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A photograph named as a clip, sound alone, a broken head, no head, a text, small and huge pictures, too long."""
    good = tmp_path / "good.mp4"
    write_clip(good, iter(shown()))
    data = good.read_bytes()
    photo, sound, cut, headless, text = (tmp_path / f"{name}.mp4" for name in ("p", "s", "c", "h", "t"))
    photo.write_bytes(b"\xff\xd8\xff\xe0" + data)
    sound_only(sound)
    cut.write_bytes(data[: len(data) // 3])
    headless.write_bytes(data[:32] + bytes(len(data) - 32))
    text.write_text("time, height\n0, 305\n", encoding="utf-8")
    small = tmp_path / "small.mp4"
    write_clip(small, iter(shown((32, 40))))
    for path, words in (
        (photo, "JPEG"), (sound, "sound without pictures"), (cut, "table of contents"), (headless, "table of contents"),
        (text, "no known kind"), (small, "40 x 32 px"), (tmp_path / "none.mp4", "no such file"),
    ):  # fmt: skip
        with pytest.raises(BadRecording, match=words):
            read_clip(path)
    monkeypatch.setattr(clip_file, "_MOST_PIXELS", 1000)
    with pytest.raises(BadRecording, match="million pixels"):
        read_clip(good)
    monkeypatch.setattr(clip_file, "_MOST_PIXELS", 10**7)
    monkeypatch.setattr(clip_file, "LONGEST", 0.2)
    with pytest.raises(BadRecording, match="at most 0 s"):
        list(read_clip(good).frames())


def test_a_clip_that_is_cut_off_ends_where_it_is_cut(tmp_path: Path) -> None:
    """A Matroska file that loses its last third still gives its first frames."""
    path = tmp_path / "a.mkv"
    write_clip(path, iter(shown()), codec="ffv1", ticks=1000)
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 2 // 3])
    found = [time for time, _ in read_clip(path).frames()]
    assert 2 <= len(found) < len(TIMES)
    assert found == pytest.approx(TIMES[: len(found)], abs=1e-3)


def test_a_container_without_times_says_so(tmp_path: Path) -> None:
    """An AVI file counts frames; the clip has a note."""
    path = tmp_path / "a.avi"
    even = [(k / 240, picture) for k, (_, picture) in enumerate(shown())]
    write_clip(path, iter(even), codec="mpeg4", ticks=240)
    clip = read_clip(path)
    assert "no time of its own" in clip.notes[0]
    assert [time for time, _ in clip.frames()] == pytest.approx([k / 240 for k in range(len(even))], abs=1e-6)


def test_time_stamps_that_do_not_go_on_are_left_out(tmp_path: Path) -> None:
    """Two pictures written with one time (a muxer that counts coarse ticks): one of them is handed out."""
    path = tmp_path / "a.mkv"
    with av.open(str(path), "w") as out:
        stream = out.add_stream("ffv1", rate=30)
        stream.width, stream.height, stream.pix_fmt = 96, 64, "gray"
        stream.codec_context.time_base = Fraction(1, 100_000)
        for k, time in enumerate((0.0, 0.0101, 0.0102, 0.03)):
            frame = av.VideoFrame.from_ndarray(np.full((64, 96), 20 + 50 * k, np.uint8), format="gray")
            frame.pts, frame.time_base = round(time * 100_000), Fraction(1, 100_000)
            for packet in stream.encode(frame):
                out.mux(packet)
        for packet in stream.encode(None):
            out.mux(packet)
    times = [time for time, _ in read_clip(path).frames()]
    assert len(times) == 3
    assert np.all(np.diff(times) > 0.0)
