"""The ball of a filmed drop: found among all that moves, followed from picture to picture, cut into flights.

The clip is looked through twice. First against the median of its whole length, which finds the drop; then the pictures
of the drop alone against their own median, in which the ball rests nowhere for long.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ballbench.signals.track_blobs import Blob, blobs_in
from ballbench.signals.track_flights import FEW, NO_FALL, NOT_FREE, Flights, flights_of
from ballbench.signals.track_ground import Ground, Sampler, ground_of
from ballbench.signals.track_linking import Sighting, link

__all__ = ["Filmed", "Looks", "Mark", "Track", "track_ball"]

Array = NDArray[np.float64]
_RIVAL = 0.5
"""A second thing that flies as a ball for at least this share of the first's pictures is a rival (own choice)."""
_ROUND = 0.75
"""A thing whose area is a smaller share of a disc's, drawn out or not, is no ball (own choice)."""
_TOGETHER = 0.15
"""Two things that are seen together for longer than this, s, are two, and not one whose track broke (own choice)."""
_MARGIN = 0.1
_WHOLE = (-math.inf, math.inf)
_REMEMBERED, _MOST_REMEMBERED = 3, 6000
"""Looks at one clip that are remembered, and pictures of one at most (own choice): 40 MB at worst."""
_WHY = {
    NO_FALL: (
        "nothing falls and rebounds in the picture as a ball does; film from the front before a quiet background, hand "
        "out of the picture, from the release to the third bounce"
    ),
    FEW: "too few pictures in flight; film at 120 or 240 pictures a second, in good light, from the release on",
    NOT_FREE: (
        "the ball does not fly freely between its impacts: it is touched or rolls away, the speed changes inside the "
        "clip, the camera moves or stands at an angle, or the picture is too coarse; use the camera's original clip, "
        "square on and from a stand, of a ball that bounces three times"
    ),
}


class Filmed(Protocol):
    """What is needed of a clip: its size, px, and its pictures with their times, s."""

    @property
    def width(self) -> int:
        """Of its pictures, px."""
        ...

    @property
    def height(self) -> int:
        """Of its pictures, px."""
        ...

    def frames(self, start: float = ..., stop: float = ...) -> Iterator[tuple[float, NDArray[np.uint8]]]:
        """Give the pictures between two times, (height, width), each with its time."""
        ...


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a person put the ball, or that a picture is not to be used.

    Parameters
    ----------
    time : float
        Of the picture, s after the first; the nearest one is meant.
    x, y : float
        Centre of the ball, px of the pictures handed out; NaN: this picture is left out.
    u : float
        Standard uncertainty of a coordinate, px.
    """

    time: float
    x: float
    y: float
    u: float = 1.0


@dataclass(frozen=True, slots=True)
class Track:
    """A ball's way through a clip.

    Parameters
    ----------
    t, x, y : (n,) arrays
        Times, s; centre of the ball, px from the upper left corner. Empty where no ball was found.
    width : (n,) array
        Its breadth, px; NaN where a person marked it.
    u : (n,) array
        Standard uncertainty of marked places, px; NaN for all others.
    flights : Flights or None
        The drop, as rows of these arrays.
    refused : str
        Why no drop could be read, and what to do; empty where it could.
    frames : int
        Pictures of the clip.
    pace, fastest, slowest : float
        Median, shortest and longest time between pictures, s, during the drop or, without one, all along.
    repeated : int
        Pictures that were left out since they show the one before once more.
    others : int
        Things that moved besides the ball.
    noise : float
        SD of a pixel, grey levels.
    contrast : float
        Of the ball against the ground, grey levels.
    picture : array or None
        What stands still, (height, width) uint8, for drawing.
    """

    t: Array
    x: Array
    y: Array
    width: Array
    u: Array
    flights: Flights | None
    refused: str
    frames: int
    pace: float
    fastest: float
    slowest: float
    repeated: int
    others: int
    noise: float
    contrast: float
    picture: NDArray[np.uint8] | None

    @property
    def diameter(self) -> float:
        """Median breadth in the flights, px; NaN where there is none."""
        if self.flights is None:
            return math.nan
        return float(np.nanmedian(self.width[np.concatenate(self.flights.parts)]))


_NOTHING = np.empty(0)


class Looks:
    """What stands out in a clip: looked for once, and known when the clip is tracked again with other marks.

    It hangs on the pictures alone. Of a clip of very many pictures nothing is remembered.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[float, float], _Looked] = {}

    def times(self, clip: Filmed, start: float, stop: float) -> Array:
        """Give the times of the pictures between two times, (n,) s; `clip` is the one that was looked at before."""
        known = self._known.get(_WHOLE)
        if known is None:
            return np.array([time for time, _ in clip.frames(start, stop)])
        return known.times[(known.times >= start) & (known.times <= stop)]

    def over(self, clip: Filmed, start: float, stop: float, otherwise: Ground | None = None) -> _Looked:
        """Look at the pictures between two times, s, against their own median.

        Parameters
        ----------
        clip : Filmed
            The one that was looked at before, if any was.
        start, stop : float
            s, both included.
        otherwise : Ground or None
            In place of their median, where they are too few for one.
        """
        if (start, stop) not in self._known:
            found = _look(clip, start, stop, otherwise)
            if found.times.size > _MOST_REMEMBERED:
                return found
            self._known[start, stop] = found
            if len(self._known) > _REMEMBERED:
                self._known.pop(next(span for span in self._known if span != _WHOLE))
        return self._known[start, stop]


