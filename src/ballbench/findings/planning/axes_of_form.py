"""Which part of a ball's diameter variation so many axes catch, by the shape that the ball may have."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Literal

import numpy as np

from ballbench.form.two_point import PlaneShape, Shape, SphereShape, axes_caught, even_axes, square_axes
from ballbench.statistics.study import Floats

__all__ = ["FALL", "SHAPES", "SQUARE", "ShapeCaught", "shapes_caught", "spread_axes"]

Over = Literal["ball", "section"]

SHAPES: tuple[tuple[Over, tuple[int, ...]], ...] = (
    ("ball", (2,)), ("ball", (2, 4)), ("section", (2,)), ("section", (4,)), ("section", (6,)), ("section", (2, 4)),
    ("section", (2, 4, 6)),
)  # fmt: skip
"""Shapes by what they are made of: even lobes of a section, or even degrees of a ball with an axis (own choice)."""
SQUARE = 3
"""Axes that stand at right angles to each other, at most."""
FALL = 0.5
"""In a mixture each part has so much of the amplitude of the one before (own choice)."""
PARTS = 50
"""Sections drawn of a mixture: how their lobes stand to each other is left to chance."""
PLACINGS = 100_000
"""Simulated: a mean share is known to 0.2 per cent (of a mixture to 0.5), that of the twentieth ball to one."""


@dataclass(frozen=True, slots=True)
class ShapeCaught:
    """What so many axes catch of one shape's full diameter variation.

    Parameters
    ----------
    over : str
        ``ball``: an axis of symmetry that points anywhere, axes at right angles, or spread over the ball from four on;
        ``section``: an outline turned in its plane, axes evenly spaced in it.
    lobes : tuple of int
        What the shape is made of: even lobes of the section, or even degrees of the ball; each part has half the
        amplitude of the one before.
    axes : int
        So many, without any noise.
    mean : float
        Share caught on average, 0 to 1.
    twentieth : float
        Share under which one ball in twenty stays.
    """

    over: Over
    lobes: tuple[int, ...]
    axes: int
    mean: float
    twentieth: float


def shapes_caught(axes: tuple[int, ...], seed: int) -> tuple[ShapeCaught, ...]:
    """Give what each number of axes catches of each of `SHAPES`.

    Parameters
    ----------
    axes : tuple of int
        Numbers of axes, each at least 2.
    seed : int
        Of the simulation.

    Returns
    -------
    tuple of ShapeCaught
        Shape by shape, in each the numbers of axes in their order.
    """
    return tuple(_caught(over, lobes, k, seed) for over, lobes in SHAPES for k in axes)


@lru_cache(maxsize=512)
def _caught(over: Over, lobes: tuple[int, ...], axes: int, seed: int) -> ShapeCaught:
    rng = np.random.default_rng([seed, axes, *lobes, len(over)])
    shapes: list[Shape] = [*(_balls(lobes) if over == "ball" else _sections(lobes, rng))]
    lines = spread_axes(axes) if over == "ball" else even_axes(axes)
    shares = np.concatenate([axes_caught(shape, lines, rng, PLACINGS // len(shapes)).shares for shape in shapes])
    return ShapeCaught(over, lobes, axes, float(shares.mean()), float(np.quantile(shares, 0.05)))


def _balls(degrees: tuple[int, ...]) -> Iterator[Shape]:
    """Balls with an axis of symmetry, each degree after the first drawn out along the axis or pressed in."""
    for signs in product((1.0, -1.0), repeat=len(degrees) - 1):
        parts = zip(degrees, (1.0, *signs), strict=True)
        yield SphereShape(tuple((n, sign * FALL**place) for place, (n, sign) in enumerate(parts)))


def _sections(lobes: tuple[int, ...], rng: np.random.Generator) -> Iterator[Shape]:
    """Outlines whose lobes stand to each other anyhow; those of the second evenly, which leaves less to chance."""
    count = PARTS if len(lobes) > 1 else 1  # one number of lobes alone is turned as a whole
    for part in range(count):
        phases = [0.0, (part + rng.random()) / count, *rng.random(len(lobes))][: len(lobes)]
        parts = zip(lobes, phases, strict=True)
        yield PlaneShape(tuple((n, FALL**place, 2.0 * math.pi * turn) for place, (n, turn) in enumerate(parts)))


def spread_axes(k: int) -> Floats:
    """Give k axes over a whole ball: at right angles up to three, beyond that spread evenly over half the ball.

    Parameters
    ----------
    k : int
        At least 2.

    Returns
    -------
    (k, 3) float array
        Unit vectors.

    Notes
    -----
    From four on a spiral with equal steps in height and turns by the golden angle (textbook construction, from memory).
    """
    if k <= SQUARE:
        return square_axes(k)
    height = (np.arange(k) + 0.5) / k
    turn = np.arange(k) * math.pi * (3.0 - math.sqrt(5.0))
    flat = np.sqrt(1.0 - height**2)
    return np.column_stack([flat * np.cos(turn), flat * np.sin(turn), height])
