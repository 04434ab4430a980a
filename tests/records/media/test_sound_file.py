from __future__ import annotations

import struct
import tracemalloc
import wave
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.sounds import coded, speech_like, write_wav
from numpy.typing import NDArray

from ballbench.errors import BadRecording
from ballbench.records.media.sound_file import LONGEST, read_sound

RATE = 48_000


def a_sound(seconds: float = 1.5, seed: int = 1) -> NDArray[np.float64]:
    return 0.3 * speech_like(round(seconds * RATE), np.random.default_rng(seed))


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(("bits", "step"), [(8, 2.0**-7), (16, 2.0**-15), (24, 2.0**-23), (32, 2.0**-24)])
def test_whole_numbers_of_every_width_come_back_to_a_step(tmp_path: Path, bits: int, step: float) -> None:
    """Two channels by the standard library's wave: both come back to one step (32 bits: to single precision)."""
    plain = a_sound()
    write_wav(tmp_path / "a.wav", np.stack([plain, -0.5 * plain]), RATE, bits)
    sound = read_sound(tmp_path / "a.wav")
    assert (sound.rate, sound.lossy, sound.notes) == (RATE, False, ())
    assert sound.samples.dtype == np.float32
    assert np.abs(sound.samples - np.stack([plain, -0.5 * plain])).max() <= 1.01 * step


def test_the_samples_of_a_wav_are_those_of_the_standard_library(tmp_path: Path) -> None:
    """Python's own wave module reads the same 16-bit numbers."""
    write_wav(tmp_path / "a.wav", a_sound(), 44_100)
    with wave.open(str(tmp_path / "a.wav")) as file:
        theirs = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    sound = read_sound(tmp_path / "a.wav")
    assert sound.rate == 44_100
    assert np.array_equal(np.round(sound.samples[0] * 2**15).astype(int), theirs)


@pytest.mark.parametrize(
    ("codec", "name", "container", "lossy"),
    [
        ("flac", "a.flac", None, False),
        ("alac", "a.m4a", "mp4", False),
        ("pcm_f32le", "a.mov", "mov", False),
        ("aac", "a.m4a", "mp4", True),
        ("aac", "a.aac", "adts", True),
        ("libmp3lame", "a.mp3", None, True),
        ("libopus", "a.ogg", None, True),
        ("libopus", "a.webm", "webm", True),
    ],
)
def test_every_way_to_code_keeps_the_time(
    tmp_path: Path, codec: str, name: str, container: str | None, lossy: bool
) -> None:
    """Cross-correlation with what was coded is largest at no shift (ADTS hides its priming: one frame)."""
    plain = a_sound()
    sound = read_sound(written(tmp_path / name, coded(plain, codec, container=container)))
    assert sound.lossy is lossy
    heard = sound.samples[0][: plain.size].astype(float)
    size = 2 * plain.size
    match = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(plain[: heard.size], size)))
    assert int(np.argmax(match)) == (1024 if container == "adts" else 0)
    assert match.max() > 0.95 * np.sqrt(np.sum(heard**2) * np.sum(plain**2))