def track_ball(clip: Filmed, marks: tuple[Mark, ...] = (), looks: Looks | None = None) -> Track:
    """Find the ball of a drop and follow it.

    Parameters
    ----------
    clip : Filmed
        The clip.
    marks : tuple of Mark
        A person's: they stand in place of what was found in those pictures, and are never moved.
    looks : Looks or None
        What was seen of this clip before, and takes up what is seen now; None: it is seen for the first time.

    Returns
    -------
    Track
        With its flights, or the reason why there are none.
    """
    looks = Looks() if looks is None else looks
    whole = looks.over(clip, *_WHOLE)
    times, ground = whole.times, whole.ground
    if ground is None:
        return _none(f"only {len(times)} pictures; film the whole drop, from the release to the third bounce", times)
    marks = _snapped(marks, times)
    first = _chosen(whole, clip.height, marks)
    if first.flights is None:
        return _paced(replace(first, frames=len(times), noise=ground.noise, picture=_grey(ground)), times)
    span = first.t[np.concatenate(first.flights.parts)]
    start, stop = float(span[0]) - _MARGIN, float(span[-1]) + _MARGIN
    inner = looks.over(clip, start, stop, ground)
    second = _chosen(inner, clip.height, marks)
    best = second if second.flights is not None and _reach(second) >= 0.8 * _reach(first) else first
    kept = times[(times >= span[0]) & (times <= span[-1])]
    used = inner.ground or ground if best is second else ground
    found = replace(
        best, frames=len(times), noise=used.noise, picture=_grey(used), others=max(first.others, second.others),
        refused=first.refused or best.refused,
    )  # fmt: skip
    return _paced(found, kept)


def _snapped(marks: tuple[Mark, ...], times: Array) -> tuple[Mark, ...]:
    """Put each mark at the time of the picture that it means; of two in one picture the later one stands."""
    at = {float(times[np.argmin(np.abs(times - mark.time))]): mark for mark in marks}
    return tuple(replace(mark, time=time) for time, mark in sorted(at.items()))


@dataclass(frozen=True, slots=True)
class _Looked:
    """Times, s; what stood still; what stood out in each picture, and whether it is the one before once more."""

    times: Array
    ground: Ground | None
    frames: list[tuple[int, float, tuple[Blob, ...]]]
    same: dict[int, bool]


def _look(clip: Filmed, start: float, stop: float, otherwise: Ground | None) -> _Looked:
    sampler, times = Sampler(), []
    for time, picture in clip.frames(start, stop):
        sampler.add(picture)
        times.append(time)
    ground = ground_of(sampler.pictures) or otherwise
    if ground is None:
        return _Looked(np.array(times), None, [], {})
    frames, same, last = [], {}, None
    for number, (time, picture) in enumerate(clip.frames(start, stop)):
        digest = zlib.crc32(picture.tobytes())
        same[number] = digest == last
        last = digest
        frames.append((number, time, blobs_in(picture, ground)))
    return _Looked(np.array(times), ground, frames, same)


