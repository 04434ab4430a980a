from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from tests.records.media.phone_files import (
    boxes_of,
    doubled_by_replication,
    edited,
    extensible_format,
    inside,
    plain_format,
    riff,
    sounds,
    with_cover,
)

from ballbench.errors import BadRecording
from ballbench.records.media.sound_file import Sound, read_sound

RATE = 48_000
IMPACTS = (0.30, 0.71, 1.10, 1.46, 1.80, 2.12)  # s


def clicks(rate: int = RATE, seconds: float = 2.5) -> NDArray[np.float64]:
    """Quiet hiss with short rings at IMPACTS."""
    generator = np.random.default_rng(4)
    samples = 0.002 * generator.standard_normal(round(seconds * rate))
    time = np.arange(round(0.02 * rate)) / rate
    for impact in IMPACTS:
        at = round(impact * rate)
        samples[at : at + time.size] += 0.6 * np.exp(-time / 4e-3) * np.sin(2 * np.pi * 1800 * time + 0.3)
    return samples


def heard(sound: Sound) -> NDArray[np.float64]:
    """When the rings begin, s, by cross-correlation with the ring that was written, to a sample."""
    rate = sound.rate
    ring = clicks(rate)[round(IMPACTS[0] * rate) :][: round(0.02 * rate)]
    samples = sound.samples[np.argmax(np.ptp(sound.samples, axis=1))].astype(float)
    size = samples.size + ring.size
    match = np.abs(np.fft.irfft(np.fft.rfft(samples, size) * np.conj(np.fft.rfft(ring, size)), size))[: samples.size]
    found = []
    for _ in IMPACTS:
        at = int(np.argmax(match))
        found.append(at / rate)
        match[max(at - round(0.1 * rate), 0) : at + round(0.1 * rate)] = 0.0
    return np.sort(found)


def apart(sound: Sound) -> float:
    """Largest error of a time between two impacts, s."""
    return float(np.abs(np.diff(heard(sound)) - np.diff(IMPACTS)).max())


def written(path: Path, data: bytes) -> Sound:
    path.write_bytes(data)
    return read_sound(path)


def whole(samples: NDArray[np.float64], bits: int = 16) -> bytes:
    return np.round(samples * (2 ** (bits - 1) - 1)).astype("<i2" if bits == 16 else "<i4").tobytes()


@pytest.mark.parametrize(
    ("name", "codec", "rate", "options"),
    [
        ("a.m4a", "aac", 48_000, {}), ("compact.m4a", "aac", 24_000, {}), ("a.m4a", "alac", 48_000, {}),
        ("a.3gp", "aac", 48_000, {}), ("a.mp4", "libopus", 48_000, {}), ("a.webm", "libopus", 48_000, {}),
        ("a.ogg", "libopus", 48_000, {}), ("a.caf", "pcm_s16le", 48_000, {}), ("a.aiff", "pcm_s16be", 48_000, {}),
        ("a.w64", "pcm_s16le", 48_000, {}), ("rf64.wav", "pcm_s24le", 48_000, {"rf64": "always"}),
        ("a.wav", "pcm_f32le", 192_000, {}), ("a.wav", "pcm_s16le", 8_000, {}), ("a.wav", "pcm_mulaw", 8_000, {}),
        ("a.mp3", "libmp3lame", 22_050, {}), ("bare.mp3", "libmp3lame", 48_000, {"write_xing": "0"}),
        ("a.mov", "ac3", 48_000, {}),
        ("moov_first.mp4", "aac", 48_000, {"movflags": "faststart"}),
        ("parts.mp4", "aac", 48_000, {"movflags": "frag_keyframe+empty_moov", "frag_duration": "300000"}),
    ],
)  # fmt: skip
def test_times_between_impacts_survive_every_container(
    tmp_path: Path, name: str, codec: str, rate: int, options: dict[str, str]
) -> None:
    """Times between impacts come back to two samples, however the file is packed; a shift of all is no error."""
    sounds(tmp_path / name, [(clicks(rate), codec)], rate=rate, options=options)
    sound = read_sound(tmp_path / name)
    assert apart(sound) <= 2.0 / sound.rate
    assert not sound.gaps


def test_he_aac_by_explicit_signalling_keeps_its_times(tmp_path: Path) -> None:
    """AAC at 24 000 Hz that says it is doubled to 48 000 by replication (ISO/IEC 14496-3): double rate, same times."""
    data = sounds(tmp_path / "plain.m4a", [(clicks(24_000), "aac")], rate=24_000)
    sound = written(tmp_path / "he.m4a", doubled_by_replication(data))
    assert sound.rate == 48_000
    assert apart(sound) <= 2.0 / 24_000


DELAY = 1024 / RATE  # samples that FFmpeg's AAC coder puts in front


