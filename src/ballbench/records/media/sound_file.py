"""Sound out of a file: of a recorder's WAV, FLAC, M4A, MP3 or Ogg, or that of a film; every sample at its own time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.recording_file import RecordingFile, take_in_recording

if TYPE_CHECKING:
    import av

__all__ = ["LONGEST", "LOWEST_RATE", "Sound", "read_sound"]

Samples = NDArray[np.float32]

LONGEST = 15 * 60
"""Longest recording that is taken in, s (own choice)."""
LOWEST_RATE = 8000
"""Samples a second under which an impact cannot be timed (own choice)."""
_MOST_SAMPLES = 90_000_000  # of all channels together: 15 minutes of two channels at 48 000, 360 MB
_CHANNELS = 2  # kept, the first ones
_JUMP = 5e-3  # s between where a piece stands and where its time stamp says, from which it is moved (own choice)
_WANTED = "a sound (WAV, FLAC, M4A, MP3 or Ogg) or a film with sound (MP4, MOV)"
_FORMATS = "wav,w64,aiff,caf,au,flac,mp3,aac,ogg,mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,amr"
"""Ways to pack sound that are opened; lists of other files are not among them."""
_WHOLE = ("pcm_s", "pcm_u", "pcm_f")
_LOSSLESS = frozenset({"flac", "alac", "wavpack", "tta", "ape", "mlp", "truehd"})
_STREAMED = 0xFFFFFF00  # what a recorder writes that does not know the length beforehand
_FULL_SCALE = {"u8": 2.0**7, "s16": 2.0**15, "s32": 2.0**31, "s64": 2.0**63}


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
    """

    samples: Samples
    rate: int
    file: RecordingFile
    codec: str
    lossy: bool
    notes: tuple[str, ...]


@dataclass(slots=True)
class _Pieces:
    """Decoded pieces, each at its time."""

    rate: int = 0
    channels: int = 0
    start: float | None = None
    count: int = 0
    parts: list[Samples] = field(default_factory=list)
    filled: float = 0.0
    spoilt: int = 0


def read_sound(path: Path) -> Sound:
    """Read the sound of a file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Sound
        Its first sound track, the first two channels of it. Where the file lacks a piece (a packet that is missing or
        does not decode), there is silence of its length, so that nothing behind it moves.

    Raises
    ------
    BadRecording
        No file, no sound, nothing that decodes, too long, too few samples a second, or a rate that changes.
    """
    file = take_in_recording(path, _WANTED)
    if file.family in {"photograph", "picture"} or file.kind in {"PDF", "a zip archive"}:
        raise BadRecording(
            Fault(file.name, f"a file of the kind {file.kind}", _WANTED, "choose the recording of the drop")
        )
    try:
        return _decoded(file)
    except BadRecording:
        raise
    except (OSError, ValueError, EOFError, ArithmeticError, LookupError) as failure:
        raise BadRecording(_broken(file)) from failure


def _decoded(file: RecordingFile) -> Sound:
    """Open the container, decode its first sound track and put it together."""
    import av  # noqa: PLC0415 - heavy, and only needed here

    options = {"protocol_whitelist": "file", "format_whitelist": _FORMATS}
    with av.open(str(file.path), options=options, metadata_errors="ignore") as container:
        if not container.streams.audio:
            found = "a film without sound" if container.streams.video else "no sound"
            raise BadRecording(Fault(file.name, found, _WANTED, "record with the microphone on"))
        stream: Any = container.streams.audio[0]
        if stream.codec_context is None:
            found = "sound that is encrypted, or coded in a way that is not known"
            raise BadRecording(Fault(file.name, found, _WANTED, "record anew as WAV, or export it without protection"))
        codec = str(stream.codec_context.codec.canonical_name)
        claimed = float(stream.duration * stream.time_base) if stream.duration and stream.time_base else 0.0
        pieces = _Pieces()
        for frame in _frames(container, stream, pieces):
            _add(pieces, frame, file)
    if not pieces.count:
        raise BadRecording(_broken(file))
    samples = np.concatenate(pieces.parts, axis=1)
    pieces.parts.clear()
    notes = _notes(pieces, samples, claimed)
    if _shorter_than_said(file):
        notes = (*notes, "The file is cut short: its header promises more than there is.")
    return Sound(samples, pieces.rate, file, codec, not (codec.startswith(_WHOLE) or codec in _LOSSLESS), notes)


def _shorter_than_said(file: RecordingFile) -> bool:
    """Whether a WAV promises more bytes than there are; what it says is no bound of anything."""
    if file.kind != "WAV":
        return False
    with file.path.open("rb") as opened:
        said = int.from_bytes(opened.read(8)[4:8], "little") + 8
    return file.size + 1024 < said < _STREAMED


