"""A film as it is shown to be mended: height against time, and picture by picture what lies around the ball.

A film is mended again and again. What its pictures show is therefore remembered for the last films that were looked at:
where things stand out in them, and the pieces around the ball. Both hang on the film's bytes alone.
"""

from __future__ import annotations

import base64
import math
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.watching.checks import BY_BALL
from ballbench.findings.watching.results import FilmedClip, Seen
from ballbench.records.clip_marks import ClipMark
from ballbench.records.media.held_clip import HeldClip
from ballbench.records.media.small_picture import small_jpeg
from ballbench.signals.track import Looks

__all__ = ["KnownFilm", "film_view", "known_film"]

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
_EDGE_S, _SAME_S = 1e-3, 1e-7
_BESIDE_S = 2.0
"""Pictures that somebody marked further from the drop are not shown (own choice): a film may go on for minutes."""
_ALIKE = 0.15
"""A piece that was cut before serves again where a new one would lie as it does and be as large, to within so much of
its side (own choice)."""
_KNOWN_FILMS = 2
"""Films of which is remembered what was seen (own choice): 80 MB at worst, for as long as their reader lives."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class KnownFilm:
    """What was seen of a film.

    Parameters
    ----------
    looks : Looks
        Where things stand out.
    pieces : dict
        Squares that were cut out, by the time of their picture.
    """

    looks: Looks = field(default_factory=Looks)
    pieces: dict[float, _Piece] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A square of a picture, px of the pictures handed out, reduced to so many dots along a side; a JPEG in base64."""

    left: int
    top: int
    side: int
    dots: int
    jpeg: str


_known: OrderedDict[str, KnownFilm] = OrderedDict()


def known_film(digest: str) -> KnownFilm:
    """Give what is remembered of a film, to be used and added to; of the film longest not asked for it is forgotten.

    Parameters
    ----------
    digest : str
        Of its bytes.
    """
    known = _known.setdefault(digest, KnownFilm())
    _known.move_to_end(digest)
    while len(_known) > _KNOWN_FILMS:
        _known.popitem(last=False)
    return known


@dataclass(frozen=True, slots=True)
class _Picture:
    """One picture: time, s; where the ball is, px of the file; how that came; u by hand, px."""

    time: float
    x: float
    y: float
    look: str
    u: float | None = None


def film_view(
    clip: FilmedClip, film: HeldClip, known: KnownFilm, marks: Sequence[ClipMark], diameter: float
) -> dict[str, Any]:
    """Give what the page draws of a film.

    Parameters
    ----------
    clip : FilmedClip
        As it was read, with its ball's way; without one there is nothing to mend.
    film : HeldClip
        The film; it is decoded only where a picture is shown for the first time.
    known : KnownFilm
        What was seen of it before; takes up what is seen now.
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
    if len(seen.times) < 3 or seen.by_fit is None:
        return {"kind": "none"}
    breadth, mended = _breadth_of(clip, diameter), bool(marks)
    marks = [mark for mark in marks if seen.times[0] - _BESIDE_S <= mark.seconds <= seen.times[-1] + _BESIDE_S]
    put = [mark.seconds for mark in marks]
    span = min([seen.times[0], *put]) - _EDGE_S, max([seen.times[-1], *put]) + _EDGE_S
    side = int(min(max(_BREADTHS * breadth / film.clip.shrunk, _LEAST_SIDE), _MOST_SIDE, film.width, film.height))
    pictures = _with_marks([_placed(time, seen) for time in known.looks.times(film, *span).tolist()], marks)
    pieces = _pieces(film, known, pictures[:_MOST], side, _DOTS if len(seen.times) <= _MANY else _COARSE)
    places = (np.array([getattr(one, name) for one in pictures]) for name in ("time", "x", "y"))
    heights, flown = seen.by_fit(*places)
    offs = [float(off) if one.look in _PLACED else math.nan for one, off in zip(pictures, heights - flown, strict=True)]
    usual = _usual(pictures, offs)
    return {
        "kind": "film",
        "pictures": [
            _shown(one, pieces.get(one.time), height, off, usual)
            for one, height, off in zip(pictures, heights.tolist(), offs, strict=True)
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


def _placed(time: float, seen: Seen) -> _Picture:
    """Give a picture with its place; where none was found, the neighbours' is taken in proportion of the time."""
    k = min(int(np.searchsorted(seen.times, time - _SAME_S)), len(seen.times) - 1)
    if abs(seen.times[k] - time) <= _SAME_S:
        return _Picture(time, seen.xs[k], seen.ys[k], "used" if seen.used[k] else "doubted")
    x, y = (float(np.interp(time, seen.times, known)) for known in (seen.xs, seen.ys))
    return _Picture(time, x, y, "not used")