@pytest.mark.parametrize(
    ("edits", "shift"),
    [
        ([], DELAY), ([(2.5, DELAY, 1.0)], 0.0), ([(2.5, 2112 / RATE, 1.0)], DELAY - 2112 / RATE),
        ([(0.5, -1.0, 1.0), (2.5, DELAY, 1.0)], 0.0), ([(1.0, DELAY, 1.0), (1.5, DELAY + 1.0, 1.0)], 0.0),
        ([(5.0, DELAY, 0.5)], 0.0), ([(0.0, DELAY, 1.0)], 0.0),
    ],
)  # fmt: skip
@pytest.mark.parametrize("version", [0, 1])
def test_an_edit_list_moves_all_or_nothing(
    tmp_path: Path, edits: list[tuple[float, float, float]], shift: float, version: int
) -> None:
    """None, the coder's delay, a longer one, an empty beginning, two pieces in a row, half the pace, no length said.

    Whatever the list, times between impacts stay those of the samples; at half the pace a note says so.
    """
    data = sounds(tmp_path / "plain.m4a", [(clicks(), "aac")])
    sound = written(tmp_path / "a.m4a", edited(data, edits, version=version))
    assert heard(sound) == pytest.approx(np.array(IMPACTS) + shift, abs=2.0 / RATE)
    assert any("another pace" in note for note in sound.notes) == any(pace != 1.0 for _, _, pace in edits)


@pytest.mark.parametrize(
    "edits",
    [
        [(1.0, DELAY, 1.0), (1.0, DELAY + 1.3, 1.0)], [(1.0, DELAY, 1.0), (0.7, -1.0, 1.0), (1.0, DELAY + 1.0, 1.0)],
        [(1.0, DELAY + 1.0, 1.0), (1.0, DELAY, 1.0)], [(1.0, DELAY, 1.0), (1.0, DELAY, 1.0)],
        [(1.0, DELAY, 1.0), (0.5, DELAY + 1.0, 0.0), (1.0, DELAY + 1.0, 1.0)],
    ],
    ids=["cut out", "pause", "exchanged", "twice", "stopped"],
)  # fmt: skip
def test_an_edited_recording_is_refused(tmp_path: Path, edits: list[tuple[float, float, float]]) -> None:
    """Pieces that do not follow each other in the track: what lies between them is not known."""
    data = sounds(tmp_path / "plain.m4a", [(clicks(), "aac")])
    with pytest.raises(BadRecording, match=r"was edited.*one recording in one piece"):
        written(tmp_path / "a.m4a", edited(data, edits))


@pytest.mark.parametrize("keep", [0.3, 0.97])
def test_a_recording_that_was_not_ended_says_so(tmp_path: Path, keep: float) -> None:
    """Without moov, as when a phone dies, or with half of it: one fault, with what to do."""
    data = sounds(tmp_path / "plain.m4a", [(clicks(), "aac")])
    contents = data.index(b"moov") - 4
    cut = round(keep * contents) if keep < 0.5 else contents + (len(data) - contents) // 2
    with pytest.raises(BadRecording, match=r"table of contents \(moov\) is (missing|cut off)") as told:
        written(tmp_path / "a.m4a", data[:cut])
    assert len(told.value.faults) == 1


