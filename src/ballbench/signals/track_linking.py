"""Things of single pictures are joined into tracks: which thing of this picture is which of the last."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from ballbench.signals.track_blobs import Blob

__all__ = ["Sighting", "link"]

_PATIENCE = 0.12
"""A thing that was not seen for longer than this, s, is another one afterwards (own choice)."""
_STEPS = 4
_FIRST_REACH = 0.3
"""How far a thing of unknown speed may have come between two pictures, as a share of the picture's height (own)."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """A thing in a frame: the frame's number in the clip and its time, s."""

    frame: int
    time: float
    blob: Blob


@dataclass(slots=True)
class _Open:
    seen: list[Sighting] = field(default_factory=list)

    def cost(self, time: float, blob: Blob, height: float) -> float:
        """How far off a thing is from where it is expected, in px with unlike sizes added; inf: too far."""
        last = self.seen[-1]
        size = math.sqrt(max(last.blob.area, 1.0))
        unlike = abs(math.log(blob.area / last.blob.area))
        if unlike > 1.2:
            return math.inf
        passed = time - last.time
        way = math.hypot(blob.x - last.blob.x, blob.y - last.blob.y)
        speeds = self._speed()
        if not speeds:
            return way + size * unlike if way < max(2.0 * size, _FIRST_REACH * height) else math.inf
        vx, vy = speeds[0]
        if way > 1.7 * max(math.hypot(x, y) for x, y in speeds) * passed + 1.2 * size:
            return math.inf
        ahead = math.hypot(blob.x - last.blob.x - vx * passed, blob.y - last.blob.y - vy * passed)
        return min(ahead, 0.7 * way + 0.3 * size) + size * unlike

    def _speed(self) -> list[tuple[float, float]]:
        """Speeds of the last steps, the latest first: just after an impact the latest alone says little."""
        last = self.seen[-_STEPS:]
        return [
            ((b.blob.x - a.blob.x) / (b.time - a.time), (b.blob.y - a.blob.y) / (b.time - a.time))
            for a, b in zip(last[-2::-1], last[:0:-1], strict=True)
        ]


def link(frames: Sequence[tuple[int, float, Sequence[Blob]]], height: float) -> list[list[Sighting]]:
    """Join things into tracks.

    Parameters
    ----------
    frames : sequence of tuple
        Number, time in s, and the things of each frame, in the order of time.
    height : float
        Of a picture, px.

    Returns
    -------
    list of list of Sighting
        Every thing is in one track. A track of a bouncing ball runs through its impacts.
    """
    going: list[_Open] = []
    done: list[_Open] = []
    for number, time, blobs in frames:
        for one in [one for one in going if time - one.seen[-1].time > _PATIENCE]:
            going.remove(one)
            done.append(one)
        pairs = sorted(
            (cost, i, j)
            for i, one in enumerate(going)
            for j, blob in enumerate(blobs)
            if math.isfinite(cost := one.cost(time, blob, height))
        )
        taken_tracks: set[int] = set()
        taken_blobs: set[int] = set()
        for _, i, j in pairs:
            if i not in taken_tracks and j not in taken_blobs:
                taken_tracks.add(i)
                taken_blobs.add(j)
                going[i].seen.append(Sighting(number, time, blobs[j]))
        going += [_Open([Sighting(number, time, blob)]) for j, blob in enumerate(blobs) if j not in taken_blobs]
    return [one.seen for one in (*done, *going)]
