"""A filmed clip, frame by frame: each picture in grey with its own time, upright, in bounded memory.

Frames are decoded while they are asked for and none is kept, so that a clip may be asked for several times and costs no
more memory than one picture. A frame's time is the one that the file gives it, never its number over a nominal rate.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.clip_pace import slowed_by
from ballbench.records.media.clip_upright import Upright, upright_of
from ballbench.records.media.iso_boxes import Shown, cut_short, refuse_unfinished, shown_of
from ballbench.records.media.recording_file import RecordingFile, described, film_behind, take_in_recording
from ballbench.records.media.refusals import beyond_memory, other_kind, undecodable

__all__ = ["LONGEST", "Clip", "read_clip"]

LONGEST = 120.0
"""Longest clip, s: a drop takes two (own choice)."""
_MOST_PIXELS = 8192 * 4320
"""Largest picture that is decoded (own choice): beyond it a small file can ask for much memory."""
_LEAST_SIDE = 48
_WORKING_SIDE = 1400
"""Larger pictures are averaged down by whole steps until their longer side is no more than this, px (own choice)."""
_MOST_FRAMES = 60_000
_ONLY = {"protocol_whitelist": "file", "format_whitelist": "mov,mp4,m4a,3gp,3g2,mj2,avi,matroska,webm"}
"""A file is opened as a film or not at all: a list of other files opens nothing."""
_WANTED = "a filmed clip (MP4, MOV, AVI, WebM)"
_OWN = "the clip of the drop"
_EXPORT = "if it is protected or of a rare kind, export it as MP4 (H.264)"
_NO_TIMES = "AVI"
_TICK = 1e-6  # s by which a first picture may stand before what is shown: rounding

Grey = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Clip:
    """A clip that can be decoded.

    Parameters
    ----------
    file : RecordingFile
        What lies on the disk.
    width, height : int
        Of the pictures that are handed out, px, upright.
    shrunk : float
        Pixels of the file, along a side, that went into one of these.
    turned : int
        By how many degrees the pictures were turned clockwise to stand upright: 0, 90, 180 or 270.
    codec : str
        How it was compressed, such as ``"h264"``.
    rate : float
        Frames a second as the file has it on average; 0: it does not say.
    seconds : float
        Length as the file has it; NaN: it does not say.
    notes : tuple of str
        What a reader must know.
    mirrored : bool
        Whether left and right were exchanged after turning.
    slowed : float
        How many times slower the file has it than it was taken; times are divided by it already.
    shown : Shown
        The part of the film that its edit list shows, and whether the list is left aside.
    """

    file: RecordingFile
    width: int
    height: int
    shrunk: float
    turned: int
    codec: str
    rate: float
    seconds: float
    notes: tuple[str, ...]
    mirrored: bool = False
    slowed: float = 1.0
    shown: Shown = field(default_factory=Shown)

    def frames(self, start: float = -math.inf, stop: float = math.inf) -> Iterator[tuple[float, Grey]]:
        """Decode the clip from its beginning and hand out what was shown between two times.

        Parameters
        ----------
        start, stop : float
            s, both included.

        Yields
        ------
        tuple of float and array
            The frame's own time, s, counted from the first frame; and the picture, (height, width) uint8, 0 black.

        Raises
        ------
        BadRecording
            The stream is damaged before its first picture, runs longer than allowed, or changes its size.
        """
        yield from _decoded(self, start, stop)


def read_clip(path: Path) -> Clip:
    """Open a clip and look at its first picture.

    Parameters
    ----------
    path : Path
        MP4, MOV, AVI, WebM or Matroska, by its bytes.

    Returns
    -------
    Clip
        Ready to be decoded.

    Raises
    ------
    BadRecording
        Not a clip, a sound without pictures, broken, not ended, edited, too long, too large a picture, half-pictures
        (interlaced).
    """
    file = take_in_recording(path, _WANTED)
    if file.family not in {"film", "sound or film"} or file.kind == "OGG":
        raise _no_film(file)
    import av  # noqa: PLC0415 - decoding loads only when a clip is read

    try:
        refuse_unfinished(file, _WANTED)
        with _opened(file) as container:
            shown = shown_of(file, _film_of(file, container).id)
            slowed, taken = slowed_by(container, _film_of(file, container))
        if shown.joined:
            found = "a film that was edited: pieces were cut out, put together or repeated"
            todo = "hand over what the camera wrote, or each piece by itself"
            raise BadRecording(Fault(file.name, found, "one film in one piece, so that times are true", todo))
        with _opened(file, own_clock=shown.own_clock) as container:
            return _looked_at(file, container, shown, slowed, taken)
    except (av.FFmpegError, OSError, ValueError, OverflowError, MemoryError) as failure:
        if isinstance(failure, BadRecording):
            raise
        raise _broken(file, failure) from failure


def _no_film(file: RecordingFile) -> BadRecording:
    if not film_behind(file):
        return other_kind(file, _WANTED, _OWN)
    found = f"{described(file)} with a short film behind it (motion photo)"
    todo = "have the phone save that film as a clip of its own; better, film at 120 or 240 pictures a second"
    return BadRecording(Fault(file.name, found, _WANTED, todo))


def _opened(file: RecordingFile, *, own_clock: bool = False) -> Any:
    import av  # noqa: PLC0415 - as above

    options = {**_ONLY, "ignore_editlist": "1"} if own_clock else _ONLY
    return av.open(str(file.path), options=options, metadata_errors="ignore")


def _looked_at(file: RecordingFile, container: Any, shown: Shown, slowed: float, taken: float) -> Clip:
    stream = _film_of(file, container)
    context = stream.codec_context
    _check_size(file, context.width, context.height)
    seconds = _length(container, stream) / slowed
    if seconds > LONGEST:
        found, todo = f"a clip of {seconds:.0f} s", "cut out the part from before the release to the third bounce"
        raise BadRecording(Fault(file.name, found, f"at most {LONGEST:.0f} s", todo))
    frame = next(container.decode(stream), None)
    if frame is None:
        raise BadRecording(Fault(file.name, "a film without a single picture", _WANTED, "copy it from the phone again"))
    _check_size(file, frame.width, frame.height)
    if frame.interlaced_frame:
        todo = "film with whole pictures (progressive), such as 60p and not 60i"
        raise BadRecording(Fault(file.name, "half pictures of two times in one (interlaced)", "whole pictures", todo))
    aspect = float(stream.sample_aspect_ratio or 1) or 1.0
    width, height = frame.width * aspect, float(frame.height)
    shrunk = max(1, math.ceil(max(width, height) / _WORKING_SIDE))
    size = (max(round(width / shrunk), 1), max(round(height / shrunk), 1))
    upright = upright_of(frame)
    size = size[::-1] if upright.lying else size
    rate = float(stream.average_rate or stream.guessed_rate or 0) * slowed
    notes = tuple(_notes(file, aspect, upright, shown, slowed, taken))
    return Clip(
        file, size[0], size[1], float(shrunk), upright.turned, context.codec.canonical_name, rate, seconds, notes,
        upright.mirrored, slowed, shown,
    )  # fmt: skip


def _film_of(file: RecordingFile, container: Any) -> Any:
    """Give the film among the streams: one of many pictures, meant to be played, the largest; no cover, no preview."""
    from av.stream import Disposition  # noqa: PLC0415 - as above

    still = Disposition.attached_pic | Disposition.timed_thumbnails | Disposition.still_image
    films = [one for one in container.streams.video if one.codec_context is not None and not one.disposition & still]
    if not films:
        found = "a sound without pictures" if container.streams.audio else "no pictures"
        todo = f"choose {_OWN}" + ("; a sound is for `ballbench listen`" if container.streams.audio else "")
        if container.streams.video:
            found, todo = "no film that can be decoded: a cover picture, protected, or coded in an unknown way", _EXPORT
        raise BadRecording(Fault(file.name, found, _WANTED, todo))
    played = Disposition.default
    stream = max(
        films,
        key=lambda one: (
            one.frames != 1,
            played in one.disposition,
            one.codec_context.width * one.codec_context.height,
        ),
    )
    stream.thread_type = "AUTO"
    return stream


def _length(container: Any, stream: Any) -> float:
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    return container.duration / 1e6 if container.duration else math.nan


def _check_size(file: RecordingFile, width: int, height: int) -> None:
    if width * height > _MOST_PIXELS:
        found = f"pictures of {width} x {height} px"
        todo = "film in an ordinary size, such as 1920 x 1080"
        raise BadRecording(Fault(file.name, found, f"at most {_MOST_PIXELS / 1e6:.0f} million pixels", todo))
    if width < _LEAST_SIDE or height < _LEAST_SIDE:
        found = f"pictures of {width} x {height} px"
        todo = "film in an ordinary size, such as 1920 x 1080"
        raise BadRecording(Fault(file.name, found, f"at least {_LEAST_SIDE} px a side", todo))


def _notes(
    file: RecordingFile, aspect: float, upright: Upright, shown: Shown, slowed: float, taken: float
) -> Iterator[str]:
    if file.kind == _NO_TIMES:
        yield "an AVI file gives a frame no time of its own: frames are taken to be equally spaced"
    if abs(aspect - 1.0) > 1e-3:
        yield f"pixels are {aspect:.3g} times as wide as high; the picture was widened accordingly"
    if upright.askew:
        yield "the file asks to be turned by no quarter of a turn; it was turned by the nearest one"
    if shown.paced:
        yield "the file asks to be shown at another pace in part; the times at which it was taken are used"
    if slowed != 1.0:
        yield (
            f"the file says that it was taken at {taken:g} pictures a second and has it {slowed:.4g} times slower: "
            "times are divided by that; by as much as the true rate was another, heights are off by twice its share"
        )
    if cut_short(file):
        yield "the file is cut short: it promises more than there is"


def _decoded(clip: Clip, start: float, stop: float) -> Iterator[tuple[float, Grey]]:
    import av  # noqa: PLC0415 - as above

    seen = 0
    try:
        with _opened(clip.file, own_clock=clip.shown.own_clock) as container:
            stream = _film_of(clip.file, container)
            first: float | None = None
            last = -math.inf
            for frame in _until_it_breaks(container, stream):
                if frame.pts is None:
                    continue
                stamp = float(frame.pts * frame.time_base)
                if not clip.shown.start - _TICK <= stamp < clip.shown.stop:
                    continue
                first = stamp if first is None else first
                time = (stamp - first) / clip.slowed
                if time <= last:  # a time that does not go on is no time of its own
                    continue
                last = time
                seen += 1
                if time > stop:
                    return
                if time > LONGEST or seen > _MOST_FRAMES:
                    todo = "cut out the part from before the release to the third bounce"
                    found = f"a clip of more than {LONGEST:.0f} s or {_MOST_FRAMES} frames"
                    raise BadRecording(Fault(clip.file.name, found, f"at most {LONGEST:.0f} s", todo))
                if time >= start:
                    yield time, _grey(clip, frame)
    except (av.FFmpegError, OverflowError, MemoryError) as failure:
        raise _broken(clip.file, failure) from failure


def _until_it_breaks(container: Any, stream: Any) -> Iterator[Any]:
    """Decode frames; where the file is cut off, end there unless nothing was decoded."""
    import av  # noqa: PLC0415 - as above

    some = False
    try:
        for frame in container.decode(stream):
            some = True
            yield frame
    except av.FFmpegError:
        if not some:
            raise


def _grey(clip: Clip, frame: Any) -> Grey:
    _check_size(clip.file, frame.width, frame.height)
    upright = Upright(clip.turned, clip.mirrored)
    size = (clip.height, clip.width) if upright.lying else (clip.width, clip.height)
    picture = frame.reformat(width=size[0], height=size[1], format="gray", interpolation="AREA").to_ndarray()
    return upright.applied(picture)


def _broken(file: RecordingFile, failure: Exception) -> BadRecording:
    if isinstance(failure, MemoryError):
        return beyond_memory(file, _WANTED, "film in an ordinary size, such as 1920 x 1080")
    return undecodable(file, _WANTED, "MP4 (H.264)")
