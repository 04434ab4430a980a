"""How a film asks to be turned and mirrored, out of the matrix that its track carries."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Upright", "upright_of"]

_LEAST = 1e-6  # of a matrix that shows nothing, of 1
_ASKEW = 0.01  # share of a turn that is not by a quarter, from which it is said (own choice)


@dataclass(frozen=True, slots=True)
class Upright:
    """How pictures are made to stand as they are meant to be looked at.

    Parameters
    ----------
    turned : int
        Degrees clockwise: 0, 90, 180 or 270.
    mirrored : bool
        Whether left and right are exchanged afterwards.
    askew : bool
        Whether the file asks for something between, and the nearest was taken.
    """

    turned: int = 0
    mirrored: bool = False
    askew: bool = False

    @property
    def lying(self) -> bool:
        """Whether width and height are exchanged."""
        return self.turned in {90, 270}

    def applied(self, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Turn a picture, (height, width), and mirror it."""
        stood = np.rot90(picture, -(self.turned // 90))
        return np.ascontiguousarray(stood[:, ::-1] if self.mirrored else stood)


def upright_of(frame: Any) -> Upright:
    """Read the display matrix of a decoded picture.

    Parameters
    ----------
    frame : av.VideoFrame
        The first picture.

    Returns
    -------
    Upright
        Nothing to do where it has no matrix, or one that shows nothing.

    Notes
    -----
    ISO/IEC 14496-12, 6.2.2 and 8.3.2 (from memory): a point (p, q) of the picture, rows down, is shown at
    (a p + c q + x, b p + d q + y); nine numbers a b u, c d v, x y w. FFmpeg's libraries hand them on as they are.
    """
    matrix = next((bytes(one) for one in frame.side_data if one.type.name == "DISPLAYMATRIX"), b"")
    if len(matrix) < 36:
        return Upright()
    a, b, _, c, d = (number / 65536.0 for number in struct.unpack_from("=5i", matrix))
    straight, crossed = abs(a) + abs(d), abs(b) + abs(c)
    if abs(a * d - b * c) < _LEAST:
        return Upright()
    if straight >= crossed:
        left, up = a < 0.0, d < 0.0
        return Upright(180 if up else 0, left != up, crossed > _ASKEW * straight)
    left, up = c < 0.0, b < 0.0
    return Upright(270 if up else 90, left == up, straight > _ASKEW * crossed)
