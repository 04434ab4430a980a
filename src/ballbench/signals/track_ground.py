"""What stands still in a clip: the median of pictures taken over its length, and how noisy a pixel is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Ground", "Sampler", "coarse", "ground_of"]

_KEPT = 40
"""Pictures that the median is taken of (own choice)."""
_LEAST_PICTURES = 5
_COARSE_SIDE = 360
"""Where both sides of a picture are longer, things are first looked for in a picture reduced to about that (own)."""

Grey = NDArray[np.uint8]
Float = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Ground:
    """What stands still.

    Parameters
    ----------
    level : array, (height, width) float32
        Grey levels, 0 to 255.
    small : array, (height/step, width/step) float32
        The same reduced.
    step : int
        Pixels of `level` along a side for one of `small`.
    noise : float
        SD of one pixel's grey level from picture to picture, by the median; at least that of whole levels, 0.3.
    pictures : int
        How many it was taken of.
    """

    level: Float
    small: Float
    step: int
    noise: float
    pictures: int


class Sampler:
    """Keeps pictures evenly spread over a stream of unknown length, never more than twice the number wanted."""

    def __init__(self) -> None:
        self._kept: list[Grey] = []
        self._stride, self._seen = 1, 0

    def add(self, picture: Grey) -> None:
        """Take the next picture of the stream into account."""
        if self._seen % self._stride == 0:
            self._kept.append(picture)
            if len(self._kept) >= 2 * _KEPT:
                self._kept, self._stride = self._kept[::2], 2 * self._stride
        self._seen += 1

    @property
    def pictures(self) -> list[Grey]:
        """Those that were kept, in order."""
        return self._kept


def ground_of(pictures: Iterable[Grey]) -> Ground | None:
    """Take the median of pictures.

    Parameters
    ----------
    pictures : iterable of array, (height, width) uint8
        All of one size, evenly spread over the time that matters.

    Returns
    -------
    Ground or None
        None where there are fewer than five.
    """
    stack = np.stack(list(pictures)) if not isinstance(pictures, np.ndarray) else pictures
    if stack.shape[0] < _LEAST_PICTURES:
        return None
    middle = stack.shape[0] // 2
    level = np.partition(stack, middle, axis=0)[middle].astype(np.float32)
    away = np.abs(stack[:, ::4, ::4].astype(np.float32) - level[::4, ::4])
    noise = max(1.4826 * float(np.median(away)), 0.3)
    step = max(1, min(level.shape) // _COARSE_SIDE)
    return Ground(level, coarse(level, step), step, noise, stack.shape[0])


def coarse(picture: NDArray[np.generic], step: int) -> Float:
    """Reduce a picture, (height, width), by means over squares of `step` pixels; what is left over is cut off."""
    if step == 1:
        return picture.astype(np.float32)
    high, wide = (side // step * step for side in picture.shape)
    total = np.zeros((high // step, wide // step), dtype=np.float32)
    for down in range(step):  # sums of whole levels are exact in any order, and this one is the quickest
        for across in range(step):
            total += picture[down:high:step, across:wide:step]
    return np.asarray(total / np.float32(step**2), dtype=np.float32)
