from __future__ import annotations

import hashlib
import os
from pathlib import Path

import av
import pytest
from PIL import Image

from ballbench.errors import BadRecording
from ballbench.records.media import recording_file
from ballbench.records.media.recording_file import take_in_recording

SOUNDS = (
    ("wav", "pcm_s16le", "mono", "WAV"), ("flac", "flac", "mono", "FLAC"), ("ogg", "libopus", "mono", "OGG"),
    ("mp3", "libmp3lame", "mono", "MP3"), ("mp4", "aac", "stereo", "MP4 or MOV"), ("mov", "aac", "mono", "MP4 or MOV"),
    ("adts", "aac", "mono", "AAC"),
)  # fmt: skip


@pytest.mark.parametrize(("kind", "said"), [("JPEG", "JPEG"), ("PNG", "PNG"), ("TIFF", "TIFF"), ("WEBP", "WEBP")])
def test_photographs_are_known_by_their_bytes(tmp_path: Path, kind: str, said: str) -> None:
    """A file that Pillow writes is told by its first bytes, whatever its name says; digest and size are its own."""
    file = tmp_path / "ball.txt"
    Image.new("L", (8, 8)).save(file, kind)
    told = take_in_recording(file, "a photograph")
    assert (told.kind, told.family) == (said, "photograph")
    assert told.digest == f"sha256:{hashlib.sha256(file.read_bytes()).hexdigest()}"
    assert told.size == file.stat().st_size


@pytest.mark.parametrize(("container", "codec", "layout", "said"), SOUNDS)
def test_sounds_are_known_by_their_bytes(tmp_path: Path, container: str, codec: str, layout: str, said: str) -> None:
    """Files that FFmpeg's libraries write are told by their first bytes."""
    file = tmp_path / "drop.bin"
    with av.open(str(file), "w", format=container) as out:
        stream = out.add_stream(codec, rate=48000, layout=layout)
        frame = av.AudioFrame(format="s16", layout=layout, samples=960)
        for plane in frame.planes:
            plane.update(bytes(plane.buffer_size))
        frame.sample_rate = 48000
        for packet in (*stream.encode(frame), *stream.encode(None)):
            out.mux(packet)
    assert take_in_recording(file, "a sound").kind == said


def test_what_cannot_be_opened_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Missing, a folder, empty, a pipe, too large: one fault each, with what to do."""
    empty, large, pipe = tmp_path / "empty.wav", tmp_path / "large.wav", tmp_path / "pipe.wav"
    empty.touch()
    large.write_bytes(b"RIFF")
    os.mkfifo(pipe)
    monkeypatch.setattr(recording_file, "LARGEST_RECORDING", 3)
    for path, words in (
        (tmp_path / "none.wav", "no such file"), (tmp_path, "a folder"), (empty, "an empty file"),
        (pipe, "not a regular file"), (large, "GiB"),
    ):  # fmt: skip
        with pytest.raises(BadRecording, match=words):
            take_in_recording(path, "a sound")


def test_bytes_that_are_not_known_are_said_to_be_so(tmp_path: Path) -> None:
    """A text is of no kind and no family."""
    file = tmp_path / "ball.jpg"
    file.write_text("no photograph")
    told = take_in_recording(file, "a photograph")
    assert (told.kind, told.family) == ("", "")
