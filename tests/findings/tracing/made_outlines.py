"""Outlines as a traced photograph would give them, with known lobes and known noise."""

from __future__ import annotations

import math

import numpy as np

from ballbench.images.outline import Outline

__all__ = ["RADIUS", "THETA", "made_outline", "waves"]

THETA = np.arange(1440) * 2 * math.pi / 1440
RADIUS = 400.0


def waves(lobes: dict[int, tuple[float, float]], turn: float = 0.0) -> np.ndarray:
    """Sum of lobes, n: (amplitude, phase), turned by degrees counter-clockwise."""
    theta = THETA - math.radians(turn)
    return np.asarray(sum((a * np.cos(n * theta + p) for n, (a, p) in lobes.items()), np.zeros_like(theta)))


def made_outline(
    lobes: dict[int, tuple[float, float]],
    rng: np.random.Generator,
    *,
    sd: float = 0.02,
    turn: float = 0.0,
    stays: dict[int, tuple[float, float]] | None = None,
    gap: tuple[float, float] | None = None,
    **more: float,
) -> Outline:
    """Give an outline in pixels; `stays` are lobes of the camera, `gap` degrees that were not seen."""
    radius = RADIUS + waves(lobes, turn) + waves(stays or {}) + rng.normal(0.0, sd, len(THETA))
    kept = np.ones(len(THETA), dtype=bool)
    if gap is not None:
        kept = ~((np.degrees(THETA) > gap[0]) & (np.degrees(THETA) < gap[1]))
    return Outline(
        THETA, radius, np.full(len(THETA), sd), kept, (500.0, 500.0), edge_width=2.0, coverage=float(kept.mean()),
        stretches=int(more.get("stretches", len(THETA))),
        oval=more.get("oval", 0.0), scale_factor=more.get("scale_factor", math.nan),
    )  # fmt: skip
