"""A clip whose pictures are decoded once: held while it is looked through again and again, as far as memory is theirs.

What does not fit is decoded anew each time, as if nothing were held.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from ballbench.records.media.clip_file import Clip

__all__ = ["MOST_BYTES", "HeldClip"]

MOST_BYTES = 320 * 1024**2
"""Pictures that are held (own choice): a second and a half of 240 pictures a second, 1280 x 720 each."""

_NONE = math.nan, math.nan  # a span that holds no other and is held by none

Grey = NDArray[np.uint8]


class HeldClip:
    """A clip with its pictures, for as long as one person looks at it.

    Parameters
    ----------
    clip : Clip
        Ready to be decoded.
    most : int
        Bytes that its pictures may take.
    """

    def __init__(self, clip: Clip, most: int = MOST_BYTES) -> None:
        self.clip = clip
        self._most = most
        self._held: list[tuple[float, Grey]] = []
        self._span = self._too_much = _NONE

    @property
    def width(self) -> int:
        """Of its pictures, px."""
        return self.clip.width

    @property
    def height(self) -> int:
        """Of its pictures, px."""
        return self.clip.height

    def frames(self, start: float = -math.inf, stop: float = math.inf) -> Iterator[tuple[float, Grey]]:
        """Hand out what was shown between two times, as `Clip.frames` does; nobody may write into these pictures.

        Parameters
        ----------
        start, stop : float
            s, both included.

        Raises
        ------
        BadRecording
            As `Clip.frames`.
        """
        if self._span[0] <= start and stop <= self._span[1]:
            yield from ((time, picture) for time, picture in self._held if start <= time <= stop)
            return
        fits = not (start <= self._too_much[0] and self._too_much[1] <= stop)
        held: list[tuple[float, Grey]] = []
        room = self._most
        if fits:  # two spans are never held at once
            self._held, self._span = held, _NONE
        for time, picture in self.clip.frames(start, stop):
            picture.flags.writeable = False
            room -= picture.nbytes
            if fits and room < 0:
                fits, self._too_much = False, (start, stop)
                held.clear()
            if fits:
                held.append((time, picture))
            yield time, picture
        if fits:
            self._span = start, stop