@dataclass(frozen=True, slots=True)
class _Way:
    """One thing's way: its sightings as arrays, repeated pictures taken out, and its flights."""

    t: Array
    x: Array
    y: Array
    width: Array
    contrast: float
    cut_at: Array
    repeated: int
    flights: Flights | None
    why: str

    @property
    def moved(self) -> float:
        """Vertical way in breadths."""
        return float(np.ptp(self.y) / np.median(self.width)) if self.t.size > 2 else 0.0

    @property
    def score(self) -> int:
        return sum(part.size for part in self.flights.parts) if self.flights else 0


def _chosen(looked: _Looked, height: float, marks: tuple[Mark, ...]) -> Track:
    ways = [_way(seen, looked.same) for seen in link(looked.frames, height) if len(seen) >= 4]
    ways = [way for way in ways if way.moved > 1.0]
    if marks:
        ways = [_marked(ways, marks)]
    ways.sort(key=lambda way: (-way.score, -way.moved))
    if not ways:
        return _none("nothing moves in the picture; choose the clip of the drop", _NOTHING)
    best = ways[0]
    rivals = [way for way in ways[1:] if way.score >= _RIVAL * best.score > 0 and _together(way, best) > _TOGETHER]
    beside = _beside(best, ways[1:])
    refused = _why_not(best, beside)
    if rivals:
        refused = f"{len(rivals) + 1} things fall and rebound in the picture; film one ball alone, one drop in a clip"
    u = _marked_u(best, marks)
    return Track(
        best.t, best.x, best.y, best.width, u, best.flights, refused, 0, math.nan, math.nan, math.nan, best.repeated,
        beside, math.nan, best.contrast, None,
    )  # fmt: skip


def _together(one: _Way, other: _Way) -> float:
    """For how long two things were seen at the same time, s; below 0: not at all."""
    return float(min(one.t[-1], other.t[-1]) - max(one.t[0], other.t[0]))


def _beside(best: _Way, others: list[_Way]) -> int:
    """Count the things of some size that wandered about while the ball flew."""
    breadth = float(np.nanmedian(best.width))
    return sum(
        bool(way.moved > 2.0 and float(np.median(way.width)) > 0.4 * breadth and _together(way, best) > _TOGETHER)
        for way in others
    )


def _way(seen: list[Sighting], same: dict[int, bool]) -> _Way:
    cut_at = np.array([one.time for one in seen if one.blob.cut])
    clean = [one for one in seen if not one.blob.cut]
    if len(clean) < 4:
        clean = seen
    t, x, y, width = (
        np.array([getattr(one.blob, name) if name != "time" else one.time for one in clean])
        for name in ("time", "x", "y", "width")
    )
    again = _repeats(clean, same, x, y)
    t, x, y, width = t[~again], x[~again], y[~again], width[~again]
    contrast = float(np.median([one.blob.contrast for one in clean]))
    fill = float(np.median([one.blob.fill for one in clean]))
    breadth = float(np.median(width))
    ball_like = t.size > 6 and fill > _ROUND and np.ptp(y) > 1.5 * breadth
    flights, why = _cut(flights_of(t, y, breadth) if ball_like else NO_FALL)
    repeated = 0
    if flights is not None:
        span = t[np.concatenate(flights.parts)]
        repeated = sum(
            bool(is_again) and bool(span[0] < one.time < span[-1]) for one, is_again in zip(clean, again, strict=True)
        )
    return _Way(t, x, y, width, contrast, cut_at, repeated, flights, why)


def _cut(found: Flights | str) -> tuple[Flights | None, str]:
    return (None, found) if isinstance(found, str) else (found, "")


def _repeats(seen: list[Sighting], same: dict[int, bool], x: Array, y: Array) -> NDArray[np.bool_]:
    """Tell pictures that show the one before once more: the same to the bit, or the ball stands where it should fly."""
    again = np.zeros(len(seen), dtype=bool)
    for i in range(1, len(seen)):
        if seen[i].frame != seen[i - 1].frame + 1:
            continue
        before, after = max(i - 2, 0), min(i + 1, len(seen) - 1)
        step = abs(float(y[after] - y[before])) / max(after - before, 1)  # small about the top of a flight
        moved = math.hypot(x[i] - x[i - 1], y[i] - y[i - 1])
        came, goes = float(y[i - 1] - y[before]), float(y[after] - y[i])
        turns = came * goes < 0.0 and min(abs(came), abs(goes)) > step  # the same place before and after an impact
        again[i] = same[seen[i].frame] or (step > 0.7 and moved < 0.08 * step and not turns)
    return again


