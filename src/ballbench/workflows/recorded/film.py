"""A film as it is shown to be mended: height against time, and picture by picture what lies around the ball."""

from __future__ import annotations

import base64
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.watching.checks import BY_BALL
from ballbench.findings.watching.results import FilmedClip, Seen
from ballbench.records.clip_marks import ClipMark
from ballbench.records.media.clip_file import Clip, read_clip
from ballbench.records.media.small_picture import small_jpeg

__all__ = ["film_view"]

_BREADTHS = 2.6
"""Side of the piece of a picture that is magnified, in breadths of the ball (own choice): it may be misplaced."""
_LEAST_SIDE, _MOST_SIDE = 24, 480
_DOTS, _COARSE = 144, 72
_MANY, _MOST = 250, 900
"""Above so many pictures each is magnified into coarser dots, and beyond so many none is (own choice)."""
_FAR = 4.0
"""A place that lies off the flights by more than so many times their usual scatter is in doubt (own choice)."""
_PLACED = frozenset({"used", "doubted", "by hand"})
"""Looks of pictures that have a place of their own; the others are shown where their neighbours would have the ball."""
_SHARE = 0.15  # breadth of a ball where the scale is not known, as a share of the picture's height (own choice)
_EDGE_S = 1e-3
_BESIDE_S = 2.0
"""Pictures that somebody marked further from the drop are not shown (own choice): a film may go on for minutes."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Picture:
    """One picture: time, s; where the ball is, px of the file; how that came; the piece around it; u by hand, px."""

    time: float
    x: float
    y: float
    look: str
    piece: dict[str, Any] | None
    u: float | None = None


def film_view(clip: FilmedClip, path: Path, marks: Sequence[ClipMark], diameter: float) -> dict[str, Any]:
    """Give what the page draws of a film.

    Parameters
    ----------
    clip : FilmedClip
        As it was read, with its ball's way; without one there is nothing to mend.
    path : Path
        The film.
    marks : sequence of ClipMark
        What a person put into it.
    diameter : float
        Of the ball, mm.

    Returns
    -------
    dict
        Plain values; what is not known is null. ``pictures``: from the first to the last in which the ball was
        followed, each with its ``time``, s; ``x`` and ``y``, px of the file; ``height`` of the ball's underside and how
        far that lies ``off`` the flights, mm; its ``look``: ``used``, ``doubted`` where the fit left it out, ``by
        hand``, ``left out``, or ``not used`` where no ball was found or the picture only shows the one before; ``u`` of
        a place put by hand, px; whether it is in ``doubt``; and the ``piece`` around it: a JPEG as base64 with its
        ``left``, ``top`` and ``side``, px of the file. ``curve``: the flights, pairs of s and mm. ``breadth``: of the
        ball, px. ``usual``: scatter of a place about the flights, mm. ``mended``: there are marks.
    """
    seen = clip.seen
    if len(seen.times) < 3:
        return {"kind": "none"}
    breadth, mended = _breadth_of(clip, diameter), bool(marks)
    film = read_clip(path)
    marks = [mark for mark in marks if seen.times[0] - _BESIDE_S <= mark.seconds <= seen.times[-1] + _BESIDE_S]
    put = [mark.seconds for mark in marks]
    span = min([seen.times[0], *put]) - _EDGE_S, max([seen.times[-1], *put]) + _EDGE_S
    pictures = _with_marks(list(_pictures(film, span, seen, breadth)), marks)
    heights = _heights(pictures, seen)
    offs = [
        height - _curve_at(one.time, seen) if one.look in _PLACED else math.nan
        for one, height in zip(pictures, heights, strict=True)
    ]
    usual = _usual(pictures, offs)
    return {
        "kind": "film",
        "pictures": [
            _shown(picture, height, off, usual) for picture, height, off in zip(pictures, heights, offs, strict=True)
        ],
        "curve": [[round(t, 5), _plain(h)] for t, h in zip(seen.curve_times, seen.curve_heights, strict=True)],
        "breadth": round(breadth, 2),
        "usual": _plain(usual),
        "mended": mended,
    }


def _breadth_of(clip: FilmedClip, diameter: float) -> float:
    """Give how wide the ball is in the file's pictures, px: as it was seen, else by gravity's scale, else a guess."""
    seen = [check.scale.value for check in clip.checks if check.by == BY_BALL]
    scales = [*seen, *([clip.scale.value] if clip.scale is not None else [])]
    return diameter / scales[0] if scales else _SHARE * clip.seen.height


def _pictures(film: Clip, span: tuple[float, float], seen: Seen, breadth: float) -> Iterator[_Picture]:
    """Go through the pictures; where no place was found, the neighbours' is taken in proportion of the time."""
    at = {round(time, 7): k for k, time in enumerate(seen.times)}
    side = min(max(_BREADTHS * breadth / film.shrunk, _LEAST_SIDE), _MOST_SIDE, film.width, film.height)
    dots = _DOTS if len(seen.times) <= _MANY else _COARSE
    for number, (time, picture) in enumerate(film.frames(*span)):
        k = at.get(round(time, 7))
        if k is None:
            x, y = (float(np.interp(time, seen.times, known)) for known in (seen.xs, seen.ys))
            look = "not used"
        else:
            x, y, look = seen.xs[k], seen.ys[k], "used" if seen.used[k] else "doubted"
        piece = _piece(film, picture, (x, y), int(side), dots) if number < _MOST else None
        yield _Picture(time, x, y, look, piece)


