"""Things that stand out against what stands still, measured in one picture: where, how large, how round."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.signals.track_ground import Ground, coarse

__all__ = ["Blob", "blobs_in"]

_STANDS_OUT = 6.0
"""SDs of a pixel by which a thing differs from the ground (own choice)."""
_LEAST_LEVELS = 9.0
"""Grey levels by which it differs at least, of 256 (own choice): coding moves pixels by a few."""
_MOST = 12
"""The largest things of a picture that are measured (own choice)."""
_LEAST_AREA = 12.0
"""Smaller things than that are noise, px (own choice)."""
_MARGIN = 3

Float = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Blob:
    """One thing in one picture; px, from the upper left corner of the picture.

    Parameters
    ----------
    x, y : float
        Its centre, by soft weights: a smear by motion draws it out alike on both sides.
    width, height : float
        Widest row and highest column, between half contrasts.
    area : float
        Pixels that it covers.
    contrast : float
        Median difference from the ground inside it, grey levels.
    cut : bool
        It touches the edge of the picture.
    """

    x: float
    y: float
    width: float
    height: float
    area: float
    contrast: float
    cut: bool

    @property
    def fill(self) -> float:
        """Its area as a share of a disc's that is drawn out to its height: 1 for a ball, moving or not."""
        short, long = sorted((self.width, self.height))
        return self.area / max(math.pi / 4.0 * short**2 + short * (long - short), 1.0)


def blobs_in(picture: NDArray[np.uint8], ground: Ground) -> tuple[Blob, ...]:
    """Find and measure what stands out in a picture.

    Parameters
    ----------
    picture : array, (height, width) uint8
        One frame.
    ground : Ground
        What stands still.

    Returns
    -------
    tuple of Blob
        At most twelve, the largest first.
    """
    from scipy import ndimage  # noqa: PLC0415 - the search loads only when a clip is watched

    small = coarse(picture, ground.step)
    gain = _gain(small, ground.small)
    limit = max(_STANDS_OUT * ground.noise, _LEAST_LEVELS)
    out = np.abs(small * gain - ground.small) > limit * (1.0 if ground.step == 1 else 0.6)
    labels, count = ndimage.label(out)
    if not count:
        return ()
    boxes = ndimage.find_objects(labels)
    sizes = np.bincount(labels.ravel())[1:]
    order = np.argsort(-sizes, kind="stable")[:_MOST]
    found = []
    for k in order:
        if sizes[k] * ground.step**2 >= _LEAST_AREA:
            found += _measured(picture, ground, gain, boxes[k], limit)
    return tuple(_once(sorted(found, key=lambda one: -one.area)))


def _gain(small: Float, ground: Float) -> float:
    """By what a picture must be multiplied to be as bright as the ground: lamps flicker, cameras adapt."""
    lit = ground > 8.0
    if not lit.any():
        return 1.0
    gain = 1.0 / float(np.median(small[lit] / ground[lit]) or 1.0)
    return gain if 0.005 < abs(gain - 1.0) < 0.5 else 1.0


def _measured(
    picture: NDArray[np.uint8], ground: Ground, gain: float, box: tuple[slice, slice], limit: float
) -> list[Blob]:
    """Measure what lies in a box of the reduced picture, at full size."""
    from scipy import ndimage  # noqa: PLC0415 - as above

    high, wide = picture.shape
    grown = _MARGIN + ground.step
    top, bottom = max(box[0].start * ground.step - grown, 0), min(box[0].stop * ground.step + grown, high)
    left, right = max(box[1].start * ground.step - grown, 0), min(box[1].stop * ground.step + grown, wide)
    away = np.abs(picture[top:bottom, left:right] * np.float32(gain) - ground.level[top:bottom, left:right])
    labels, count = ndimage.label(away > limit)
    found = []
    for k in range(1, count + 1):
        inside = labels == k
        if inside.sum() < _LEAST_AREA:
            continue
        inside = ndimage.binary_fill_holes(inside)
        contrast = float(np.median(away[inside]))
        weights = np.clip((away - 0.25 * contrast) / (0.5 * contrast), 0.0, 1.0)
        near = ndimage.binary_dilation(inside, iterations=2)
        core = ndimage.binary_erosion(inside, iterations=2)
        weights = np.where(core, 1.0, np.where(near, weights, 0.0))
        area = float(weights.sum())
        if area < _LEAST_AREA:
            continue
        down, across = weights.sum(axis=1), weights.sum(axis=0)
        rows, columns = np.arange(top, bottom) + 0.5, np.arange(left, right) + 0.5
        r, c = np.nonzero(inside)
        cut = r.min() + top <= 1 or c.min() + left <= 1 or r.max() + top >= high - 2 or c.max() + left >= wide - 2
        found.append(
            Blob(
                float(across @ columns) / area, float(down @ rows) / area, _breadth(down), _breadth(across), area,
                contrast, bool(cut),
            )
        )  # fmt: skip
    return found


def _breadth(profile: NDArray[np.floating]) -> float:
    """Widest of the rows: the mean of the widest tenth, at least three, so that one noisy row does not count."""
    some = max(3, profile.size // 10)
    return float(np.sort(profile)[-some:].mean())


def _once(blobs: list[Blob]) -> list[Blob]:
    """Leave out what was measured twice, since the boxes of two coarse things overlap."""
    kept: list[Blob] = []
    for blob in blobs:
        if all(math.hypot(blob.x - one.x, blob.y - one.y) > 1.0 for one in kept):
            kept.append(blob)
    return kept[:_MOST]