def _why_not(way: _Way, beside: int) -> str:
    """Say why a way is no drop that can be read; empty where it is one."""
    flights = way.flights
    if flights is None:
        if way.moved < 2.5:
            return "nothing falls in the picture; choose the clip of the drop, and fill the picture's height with it"
        if beside:
            return (
                f"{beside + 1} things move in the picture, and none can be followed as a falling ball; film one ball "
                "alone before a quiet background, hand out of the picture"
            )
        return _WHY[way.why]
    return _unseen(way, flights)


def _unseen(way: _Way, flights: Flights) -> str:
    """Say what of the first rebound is not in the picture; empty where all is."""
    rebound = flights.parts[1]
    begins, ends = flights.impacts[0], flights.impacts[1] if len(flights.impacts) > 1 else float(way.t[rebound[-1]])
    if np.any((way.cut_at > begins) & (way.cut_at < ends + 0.1)):
        return "the ball leaves the picture on its rebound; move the camera back, or tilt it less"
    top = int(np.argmin(way.y[rebound]))
    if top > rebound.size - 3 and len(flights.impacts) < 2:
        return (
            "the clip ends before the top of the rebound, or the ball is caught before; film until the third bounce, "
            "and let the ball bounce"
        )
    if top < 2:
        return "the rise after the impact is not seen; film with the plate in the picture"
    return ""


def _marked(ways: list[_Way], marks: tuple[Mark, ...]) -> _Way:
    """Put a person's marks in place of what was found; without any found way they are the way."""
    placed = sorted((mark for mark in marks if math.isfinite(mark.x)), key=lambda mark: mark.time)

    def off(way: _Way) -> float:
        near = [
            np.min(np.hypot(np.interp(m.time, way.t, way.x) - m.x, np.interp(m.time, way.t, way.y) - m.y))
            for m in placed
        ]
        return float(np.median(near)) / float(np.median(way.width)) if near else -way.score

    base = min(ways, key=off, default=None)
    if base is not None and placed and off(base) > 3.0:
        base = None  # what was found is something else
    t, x, y, width = (
        (base.t, base.x, base.y, base.width) if base is not None else (_NOTHING, _NOTHING, _NOTHING, _NOTHING)
    )
    pace = float(np.median(np.diff(t))) if t.size > 2 else 1e-3
    keep = np.ones(t.size, dtype=bool)
    for mark in marks:
        keep &= np.abs(t - mark.time) > 0.5 * pace
    t = np.concatenate([t[keep], [mark.time for mark in placed]])
    x = np.concatenate([x[keep], [mark.x for mark in placed]])
    y = np.concatenate([y[keep], [mark.y for mark in placed]])
    width = np.concatenate([width[keep], np.full(len(placed), math.nan)])
    order = np.argsort(t, kind="stable")
    t, x, y, width = t[order], x[order], y[order], width[order]
    breadth = float(np.nanmedian(width)) if np.isfinite(width).any() else 0.1 * float(np.ptp(y))
    flights, why = _cut(flights_of(t, y, breadth) if t.size > 6 else FEW)
    repeated, contrast = (base.repeated, base.contrast) if base is not None else (0, math.nan)
    return _Way(t, x, y, width, contrast, base.cut_at if base is not None else _NOTHING, repeated, flights, why)


def _marked_u(way: _Way, marks: tuple[Mark, ...]) -> Array:
    u = np.full(way.t.size, math.nan)
    for mark in marks:
        if math.isfinite(mark.x):
            u[way.t == mark.time] = mark.u
    return u


def _paced(track: Track, times: Array) -> Track:
    """Fill in the times between pictures."""
    steps = np.diff(times)
    if not steps.size:
        return track
    return replace(track, pace=float(np.median(steps)), fastest=float(steps.min()), slowest=float(steps.max()))


def _reach(track: Track) -> int:
    return sum(part.size for part in track.flights.parts) if track.flights else 0


def _grey(ground: Ground) -> NDArray[np.uint8]:
    return np.clip(np.rint(ground.level), 0, 255).astype(np.uint8)


def _none(refused: str, times: Array) -> Track:
    found = Track(
        _NOTHING, _NOTHING, _NOTHING, _NOTHING, _NOTHING, None, refused, len(times), math.nan, math.nan, math.nan, 0, 0,
        math.nan, math.nan, None,
    )  # fmt: skip
    return _paced(found, times)