def _piece(film: Clip, picture: NDArray[np.uint8], middle: tuple[float, float], side: int, dots: int) -> dict[str, Any]:
    """Cut out the square about a place, moved so that it lies inside the picture."""
    left, top = (
        max(0, min(round(at / film.shrunk - side / 2), size - side))
        for at, size in zip(middle, (film.width, film.height), strict=True)
    )
    coded = base64.b64encode(small_jpeg(picture, left, top, side, dots)).decode("ascii")
    return {"left": left * film.shrunk, "top": top * film.shrunk, "side": side * film.shrunk, "jpeg": coded}


def _with_marks(pictures: list[_Picture], marks: Sequence[ClipMark]) -> list[_Picture]:
    """Say of the picture that each mark means, the nearest, what the person made of it."""
    times = np.array([picture.time for picture in pictures])
    for mark in marks:
        k = int(np.argmin(np.abs(times - mark.seconds)))
        if math.isnan(mark.x):
            pictures[k] = replace(pictures[k], look="left out")
        else:
            pictures[k] = replace(pictures[k], look="by hand", x=mark.x, y=mark.y, u=mark.u)
    return pictures


def _heights(pictures: Sequence[_Picture], seen: Seen) -> list[float]:
    """Give heights above the plate, mm: those that the fit gave, and for all others what their places come to by it."""
    known = {round(time, 7): height for time, height in zip(seen.times, seen.heights, strict=True)}
    xs, ys = np.array(seen.xs), np.array(seen.ys)

    def terms(x: Array, y: Array) -> Array:
        return np.column_stack([np.ones(y.size), y, y**2, x])

    middle = (float(xs.mean()), float(ys.mean()))
    found, *_ = np.linalg.lstsq(terms(xs - middle[0], ys - middle[1]), np.array(seen.heights), rcond=None)
    x, y = np.array([one.x for one in pictures]) - middle[0], np.array([one.y for one in pictures]) - middle[1]
    by_place = terms(x, y) @ found
    return [known.get(round(one.time, 7), float(by_place[k])) for k, one in enumerate(pictures)]


def _curve_at(time: float, seen: Seen) -> float:
    """Give the height of the flights at a moment, mm; NaN where none is drawn.

    Of the drawn points near by, parabolas through three in a row; those that span an impact bend upwards and are none
    of a flight, and of a flight before and one after the impact the higher one is flown.
    """
    times, heights = np.array(seen.curve_times), np.array(seen.curve_heights)
    right = int(np.searchsorted(times, time))
    guesses = []
    for first in range(max(right - 3, 0), min(right, times.size - 3) + 1):
        t, h = times[first : first + 3] - time, heights[first : first + 3]
        if np.isfinite(h).all() and (bent := np.polyfit(t, h, 2))[0] < 0.0:
            guesses.append(float(bent[2]))
    return max(guesses, default=math.nan)


def _usual(pictures: Sequence[_Picture], offs: Sequence[float]) -> float:
    """Give the usual scatter of places about the flights, mm: of those that are used, by their median."""
    own = [abs(off) for one, off in zip(pictures, offs, strict=True) if one.look == "used" and math.isfinite(off)]
    return 1.4826 * float(np.median(own)) if own else math.nan


def _shown(one: _Picture, height: float, off: float, usual: float) -> dict[str, Any]:
    stands = one.look in {"used", "by hand"}
    return {
        "time": round(one.time, 6), "x": round(one.x, 2), "y": round(one.y, 2), "height": _plain(height),
        "off": _plain(off), "look": one.look, "u": one.u,
        "doubt": one.look == "doubted" or bool(stands and abs(off) > _FAR * usual), "piece": one.piece,
    }  # fmt: skip


def _plain(value: float) -> float | None:
    """Give a number no finer than a picture shows it; what is none is null."""
    return round(value, 4) if math.isfinite(value) else None