def test_a_copy_that_is_not_whole_is_read_with_a_note(tmp_path: Path) -> None:
    """The table of contents stands in front, and the last third of the sound is missing."""
    data = sounds(tmp_path / "plain.m4a", [(clicks(), "aac")], options={"movflags": "faststart"})
    sound = written(tmp_path / "a.m4a", data[: len(data) * 2 // 3])
    assert any("cut short" in note for note in sound.notes)
    assert 1.0 < sound.samples.shape[1] / RATE < 2.2


@pytest.mark.parametrize(
    ("name", "codec"), [("a.m4a", "aac"), ("a.webm", "libopus"), ("a.mkv", "flac"), ("a.mov", "aac")]
)
def test_a_pause_is_not_joined_in_silence(tmp_path: Path, name: str, codec: str) -> None:
    """A second without samples between two impacts: those behind it stand a second later, and it is told."""
    sounds(tmp_path / name, [(clicks(), codec)], pause=(1.3, 1.0))
    sound = read_sound(tmp_path / name)
    late = np.array(IMPACTS) + np.where(np.array(IMPACTS) > 1.3, 1.0, 0.0)
    assert np.diff(heard(sound)) == pytest.approx(np.diff(late), abs=1e-3)  # Matroska counts whole milliseconds
    ((begin, end),) = sound.gaps
    assert begin == pytest.approx(1.3, abs=0.05)
    assert end - begin == pytest.approx(1.0, abs=1e-3)
    assert any("missing within the recording" in note for note in sound.notes)


def test_a_pause_in_ogg_is_placed_no_later_than_it_was(tmp_path: Path) -> None:
    """Ogg says a time for each page only (RFC 3533): the gap stands where the page begins, and what is before is right.

    So no time between two impacts before a gap has a pause in it.
    """
    sounds(tmp_path / "a.ogg", [(clicks(), "libopus")], pause=(1.3, 1.0))
    sound = read_sound(tmp_path / "a.ogg")
    ((begin, _),) = sound.gaps
    assert begin <= 1.3
    before = [time for time in heard(sound) if time < begin]
    assert before == pytest.approx(IMPACTS[: len(before)], abs=1e-3)
    assert len(before) >= 2


@pytest.mark.parametrize("ppm", [0.0, 100.0, -100.0, 200.0])
@pytest.mark.parametrize("jitter", [0.0, 4e-3])
def test_two_clocks_that_drift_make_no_gap(tmp_path: Path, ppm: float, jitter: float) -> None:
    """A minute whose time stamps run off its samples by some ppm, each uneven by up to 4 ms: not one sample moves."""
    beat = np.zeros(60 * RATE)
    beat[np.arange(1, 60) * RATE] = 0.9
    pieces = 60 * 50
    uneven = ppm * 1e-6 * np.arange(pieces) * 0.02 + np.random.default_rng(2).uniform(-jitter, jitter, pieces)
    sounds(tmp_path / "a.mkv", [(beat, "pcm_s16le")], uneven=uneven - uneven[0])
    sound = read_sound(tmp_path / "a.mkv")
    assert not sound.gaps
    assert np.diff(np.flatnonzero(sound.samples[0] > 0.5)).tolist() == [RATE] * 58


def test_several_gaps_close_together_are_each_found(tmp_path: Path) -> None:
    """Three pieces of 20 ms that are missing, two of them 40 ms apart."""
    missing = np.zeros(125)
    for at in (30, 32, 70):
        missing[at:] += 0.02
    sounds(tmp_path / "a.mkv", [(clicks(), "pcm_s16le")], uneven=missing)
    sound = read_sound(tmp_path / "a.mkv")
    assert [begin for begin, _ in sound.gaps] == pytest.approx([0.6, 0.66, 1.44], abs=1e-3)
    assert [end - begin for begin, end in sound.gaps] == pytest.approx([0.02] * 3, abs=1.1e-3)
    assert any("in 3 places" in note for note in sound.notes)


def test_the_track_that_sounds_is_used(tmp_path: Path) -> None:
    """A silent first track; a first track that cannot be decoded; and both as they should be."""
    plain = clicks()
    for first, second, words in ((plain, plain, "the first"), (0 * plain, plain, "the second")):
        sounds(tmp_path / "a.mov", [(first, "aac"), (second, "aac")])
        sound = read_sound(tmp_path / "a.mov")
        assert apart(sound) <= 2.0 / RATE
        assert any(f"Of 2 sound tracks {words}" in note for note in sound.notes)
    data = sounds(tmp_path / "a.mov", [(plain, "pcm_s16le"), (plain, "aac")])
    assert b"sowt" in data
    sound = written(tmp_path / "unknown.mov", data.replace(b"sowt", b"zzzz"))
    assert sound.codec == "aac"
    assert apart(sound) <= 2.0 / RATE


@pytest.mark.parametrize(("layout", "gains", "used"), [
    ("stereo", (0.0, 1.0), None), ("stereo", (1.0, -1.0), None), ("5.1", (0.0, 0.0, 1.0, 0.0, 0.3, 0.2), "3 and 5"),
])  # fmt: skip
def test_no_channel_takes_the_impacts_away(
    tmp_path: Path, layout: str, gains: tuple[float, ...], used: str | None
) -> None:
    """A dead channel, opposite phase, and surround whose front is silent: impacts are heard in one of two channels."""
    sounds(tmp_path / "a.mov", [(np.outer(gains, clicks()), "pcm_s16le")], layout=layout)
    sound = read_sound(tmp_path / "a.mov")
    assert sound.samples.shape[0] == 2
    assert apart(sound) <= 1.0 / RATE
    assert (used is None) or any(note.endswith(f"{used}.") for note in sound.notes)


SMALL = b"INFOISFT\x05\0\0\0Rec1\0"


@pytest.mark.parametrize(
    ("chunks", "form", "size", "words"),
    [
        (lambda d: [(b"fmt ", plain_format(), None), (b"data", d, 0)], b"RIFF", 0, ""),
        (lambda d: [(b"fmt ", plain_format(), None), (b"data", d, 0xFFFFFFFF)], b"RIFF", 0xFFFFFFFF, ""),
        (lambda d: [(b"fmt ", plain_format(), None), (b"data", d, 36)], b"RIFF", 72, "counts less"),
        (lambda d: [(b"fmt ", plain_format(), None), (b"data", d[: len(d) // 2] + d[len(d) // 2 :], None)],
         b"RIFF", None, ""),
        (lambda d: [(b"bext", bytes(602), None), (b"LIST", SMALL, None), (b"fmt ", plain_format(), None),
                    (b"data", d, None), (b"LIST", SMALL, None)], b"RIFF", None, ""),
        (lambda d: [(b"ds64", len(d).to_bytes(8, "little") * 2 + bytes(12), None), (b"fmt ", plain_format(), None),
                    (b"data", d, 0xFFFFFFFF)], b"BW64", 0xFFFFFFFF, ""),
        (lambda d: [(b"fmt ", extensible_format(16, 16, 1), None), (b"data", d, None)], b"RIFF", None, ""),
    ],
    ids=["length 0", "length unknown", "length of the first piece", "plain", "other chunks", "BW64", "extensible"],
)  # fmt: skip
def test_a_wav_is_read_whatever_its_head_says_of_its_length(
    tmp_path: Path, chunks: Callable[[bytes], list[tuple[bytes, bytes, int | None]]], form: bytes, size: int | None,
    words: str,
) -> None:  # fmt: skip
    """Recorders that were switched off leave 0, the largest number, or a first guess; all of the sound is read."""
    plain = clicks()
    sound = written(tmp_path / "a.wav", riff(chunks(whole(plain)), form=form, size=size))
    assert sound.samples.shape == (1, plain.size)
    assert np.abs(sound.samples[0] - plain).max() <= 1.1 * 2.0**-15
    assert [note for note in sound.notes if words and words in note] == list(sound.notes)


def test_whole_numbers_of_24_bits_in_32_are_refused(tmp_path: Path) -> None:
    """FFmpeg's libraries take them for fractions, up to 1e31: one fault says how to save it instead."""
    data = riff([(b"fmt ", extensible_format(32, 24, 1), None), (b"data", whole(clicks(), 24), None)])
    with pytest.raises(BadRecording, match="24 bits that stand in 32"):
        written(tmp_path / "a.wav", data)


def test_speech_coders_are_refused(tmp_path: Path) -> None:
    """AMR makes a voice anew: its onsets are off by milliseconds."""
    sounds(tmp_path / "a.3gp", [(clicks(8000), "libopencore_amrnb")], rate=8000, bit_rate=12_200)
    with pytest.raises(BadRecording, match=r"coded for speech \(amr_nb\)"):
        read_sound(tmp_path / "a.3gp")


def test_another_recording_behind_the_first_is_left_out(tmp_path: Path) -> None:
    """Two Ogg files joined (RFC 3533, chained): the first is read, a note says the rest."""
    data = sounds(tmp_path / "one.ogg", [(clicks(), "libopus")])
    sound = written(tmp_path / "two.ogg", data + data)
    assert sound.samples.shape[1] == pytest.approx(2.5 * RATE, abs=2000)
    assert any("another in the same file" in note for note in sound.notes)


def test_a_cover_picture_does_not_hide_the_sound(tmp_path: Path) -> None:
    """A cover among the tags of an M4A."""
    data = sounds(tmp_path / "plain.m4a", [(clicks(), "aac")])
    assert apart(written(tmp_path / "a.m4a", with_cover(data))) <= 2.0 / RATE


@pytest.mark.parametrize("seed", range(8))
def test_damaged_boxes_are_read_or_refused(tmp_path: Path, seed: int) -> None:
    """Bytes of moov changed at random: a sound in [-1, 1], or one fault."""
    data = bytearray(edited(sounds(tmp_path / "plain.m4a", [(clicks(), "aac")]), [(1.0, 0.0, 1.0), (1.0, 1.0, 0.5)]))
    generator = np.random.default_rng(seed)
    for place in generator.integers(data.index(b"moov"), len(data), 8):
        data[place] = generator.integers(256)
    largest, faults = 0.0, 1
    try:
        largest = float(np.abs(written(tmp_path / "a.m4a", bytes(data)).samples).max())
    except BadRecording as told:
        faults = len(told.faults)
    assert largest <= 1.0
    assert faults == 1


def test_the_boxes_that_are_made_here_are_those_of_the_file(tmp_path: Path) -> None:
    """Taken apart and put together a file is the same; each edit of a list is twelve bytes."""
    data = sounds(tmp_path / "a.m4a", [(clicks(), "aac")])
    assert edited(edited(data, []), [(1.0, 0.0, 1.0)]) != data
    lists = [
        inside(boxes_of(edited(data, [(1.0, 0.0, 1.0)] * n)), b"moov", b"trak", b"edts", b"elst") for n in (1, 2, 3)
    ]
    assert [len(b[1]) - len(a[1]) for a, b in itertools.pairwise(lists)] == [12, 12]