def _frames(container: av.container.InputContainer, stream: Any, pieces: _Pieces) -> Iterator[Any]:
    """Decode packet after packet; one that is spoilt is counted and passed over, an end that is cut off ends it."""
    import av  # noqa: PLC0415 - heavy, and only needed here

    packets = container.demux(stream)
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


def _add(pieces: _Pieces, frame: Any, file: RecordingFile) -> None:
    """Put a decoded piece where its time stamp says."""
    if not pieces.rate:
        pieces.rate, pieces.channels = frame.sample_rate, len(frame.layout.channels)
        if pieces.rate < LOWEST_RATE:
            found = f"{pieces.rate} samples a second"
            todo = "record again with 44 100 or 48 000"
            raise BadRecording(Fault(file.name, found, f"at least {LOWEST_RATE}, to tell when an impact begins", todo))
    if (frame.sample_rate, len(frame.layout.channels)) != (pieces.rate, pieces.channels):
        found = "a rate or a number of channels that changes on the way"
        raise BadRecording(Fault(file.name, found, "one recording in one piece", "record again, without joining files"))
    part = _as_float(frame, pieces.channels)
    if frame.pts is not None and frame.time_base is not None:
        at = float(frame.pts * frame.time_base)
        if pieces.start is None:
            pieces.start = at - pieces.count / pieces.rate
        part = _placed(pieces, part, at - pieces.start, max(_JUMP, 2.0 * float(frame.time_base)), file)
    _keep(pieces, part, file)


def _placed(pieces: _Pieces, part: Samples, at: float, tolerance: float, file: RecordingFile) -> Samples:
    """Fill up with silence before a piece that comes late; cut off what overlaps of one that comes early."""
    late = at - pieces.count / pieces.rate
    if late > tolerance:
        missing = round(late * pieces.rate)
        _within(pieces, missing, file)
        pieces.filled += late
        _keep(pieces, np.zeros((part.shape[0], missing), np.float32), file)
    elif late < -tolerance:
        pieces.spoilt += 1
        return part[:, min(round(-late * pieces.rate), part.shape[1]) :]
    return part


def _keep(pieces: _Pieces, part: Samples, file: RecordingFile) -> None:
    _within(pieces, part.shape[1], file)
    pieces.parts.append(part)
    pieces.count += part.shape[1]


def _within(pieces: _Pieces, more: int, file: RecordingFile) -> None:
    """Refuse what is too long before room is made for it."""
    count = pieces.count + more
    kept = min(pieces.channels, _CHANNELS)
    if count > LONGEST * pieces.rate or count * kept > _MOST_SAMPLES:
        most = min(LONGEST, _MOST_SAMPLES / kept / pieces.rate) / 60.0
        found = f"more than {most:.3g} minutes of sound"
        raise BadRecording(Fault(file.name, found, f"at most {most:.3g} minutes", "cut out the part with the ball"))


def _as_float(frame: Any, channels: int) -> Samples:
    """Give the samples of a piece, (channels, n) in [-1, 1]."""
    values = frame.to_ndarray()
    if frame.format.is_packed:
        values = values.reshape(-1, channels).T
    values = values[:_CHANNELS]
    name = frame.format.name.removesuffix("p")
    if name not in _FULL_SCALE:
        return np.ascontiguousarray(values, dtype=np.float32)
    offset = 128.0 if name == "u8" else 0.0
    scaled: Samples = (values.astype(np.float32) - np.float32(offset)) / np.float32(_FULL_SCALE[name])
    return scaled


def _notes(pieces: _Pieces, samples: Samples, claimed: float) -> tuple[str, ...]:
    """Put the samples in order, in place, and say what was found."""
    notes = []
    if not np.isfinite(samples).all():
        np.nan_to_num(samples, copy=False, nan=0.0, posinf=0.0, neginf=0.0)
        notes.append("Some samples were no numbers; they are taken as silence.")
    largest = float(max(samples.max(), -samples.min()))
    if largest > 1.0:
        if largest > 1.5:
            notes.append(f"The samples go beyond full scale, up to {largest:.3g}; all are divided by that.")
        samples /= np.float32(largest)
    if pieces.channels > _CHANNELS:
        notes.append(f"Of {pieces.channels} channels the first two are used.")
    if pieces.filled:
        notes.append(f"{pieces.filled:.2f} s are missing within the recording and are taken as silence.")
    seconds = pieces.count / pieces.rate
    if claimed and seconds < 0.99 * claimed - 0.1:
        notes.append(f"The file ends after {seconds:.1f} s of the {claimed:.1f} s that it says it has.")
    elif pieces.spoilt:
        notes.append("Parts of the file are damaged and were passed over.")
    return tuple(notes)


def _broken(file: RecordingFile) -> Fault:
    kind = f"a file of the kind {file.kind}" if file.kind else "a file"
    found = f"{kind} in which no sound can be decoded: damaged, cut short, encrypted, or something else under this name"
    return Fault(file.name, found, _WANTED, "copy it from the phone again, or export it as WAV")
