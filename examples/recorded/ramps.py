"""Invented balls on an invented ramp, with known truth: mass off centre, a ramp that leans, runs that scatter.

Nothing here was ever measured. A ball goes down by times and accelerations: along the slope g sin a/(1 + b), across it
g (cos a d/R + sin e)/(1 + b), on the flat without the first; b is I/(m R^2), d the offset along the axis across the
slope, e the lean. Floats come to rest with the heaviest sector down, or anyhow. This module shares no code with what
reads it.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product as every
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["AXES", "Board", "RolledBall", "made_balls", "ramp_table", "spot_table", "veer_of", "write_table"]

AXES = ("A", "B", "C")
WAYS = ("as placed", "turned")
_GRAVITY = 9.80665
_HEAD = "Invented data, for demonstration"


@dataclass(frozen=True, slots=True)
class Board:
    """A ramp and the flat after it: lengths in mm, angle in degrees, lean to the right in mrad, noise in mm."""

    slope: float = 1000.0
    run_out: float = 0.0
    angle: float = 5.0
    lean: float = 0.0
    noise: float = 0.0


@dataclass(frozen=True, slots=True)
class RolledBall:
    """An invented ball: the offset of its mass centre along the marked axes, mm; diameter, mm; b = I/(m R^2)."""

    product: str
    ball: str
    offset: tuple[float, float, float]
    diameter: float = 40.2
    inertia: float = 2.0 / 3.0

    @property
    def length(self) -> float:
        """Give the distance of the mass centre from the middle, mm."""
        return math.hypot(*self.offset)


def made_balls(product: str, count: int, spread: float, rng: np.random.Generator) -> list[RolledBall]:
    """Make balls whose offsets scatter in every direction with the SD `spread` along each axis, mm."""
    offsets = spread * rng.standard_normal((count, 3))
    return [RolledBall(product, f"{i + 1:02d}", (float(a), float(b), float(c))) for i, (a, b, c) in enumerate(offsets)]


def veer_of(ball: RolledBall, axis: str, way: str, board: Board) -> float:
    """Give the veer of one run without scatter, mm to the right, from accelerations and times."""
    offset = ball.offset[AXES.index(axis)] * (1.0 if way == WAYS[0] else -1.0)
    angle, lean, radius = math.radians(board.angle), board.lean / 1000.0, 0.5 * ball.diameter
    each = 1000.0 * _GRAVITY / (1.0 + ball.inertia)  # mm/s2
    along = each * math.sin(angle)
    time = math.sqrt(2.0 * board.slope / along)
    across = each * (math.cos(angle) * offset / radius + math.sin(lean))
    aside, drift, speed = 0.5 * across * time**2, across * time, along * time
    if not board.run_out:
        return aside
    more = board.run_out / speed
    return aside + drift * more + 0.5 * each * (offset / radius + math.sin(lean)) * more**2


def ramp_table(
    balls: Iterable[RolledBall], board: Board, rng: np.random.Generator, *, repeats: int = 2, decimals: int = 0,
    axes: Sequence[str] = AXES, ways: Sequence[str] = WAYS, sitting: str = "",
) -> list[dict[str, str]]:  # fmt: skip
    """Roll balls and write down what a person reads at the read line.

    Parameters
    ----------
    balls : iterable of RolledBall
        In order.
    board : Board
        With its scatter.
    rng : numpy.random.Generator
        Seeded by the caller.
    repeats : int
        Runs of each axis and way.
    decimals : int
        Of a veer as written, mm.
    axes, ways : sequence of str
        Those rolled.
    sitting : str
        Its name.

    Returns
    -------
    list of dict
        Rows by column name; the set-up stands in every row.
    """
    rows = []
    for ball, axis, way, repeat in every(balls, axes, ways, range(1, repeats + 1)):
        veer = veer_of(ball, axis, way, board) + board.noise * rng.standard_normal()
        rows.append({
            "product": ball.product, "ball": ball.ball, "orientation": axis, "direction": way, "repeat": str(repeat),
            "veer": f"{veer:.{decimals}f}", "sitting": sitting, "slope": f"{board.slope:g}",
            "run_out": f"{board.run_out:g}", "angle": f"{board.angle:g}", "angle_u": "0.1",
            "ball_diameter": f"{ball.diameter:g}",
        })  # fmt: skip
    return rows


def spot_table(
    product: str, ball: str, trials: int, sectors: int, pull: float, rng: np.random.Generator, *, slow: float = 20.0
) -> list[dict[str, str]]:
    """Float a ball again and again.

    Parameters
    ----------
    product, ball : str
        Whose.
    trials, sectors : int
        How often; how many equal sectors it is marked with, named by numbers.
    pull : float
        Share of the trials in which the heavy spot has its way: sector 1 is then up; else any sector.
    rng : numpy.random.Generator
        Seeded by the caller.
    slow : float
        Median time to rest without any pull, s; shorter with it.
    """
    pulled: NDArray[np.bool_] = rng.uniform(size=trials) < pull
    spots = np.where(pulled, 1, rng.integers(1, sectors + 1, trials))
    seconds = slow * (1.0 - 0.8 * pull) * np.exp(0.25 * rng.standard_normal(trials))
    return [
        {"product": product, "ball": ball, "test": "float", "trial": str(i + 1), "spot": str(int(spot)),
         "of": str(sectors), "seconds": f"{time:.0f}"}
        for i, (spot, time) in enumerate(zip(spots, seconds, strict=True))
    ]  # fmt: skip


def write_table(path: Path | None, rows: Sequence[dict[str, str]]) -> str:
    """Write rows as CSV that calls itself invented, to a file if there is one, and give the text."""
    out = io.StringIO()
    out.write(f'"{_HEAD}"\n')
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    if path is not None:
        path.write_text(out.getvalue(), encoding="utf-8")
    return out.getvalue()
