"""Sound out of a file: of a recorder's WAV, FLAC, M4A, MP3 or Ogg, or that of a film; every sample at its own time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.iso_boxes import Shown, cut_short, refuse_unfinished, shown_of
from ballbench.records.media.recording_file import RecordingFile, take_in_recording
from ballbench.records.media.refusals import beyond_memory, other_kind, undecodable
from ballbench.records.media.sound_pieces import LONGEST, LOWEST_RATE, Pieces, Samples, as_float
from ballbench.records.media.wav_header import length_of

if TYPE_CHECKING:
    import av

__all__ = ["LONGEST", "LOWEST_RATE", "Sound", "read_sound"]

_CHANNELS = 2  # kept of a sound that has more
_WANTED = "a sound (WAV, FLAC, M4A, MP3 or Ogg) or a film with sound (MP4, MOV)"
_OWN = "the recording of the drop"
_FORMATS = "wav,w64,aiff,caf,au,flac,mp3,aac,ogg,mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,amr"
"""Ways to pack sound that are opened; lists of other files are not among them."""
_WHOLE = ("pcm_s", "pcm_u", "pcm_f")
_LOSSLESS = frozenset({"flac", "alac", "wavpack", "tta", "ape", "mlp", "truehd"})
_RARE = frozenset({"pcm_f16le", "pcm_f24le"})  # FFmpeg's names for whole numbers that it takes for fractions
_SPEECH = frozenset(
    {"amr_nb", "amr_wb", "codec2", "evrc", "g723_1", "g729", "gsm", "gsm_ms", "ilbc", "qcelp", "sipr", "speex"}
)
"""Coders that make a voice anew out of a few numbers: of AMR at 4.75 to 12.2 kbit/s onsets came out wrong by 0.4 to 1.7
ms (root mean square; at most 8.5 ms), up to 18 times what they were thought to be sure to (invented drops)."""
_FEW_BITS = (
    20_000  # a second; at 16 000 AAC smeared onsets by milliseconds or lost them, at 24 000 not (the same drops)
)
_DRIFTS = 5e-4  # share by which time stamps and samples disagree that is said (own choice)
_DRIFTED = 5e-3  # s in all under which it is not
_NUMBERS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


@dataclass(frozen=True, slots=True)
class Sound:
    """What a microphone heard.

    Parameters
    ----------
    samples : array (channels, n)
        One or two channels, in [-1, 1].
    rate : int
        Samples a second.
    file : RecordingFile
        Where it came from.
    codec : str
        How it was coded, such as ``"pcm_s16le"`` or ``"aac"``.
    lossy : bool
        Whether the coder leaves something out.
    notes : tuple of str
        What a person should know.
    gaps : tuple of tuple of float
        Where a piece is missing and silence stands for it, from and to, s from the first sample. How long it really
        was is as sure as the recorder's time stamps, not as a sample.
    """

    samples: Samples
    rate: int
    file: RecordingFile
    codec: str
    lossy: bool
    notes: tuple[str, ...]
    gaps: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class _Track:
    """A sound track of a file: its place among them, number, channels and coder; length in s, bits a second, or 0."""

    place: int
    number: int
    channels: int
    codec: str
    seconds: float
    bits: int


def read_sound(path: Path) -> Sound:
    """Read the sound of a file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Sound
        Its first sound track that is not silent and can be decoded; of more than two channels those two in which it
        rises most sharply. Where the file lacks a piece (a packet that is missing or does not decode, a pause), there
        is silence of its length, so that nothing behind it moves.

    Raises
    ------
    BadRecording
        No file, no sound, nothing that decodes, not ended, edited afterwards, too long, too few samples a second, or a
        rate that changes.
    """
    file = take_in_recording(path, _WANTED)
    if file.family in {"photograph", "picture"} or file.kind in {"PDF", "a zip archive"}:
        raise other_kind(file, _WANTED, _OWN)
    import av  # noqa: PLC0415 - heavy, and only needed here

    try:
        refuse_unfinished(file, _WANTED)
        return _first_heard(file)
    except BadRecording:
        raise
    except MemoryError as failure:
        raise beyond_memory(file, _WANTED, "cut out the part with the ball") from failure
    except (av.FFmpegError, OSError, ValueError, EOFError, ArithmeticError, LookupError) as failure:
        raise _broken(file) from failure


def _first_heard(file: RecordingFile) -> Sound:
    """Give the first track in which something is heard; where all are silent or broken, what the first one is."""
    tracks, count = _tracks(file)
    silent: Sound | None = None
    for track in tracks:
        sound = _decoded(file, track)
        if sound is None:
            continue
        if sound.samples.any():
            return _named(sound, track, count)
        silent = silent or _named(sound, track, count)
    if silent is None:
        raise _broken(file)
    return silent


def _named(sound: Sound, track: _Track, count: int) -> Sound:
    if count == 1:
        return sound
    which = _NUMBERS[track.place] if track.place < len(_NUMBERS) else f"{track.place + 1}th"
    why = "" if track.place == 0 else ": those before are silent, not meant to be played, or cannot be decoded"
    notes = (f"Of {count} sound tracks the {which} is used{why}.", *sound.notes)
    return Sound(sound.samples, sound.rate, sound.file, sound.codec, sound.lossy, notes, sound.gaps)


def _opened(file: RecordingFile, *, own_clock: bool = False) -> av.container.InputContainer:
    import av  # noqa: PLC0415 - heavy, and only needed here

    options = {"protocol_whitelist": "file", "format_whitelist": _FORMATS}
    options |= {"ignore_editlist": "1"} if own_clock else {}
    options |= {"ignore_length": "1"} if length_of(file).understated else {}
    return av.open(str(file.path), options=options, metadata_errors="ignore")


def _tracks(file: RecordingFile) -> tuple[list[_Track], int]:
    """List the sound tracks that can be decoded, those first that are to be played; and how many there are in all."""
    from av.stream import Disposition  # noqa: PLC0415 - heavy, and only needed here

    with _opened(file) as container:
        streams: Any = container.streams.audio
        if not streams:
            found = "a film without sound" if container.streams.video else "no sound"
            raise BadRecording(Fault(file.name, found, _WANTED, "record with the microphone on"))
        tracks = []
        for place, one in enumerate(streams):
            if one.codec_context is not None:
                seconds = float(one.duration * one.time_base) if one.duration and one.time_base else 0.0
                codec = str(one.codec_context.codec.canonical_name)
                channels = one.codec_context.layout.nb_channels
                played = Disposition.default in one.disposition
                tracks.append((not played, _Track(place, one.id, channels, codec, seconds, one.bit_rate or 0)))
        if not tracks:
            found = "sound that is encrypted, or coded in a way that is not known"
            raise BadRecording(Fault(file.name, found, _WANTED, "record anew as WAV, or export it without protection"))
        tracks.sort(key=lambda one: one[0])
        return [track for _, track in tracks], len(streams)


def _decoded(file: RecordingFile, track: _Track) -> Sound | None:
    """Decode a track and put it together; None where nothing of it decodes."""
    if track.codec in _SPEECH:
        found = f"sound coded for speech ({track.codec}), which smears impacts by milliseconds"
        todo = "set the recorder to its best quality, WAV or M4A, and record again"
        raise BadRecording(Fault(file.name, found, "WAV, FLAC, M4A (AAC, ALAC), MP3, Opus", todo))
    if track.codec in _RARE:
        found = f"samples in a rare way ({track.codec}: 24 bits that stand in 32, or the like)"
        allowed = "whole numbers of 8, 16, 24 or 32 bits, or fractions of 32 or 64"
        raise BadRecording(Fault(file.name, found, allowed, "save it as WAV of 24 bits"))
    shown = shown_of(file, track.number)
    if shown.joined:
        found = "a recording that was edited: pieces were cut out, put together, or a pause put in"
        todo = "hand over what the recorder wrote, or each piece by itself"
        raise BadRecording(Fault(file.name, found, "one recording in one piece, so that times are true", todo))
    chosen = _sharpest(file, track, shown) if track.channels > _CHANNELS else ()
    pieces = Pieces(file, chosen, shown.start, shown.stop)
    for frame in _frames(file, track, shown, pieces):
        pieces.add(frame)
    samples, codec = pieces.together(), track.codec
    if not samples.size:
        return None
    lossy = not (codec.startswith(_WHOLE) or codec in _LOSSLESS)
    notes = [*_notes(pieces, samples, 0.0 if shown.own_clock else track.seconds), *_notes_of_file(file, shown)]
    if codec == "aac" and 0 < track.bits < _FEW_BITS:
        few = f"Only {track.bits / 1000.0:.0f} kbit a second were kept: impacts may be smeared or lost."
        notes.append(f"{few} Record with a better quality.")
    return Sound(samples, pieces.rate, file, codec, lossy, tuple(notes), tuple(pieces.gaps))


def _sharpest(file: RecordingFile, track: _Track, shown: Shown) -> tuple[int, ...]:
    """Give the two channels with the largest steps from sample to sample; of equal ones the first.

    A surround recording may have silence or a muffled channel in front; impacts are steep where they were heard.
    """
    steps = np.zeros(track.channels)
    for frame in _frames(file, track, shown, Pieces(file)):
        part = as_float(frame, len(frame.layout.channels))
        if part.shape[0] == track.channels and part.shape[1] > 1:
            steps = np.fmax(steps, np.abs(np.diff(part, axis=1)).max(axis=1))
    order = np.argsort(-steps, kind="stable")[:_CHANNELS]
    return tuple(sorted(int(channel) for channel in order))


def _frames(file: RecordingFile, track: _Track, shown: Shown, pieces: Pieces) -> Iterator[Any]:
    """Decode packet after packet; one that is spoilt is counted and passed over, an end that is cut off ends it."""
    import av  # noqa: PLC0415 - heavy, and only needed here

    with _opened(file, own_clock=shown.own_clock) as container:
        packets = container.demux(container.streams.audio[track.place])
        while True:
            try:
                packet = next(packets)
            except StopIteration:
                return
            except av.FFmpegError:
                pieces.spoilt += 1
                return
            try:
                yield from packet.decode()
            except av.FFmpegError:
                pieces.spoilt += 1


def _notes(pieces: Pieces, samples: NDArray[np.float32], claimed: float) -> Iterator[str]:
    """Put the samples in order, in place, and say what was found."""
    if not np.isfinite(samples).all():
        np.nan_to_num(samples, copy=False, nan=0.0, posinf=0.0, neginf=0.0)
        yield "Some samples were no numbers; they are taken as silence."
    largest = float(max(samples.max(), -samples.min()))
    if largest > 1.0:
        if largest > 1.5:
            yield f"The samples go beyond full scale, up to {largest:.3g}; all are divided by that."
        samples /= np.float32(largest)
    if pieces.chosen:
        names = " and ".join(str(channel + 1) for channel in pieces.chosen)
        yield f"Of {pieces.channels} channels the two are used that rise most sharply: {names}."
    if pieces.gaps:
        long, where = sum(end - begin for begin, end in pieces.gaps), f"at {pieces.gaps[0][0]:.2f} s"
        where = where if len(pieces.gaps) == 1 else f"in {len(pieces.gaps)} places"
        yield f"{long:.2f} s are missing within the recording, {where}, and are taken as silence."
    seconds = pieces.count / pieces.rate
    if abs(pieces.drift) > max(_DRIFTED, _DRIFTS * seconds):
        share = 100.0 * abs(pieces.drift) / seconds
        yield f"Time stamps and samples run apart by {share:.2g} %; the samples are taken for the clock."
    if pieces.begun_anew:
        yield "Behind the first recording stands another in the same file; it is left out."
    if claimed and seconds < 0.99 * claimed - 0.1:
        yield f"The file ends after {seconds:.1f} s of the {claimed:.1f} s that it says it has."
    elif pieces.spoilt:
        yield "Parts of the file are damaged and were passed over."


def _notes_of_file(file: RecordingFile, shown: Shown) -> Iterator[str]:
    length = length_of(file)
    if length.cut_short:
        yield "The file is cut short: its header promises more than there is."
    if length.understated:
        yield "The header counts less sound than there is, as when a recorder was not ended; all of it is read."
    if words := cut_short(file):
        yield words
    if shown.paced:
        yield "The file asks to be played at another pace in part; the recorder's own times are taken."


def _broken(file: RecordingFile) -> BadRecording:
    """Refuse what does not decode; what has no mark of any kind is tried, since a bare stream has none."""
    return undecodable(file, _WANTED, "WAV") if file.kind else other_kind(file, _WANTED, _OWN)
