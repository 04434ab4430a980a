"""Dots that would cover each other, piled up."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["stack_specks"]


def stack_specks(pixels: Sequence[float], apart: float) -> list[int]:
    """Give each dot the lowest level on which it stands clear of the dots before it, from left to right.

    Parameters
    ----------
    pixels : sequence of float
        Where the dots stand across.
    apart : float
        Smallest distance of two dots on one level.

    Returns
    -------
    list of int
        Levels from 0, in the order given.
    """
    levels = [0] * len(pixels)
    last: list[float] = []
    for i in sorted(range(len(pixels)), key=lambda k: (pixels[k], k)):
        level = next((j for j, x in enumerate(last) if pixels[i] - x >= apart), len(last))
        if level == len(last):
            last.append(pixels[i])
        else:
            last[level] = pixels[i]
        levels[i] = level
    return levels
