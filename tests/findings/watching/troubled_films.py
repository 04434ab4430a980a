"""Films of drops with more in them than a ball: a hand that lets go or catches, a ball that rolls away."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from examples.recorded.clips import Filmed, Scene, _ground, _paint, _project, motion_of
from numpy.typing import NDArray

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]
Moves = Callable[[float, float, float], tuple[float, float]]
"""From a moment, s, and where the ball would be, px, to where it is."""
Hand = Callable[[float], tuple[float, float]]
"""From a moment, s, to the middle of a hand, px."""
_WIDE, _HIGH = 45.0, 30.0
"""Half axes of a hand, px."""


@dataclass(frozen=True)
class Shown:
    """Pictures as a clip hands them out, kept in memory: as `ballbench.signals.track.Filmed` has it."""

    pictures: tuple[tuple[float, Grey], ...]
    width: int
    height: int

    def frames(self, start: float = -math.inf, stop: float = math.inf) -> Iterator[tuple[float, Grey]]:
        """Give the pictures between two times."""
        return ((time, picture) for time, picture in self.pictures if start <= time <= stop)


def shown(
    scene: Scene,
    rng: np.random.Generator,
    moves: Moves | None = None,
    hands: tuple[Hand, ...] = (),
    level: float = 165.0,
    lasting: float = 0.0,
) -> tuple[Shown, Filmed]:
    """Draw a drop, not coded, with hands over it; `lasting` s longer. The ball goes where `moves` says."""
    height, truth, end = motion_of(scene)
    ground, pictures = _ground(scene, rng), []
    rows, columns = np.arange(scene.height) + 0.5, np.arange(scene.width) + 0.5
    first = scene.held + math.sqrt(2.0 * scene.drop / scene.gravity)
    for time in np.arange(0.0, end + scene.tail + lasting, 1.0 / scene.rate):
        seen, places = ground.copy(), []
        for part in (np.arange(4) + 0.5) / 4 * scene.exposure / scene.rate:
            moment = np.array([time + part])
            along = scene.drift * np.maximum(moment - first, 0.0)
            x, y, size = _project(scene, along, height(moment) + scene.diameter / 2.0, np.zeros(1))
            place = (float(x[0]), float(y[0])) if moves is None else moves(float(time + part), float(x[0]), float(y[0]))
            each = np.ones(scene.height)
            places.append((place[0] * each, place[1] * each, float(size[0]) * scene.diameter / 2.0 * each))
        _paint(seen, places, scene)
        for hand in hands:
            across, down = hand(float(time))
            away = np.hypot((columns[None, :] - across) / _WIDE, (rows[:, None] - down) / _HIGH)
            cover = np.clip((1.0 - away) * _HIGH + 0.5, 0.0, 1.0)
            seen = seen * (1.0 - cover) + level * cover
        seen += scene.noise * rng.standard_normal(seen.shape)
        pictures.append((float(time), np.clip(np.rint(seen), 0, 255).astype(np.uint8)))
    return Shown(tuple(pictures), scene.width, scene.height), truth


def place_at(scene: Scene, time: float) -> tuple[float, float]:
    """Give where the ball is at a moment, px, if nothing is done to it."""
    height, _, _ = motion_of(scene)
    first = scene.held + math.sqrt(2.0 * scene.drop / scene.gravity)
    along = np.array([scene.drift * max(time - first, 0.0)])
    x, y, _ = _project(scene, along, height(np.array([time])) + scene.diameter / 2.0, np.zeros(1))
    return float(x[0]), float(y[0])


def caught(scene: Scene, time: float, away: float = 300.0) -> tuple[Moves, Hand]:
    """Give a hand that comes from the right, catches the ball at a moment and takes it away at `away` px/s."""
    at = place_at(scene, time)

    def hand(moment: float) -> tuple[float, float]:
        return at[0] + away * abs(moment - time), at[1] + 10.0

    def moves(moment: float, x: float, y: float) -> tuple[float, float]:
        return (x, y) if moment < time else (hand(moment)[0], at[1])

    return moves, hand
