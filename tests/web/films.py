"""Films of a drop with known truth, small enough to be read in a moment; nothing was ever filmed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from examples.recorded import clips

__all__ = ["PIXEL_MM", "filmed"]

PIXEL_MM = 1.15
"""A pixel in the plane of the fall, mm."""


def filmed(file: Path, seed: int = 2, *, rate: float = 240.0) -> clips.Filmed:
    """Write a film of a ball of 40 mm that falls 305 mm, three impacts of it, and give its truth."""
    scene = clips.Scene(width=120, height=360, pixel=PIXEL_MM / 1e3, rate=rate)
    return clips.film(file, scene, np.random.default_rng(seed))
