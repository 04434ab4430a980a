"""A part of a photograph, made small, for a page that shows what was picked."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray

__all__ = ["small_jpeg"]


def small_jpeg(coded: NDArray[np.uint8] | NDArray[np.uint16], left: int, top: int, size: int, most: int) -> bytes:
    """Cut out a square and make it small.

    Parameters
    ----------
    coded : (h, w) uint8 or uint16 array
        Gray levels as a file codes them.
    left, top, size : int
        Of the square, pixels; it must lie inside the picture.
    most : int
        Side of the small picture, pixels.

    Returns
    -------
    bytes
        A gray JPEG.
    """
    from PIL import Image  # noqa: PLC0415 - loads only for a picture

    part = coded[top : top + size, left : left + size]
    if part.dtype != np.uint8:
        part = (part >> 8).astype(np.uint8)
    image = Image.fromarray(np.ascontiguousarray(part))
    image.thumbnail((most, most), Image.Resampling.BOX)
    held = io.BytesIO()
    image.save(held, "JPEG", quality=70)
    return held.getvalue()