def test_a_hole_within_a_recording_is_silence_of_its_length(tmp_path: Path) -> None:
    """A second of a coded file is overwritten: what follows stands where it stood, and a note says what is missing."""
    plain = a_sound(6.0)
    data = bytearray(coded(plain, "aac"))
    data[len(data) // 3 : len(data) // 3 + 6000] = b"\x55" * 6000
    sound = read_sound(written(tmp_path / "a.m4a", bytes(data)))
    assert any("missing" in note or "damaged" in note for note in sound.notes)
    late = slice(round(4.5 * RATE), round(5.9 * RATE))
    theirs, ours = plain[late], sound.samples[0][late].astype(float)
    match = np.fft.irfft(np.fft.rfft(ours, 2 * ours.size) * np.conj(np.fft.rfft(theirs, 2 * ours.size)))
    assert int(np.argmax(match)) == 0


@pytest.mark.parametrize(("codec", "name"), [("libmp3lame", "a.mp3"), ("flac", "a.flac")])
def test_a_file_that_is_cut_short_is_used_as_far_as_it_goes(tmp_path: Path, codec: str, name: str) -> None:
    """Half of the bytes: about half of the sound, and a note."""
    data = coded(a_sound(4.0), codec)
    sound = read_sound(written(tmp_path / name, data[: len(data) // 2]))
    assert 1.0 < sound.samples.shape[1] / RATE < 3.0
    assert any("ends after" in note for note in sound.notes)


def test_a_wav_that_is_cut_short_says_so(tmp_path: Path) -> None:
    """The header promises more bytes than there are."""
    write_wav(tmp_path / "a.wav", a_sound(2.0))
    data = (tmp_path / "a.wav").read_bytes()
    sound = read_sound(written(tmp_path / "b.wav", data[: len(data) // 2]))
    assert sound.samples.shape[1] == pytest.approx(RATE, abs=30)
    assert any("cut short" in note for note in sound.notes)


def test_a_header_that_claims_hours_takes_no_memory(tmp_path: Path) -> None:
    """4 GiB are claimed, 0.1 s are there: read, with less than 20 MB at any time."""
    write_wav(tmp_path / "a.wav", a_sound(0.1))
    data = bytearray((tmp_path / "a.wav").read_bytes())
    data[4:8] = struct.pack("<I", 0xFFFFFFF0)
    data[40:44] = struct.pack("<I", 0xFFFFFF00)
    path = written(tmp_path / "b.wav", bytes(data))
    read_sound(path)
    tracemalloc.start()
    sound = read_sound(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert sound.samples.shape[1] == round(0.1 * RATE)
    assert peak < 20e6


def test_a_small_file_that_unfolds_to_hours_is_refused(tmp_path: Path) -> None:
    """17 minutes of silence in a small file: refused, with the longest that is allowed."""
    path = written(tmp_path / "a.flac", coded(np.zeros((LONGEST + 120) * 8000), "flac", rate=8000))
    assert path.stat().st_size < 2_000_000
    with pytest.raises(BadRecording, match="at most 15 minutes"):
        read_sound(path)


def _m4a(_: Path) -> bytes:
    return coded(a_sound(), "aac")


def test_a_file_under_a_false_name_is_read_for_what_it_is(tmp_path: Path) -> None:
    """An M4A that is called WAV."""
    assert read_sound(written(tmp_path / "a.wav", _m4a(tmp_path))).codec == "aac"


BROKEN = {
    "half of an M4A": lambda p: _m4a(p)[:6000],
    "text": lambda _: b"0.5, 0.9\n" * 200,
    "random bytes under an MP3's mark": lambda _: b"ID3" + np.random.default_rng(1).bytes(5000),
    "a header alone": lambda _: struct.pack(
        "<4sI4s4sIHHIIHH4sI", b"RIFF", 36, b"WAVE", b"fmt ", 16, 1, 1, RATE, 2 * RATE, 2, 16, b"data", 0
    ),
    "a list of other files": lambda _: b"#EXTM3U\n#EXTINF:1,\nother.ts\n",
    "a photograph": lambda _: b"\xff\xd8\xff\xe0" + bytes(500),
    "an empty file": lambda _: b"",
}


@pytest.mark.parametrize("what", BROKEN)
def test_what_is_no_sound_is_refused_in_one_line(tmp_path: Path, what: str) -> None:
    """BadRecording with where, found, allowed and what to do; nothing else escapes."""
    path = written(tmp_path / "a.wav", BROKEN[what](tmp_path))
    with pytest.raises(BadRecording) as caught:
        read_sound(path)
    (fault,) = caught.value.faults
    assert fault.where == "a.wav"
    assert all((fault.found, fault.allowed, fault.todo))
    assert "\n" not in str(caught.value)


def test_too_few_samples_a_second_are_refused(tmp_path: Path) -> None:
    """6000 a second."""
    write_wav(tmp_path / "a.wav", a_sound(0.5), 6000)
    with pytest.raises(BadRecording, match="6000 samples a second"):
        read_sound(tmp_path / "a.wav")


def test_more_than_two_channels_are_said(tmp_path: Path) -> None:
    """Of four, three of them equally sharp, the first two are kept."""
    plain = a_sound(0.3)
    write_wav(tmp_path / "a.wav", np.stack([plain, -plain, 0 * plain, plain]))
    sound = read_sound(tmp_path / "a.wav")
    assert sound.samples.shape[0] == 2
    assert np.allclose(sound.samples[0], -sound.samples[1])
    assert sound.notes == ("Of 4 channels the two are used that rise most sharply: 1 and 2.",)


def test_a_film_without_sound_says_so(tmp_path: Path) -> None:
    """A film of two pictures."""
    import av  # noqa: PLC0415 - only here

    with av.open(str(tmp_path / "a.mp4"), "w") as out:
        stream = out.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        for _ in range(2):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")))
        out.mux(stream.encode(None))
    with pytest.raises(BadRecording, match="a film without sound"):
        read_sound(tmp_path / "a.mp4")


@pytest.mark.parametrize("seed", range(12))
def test_damaged_files_are_read_or_refused(tmp_path: Path, seed: int) -> None:
    """Bytes changed at random in M4A, MP3, Ogg, FLAC: a sound in [-1, 1] or BadRecording."""
    rng = np.random.default_rng(seed)
    codec, name = (("aac", "a.m4a"), ("libmp3lame", "a.mp3"), ("libopus", "a.ogg"), ("flac", "a.flac"))[seed % 4]
    data = bytearray(coded(a_sound(1.0), codec))
    for place in rng.integers(0, len(data), 60):
        data[place] = rng.integers(256)
    try:
        sound = read_sound(written(tmp_path / name, bytes(data)))
    except BadRecording:
        return
    assert np.isfinite(sound.samples).all()
    assert np.abs(sound.samples).max() <= 1.0
