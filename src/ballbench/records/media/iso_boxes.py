"""The boxes of an MP4, MOV or 3GP: whether the file is whole, and which pieces of its tracks it asks to show.

Boxes are walked by their heads; of what is in them only edit lists and time scales are read, a few kilobytes however
large the file is. After ISO/IEC 14496-12, 4.2 (boxes), 8.2 (moov), 8.6.6 (edit lists), and the QuickTime file format,
which has the same boxes; from memory, and held against what FFmpeg's libraries write in the tests.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.recording_file import RecordingFile

__all__ = ["Shown", "cut_short", "refuse_unfinished", "shown_of"]

_MOST_BOXES = 100_000
_MOST_TRACKS = 64
_MOST_EDITS = 512
_MOST_BYTES = 64 * 1024  # of a box that is read whole
_APART = 2e-3  # s by which a piece may begin off the end of the one before and still follow it (own choice)


@dataclass(frozen=True, slots=True)
class Shown:
    """What a track's edit list asks for.

    Parameters
    ----------
    start, stop : float
        Part of the track that is shown, s on its own clock; all of it: -inf and inf.
    own_clock : bool
        Whether times must be those of the track itself, the list left aside.
    joined : bool
        Whether pieces are shown that do not follow each other in the track: what lies between them is not known.
    paced : bool
        Whether the list asks for another pace than the track's own.
    """

    start: float = -math.inf
    stop: float = math.inf
    own_clock: bool = False
    joined: bool = False
    paced: bool = False


@dataclass(frozen=True, slots=True)
class _Box:
    kind: bytes
    start: int
    stop: int


@dataclass(frozen=True, slots=True)
class _Edit:
    seconds: float
    begin: float
    rate: float


def refuse_unfinished(file: RecordingFile, wanted: str) -> None:
    """Refuse a film or sound whose table of contents is missing or cut off.

    Parameters
    ----------
    file : RecordingFile
        Of any kind; only MP4 and MOV are looked at.
    wanted : str
        What is allowed, for the message.

    Raises
    ------
    BadRecording
        No ``moov``, or one that ends behind the file.
    """
    if file.kind != "MP4 or MOV":
        return
    with file.path.open("rb") as opened:
        top = list(_boxes(opened, 0, file.size))
    contents = next((box for box in top if box.kind == b"moov"), None)
    if contents is not None and contents.stop <= file.size:
        return
    which = "missing" if contents is None else "cut off"
    found = (
        f"an MP4 or MOV whose table of contents (moov) is {which}: the recording was not ended (phone off, program "
        "closed), or the copy is not whole"
    )
    todo = "copy it from the phone again; if it does not play on the phone either, record again"
    raise BadRecording(Fault(file.name, found, wanted, todo))


def cut_short(file: RecordingFile) -> str:
    """Say that a file promises more than there is; empty where it does not."""
    if file.kind != "MP4 or MOV":
        return ""
    with file.path.open("rb") as opened:
        last = next((box for box in _boxes(opened, 0, file.size) if box.stop > file.size), None)
    if last is None or last.kind not in {b"mdat", b"moof"}:
        return ""
    return "The file is cut short: it promises more than there is."


def shown_of(file: RecordingFile, track: int) -> Shown:
    """Read what the edit list of a track asks for.

    Parameters
    ----------
    file : RecordingFile
        Of any kind; only MP4 and MOV have edit lists.
    track : int
        The track's own number (``track_ID``), which FFmpeg's libraries give as a stream's id.

    Returns
    -------
    Shown
        Nothing to do, where the list shows one piece at the track's own pace, as phones write it.
    """
    if file.kind != "MP4 or MOV":
        return Shown()
    try:
        with file.path.open("rb") as opened:
            return _judged(_edits(opened, file.size, track))
    except (struct.error, IndexError):  # a list that ends in the middle of a number lists nothing
        return Shown()


def _judged(edits: list[_Edit]) -> Shown:
    while edits and edits[0].begin < 0.0:  # an empty piece at the beginning only says when the track begins
        edits = edits[1:]
    while edits and edits[-1].begin < 0.0:
        edits = edits[:-1]
    if not edits or (len(edits) == 1 and edits[0].rate == 1.0 and edits[0].seconds > 0.0):
        return Shown()
    at = edits[0].begin
    for edit in edits:
        if edit.begin < 0.0 or edit.rate <= 0.0 or abs(edit.begin - at) > _APART:
            return Shown(own_clock=True, joined=True)
        at = edit.begin + edit.seconds * edit.rate
    stop = math.inf if edits[-1].seconds == 0.0 else at
    return Shown(edits[0].begin, stop, own_clock=True, paced=any(edit.rate != 1.0 for edit in edits))


def _edits(opened: BinaryIO, size: int, track: int) -> list[_Edit]:
    contents = next((box for box in _boxes(opened, 0, size) if box.kind == b"moov"), None)
    if contents is None:
        return []
    movie_ticks, found = 0, []
    for tracks, box in enumerate(_boxes(opened, contents.start, contents.stop)):
        if tracks > _MOST_TRACKS * 4:
            break
        if box.kind == b"mvhd":
            movie_ticks = _ticks(_content(opened, box))
        if box.kind == b"trak" and _number_of(opened, box) == track:
            media_ticks = _ticks(_inside(opened, box, b"mdia", b"mdhd"))
            found.append((media_ticks, _inside(opened, box, b"edts", b"elst")))
    if len(found) != 1 or not movie_ticks or not found[0][0] or len(found[0][1]) < 8:
        return []
    media_ticks, content = found[0]
    return _listed(content, movie_ticks, media_ticks)


def _listed(content: bytes, movie_ticks: int, media_ticks: int) -> list[_Edit]:
    """Read an edit list: durations on the film's clock, beginnings on the track's; -1 is an empty piece."""
    count = min(struct.unpack_from(">I", content, 4)[0], _MOST_EDITS)
    form = ">QqhH" if content[0] else ">IihH"
    edits = []
    for number in range(count):
        long, begin, whole, part = struct.unpack_from(form, content, 8 + number * struct.calcsize(form))
        edits.append(_Edit(long / movie_ticks, begin / media_ticks if begin >= 0 else -1.0, whole + part / 65536.0))
    return edits


def _number_of(opened: BinaryIO, track: _Box) -> int:
    head = _inside(opened, track, b"tkhd")
    return int(struct.unpack_from(">I", head, 20 if head[0] else 12)[0]) if head else -1


def _ticks(head: bytes) -> int:
    """Ticks a second, out of the content of a ``mvhd`` or ``mdhd``."""
    return int(struct.unpack_from(">I", head, 20 if head[0] else 12)[0]) if head else 0


def _inside(opened: BinaryIO, box: _Box, *way: bytes) -> bytes:
    """Content of a box inside boxes; empty where it is not there."""
    for kind in way:
        inner = next((one for one in _boxes(opened, box.start, box.stop) if one.kind == kind), None)
        if inner is None:
            return b""
        box = inner
    return _content(opened, box)


def _content(opened: BinaryIO, box: _Box) -> bytes:
    opened.seek(box.start)
    return opened.read(min(box.stop - box.start, _MOST_BYTES))


def _boxes(opened: BinaryIO, start: int, stop: int) -> Iterator[_Box]:
    """Walk the boxes between two places of a file; the last may claim to end behind it."""
    at = start
    for _ in range(_MOST_BOXES):
        if at + 8 > stop:
            return
        opened.seek(at)
        head = opened.read(16)
        if len(head) < 8:
            return
        long, kind, inner = int.from_bytes(head[:4], "big"), head[4:8], at + 8
        if long == 1 and len(head) == 16:
            long, inner = int.from_bytes(head[8:], "big"), at + 16
        elif long == 0:
            long = stop - at
        if long < inner - at:
            return
        yield _Box(kind, inner, at + long)
        at += long