def _pieces(
    film: HeldClip, known: KnownFilm, pictures: Sequence[_Picture], side: int, dots: int
) -> dict[float, dict[str, Any]]:
    """Give the piece around the ball of each picture, by its time; those that no earlier one serves for are cut out."""
    shrunk = film.clip.shrunk
    wanted = {one.time: _square(film, (one.x / shrunk, one.y / shrunk), side) for one in pictures}
    missing = {
        time: corner for time, corner in wanted.items() if not _serves(known.pieces.get(time), corner, side, dots)
    }
    if missing:
        known.pieces.update(_cut_out(film, missing, side, dots))
    for time in known.pieces.keys() - wanted.keys() if len(known.pieces) > _MOST else ():
        del known.pieces[time]
    return {
        time: {"left": one.left * shrunk, "top": one.top * shrunk, "side": one.side * shrunk, "jpeg": one.jpeg}
        for time, one in ((time, known.pieces[time]) for time in wanted)
    }


def _square(film: HeldClip, middle: tuple[float, float], side: int) -> tuple[int, int]:
    """Give the upper left corner of the square about a place, moved so that it lies inside the picture."""
    left, top = (
        max(0, min(round(at - side / 2), size - side))
        for at, size in zip(middle, (film.width, film.height), strict=True)
    )
    return left, top


def _serves(piece: _Piece | None, corner: tuple[int, int], side: int, dots: int) -> bool:
    """Whether a piece that was cut before shows what the one that is wanted would."""
    if piece is None or piece.dots != dots:
        return False
    apart = piece.side - side, piece.left - corner[0], piece.top - corner[1]
    return all(abs(part) <= _ALIKE * side for part in apart)


def _cut_out(
    film: HeldClip, corners: dict[float, tuple[int, int]], side: int, dots: int
) -> Iterator[tuple[float, _Piece]]:
    """Cut squares out of pictures, by their times; corners are px of the pictures handed out."""
    for time, picture in film.frames(min(corners), max(corners)):
        if time in corners:
            left, top = corners[time]
            coded = base64.b64encode(small_jpeg(picture, left, top, side, dots)).decode("ascii")
            yield time, _Piece(left, top, side, dots, coded)


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


def _usual(pictures: Sequence[_Picture], offs: Sequence[float]) -> float:
    """Give the usual scatter of places about the flights, mm: of those that are used, by their median."""
    own = [abs(off) for one, off in zip(pictures, offs, strict=True) if one.look == "used" and math.isfinite(off)]
    return 1.4826 * float(np.median(own)) if own else math.nan


def _shown(one: _Picture, piece: dict[str, Any] | None, height: float, off: float, usual: float) -> dict[str, Any]:
    stands = one.look in {"used", "by hand"}
    return {
        "time": round(one.time, 6), "x": round(one.x, 2), "y": round(one.y, 2), "height": _plain(height),
        "off": _plain(off), "look": one.look, "u": one.u,
        "doubt": one.look == "doubted" or bool(stands and abs(off) > _FAR * usual), "piece": piece,
    }  # fmt: skip


def _plain(value: float) -> float | None:
    """Give a number no finer than a picture shows it; what is none is null."""
    return round(value, 4) if math.isfinite(value) else None
