"""What gets faster as a ball's impacts do and is none: knocks by hand, things that settle, rattle, or are dribbled."""

from __future__ import annotations

import numpy as np
from examples.recorded.sounds import CONTACTS, Contact, hiss, in_a_room, struck
from numpy.typing import NDArray
from scipy import signal

__all__ = ["SERIES", "knocked"]

RATE = 48_000
Array = NDArray[np.float64]

_THINGS = {
    "spoon": Contact(0.6e-3, ((1900.0, 20e-3, 0.6), (4300.0, 14e-3, 0.6), (8000.0, 6e-3, 0.4))),
    "wood": CONTACTS["rubber ball on wood"],
    "knuckle": Contact(2e-3, ((260.0, 18e-3, 0.8), (700.0, 9e-3, 0.6), (1900.0, 4e-3, 0.3)), rough=0.3),
    "coin": Contact(0.15e-3, ((5200.0, 25e-3, 0.5), (9100.0, 15e-3, 0.5), (12800.0, 8e-3, 0.4))),
    "floor": Contact(4e-3, ((95.0, 60e-3, 1.0), (210.0, 35e-3, 0.7), (480.0, 15e-3, 0.3)), rough=0.15),
}
"""All invented."""
SERIES = ("by hand", "by a drummer", "at even steps", "settling", "spun coin", "rattle", "latch", "dribbled")


def knocked(series: str, rng: np.random.Generator) -> NDArray[np.float32]:
    """Draw one series of knocks and record it in a room."""
    gaps, strengths, thing, muffled = _series(series, rng)
    times = rng.uniform(0.7, 1.0) + np.concatenate([[0.0], np.cumsum(gaps)])
    sound = struck(times, strengths, _THINGS[thing], rng)
    if muffled:
        sound = signal.sosfilt(signal.butter(2, muffled, fs=RATE, output="sos"), sound)
    sound = in_a_room(sound, rng, decay=rng.uniform(0.15, 0.6), wet=rng.uniform(0.03, 0.2))
    sound /= np.max(np.abs(sound))
    sound += 10.0 ** rng.uniform(-3.8, -2.3) * hiss(sound.size, rng, colour=rng.uniform(0.0, 1.5))
    return (0.6 * sound / np.max(np.abs(sound))).astype(np.float32)


def _series(series: str, rng: np.random.Generator) -> tuple[Array, Array, str, float]:
    """Gaps, s, strengths, what is struck, and the frequency above which it is muffled (0: not)."""
    if series in ("by hand", "by a drummer", "at even steps"):
        return _by_a_person(series, rng)
    if series == "settling":
        gaps = rng.uniform(0.03, 0.22) * np.cumprod(
            np.clip(rng.uniform(0.78, 0.96) + 0.012 * rng.standard_normal(rng.integers(8, 20)), 0.5, 0.98)
        )
        strengths = 5.0 * np.concatenate([gaps[:1], gaps]) * np.exp(0.1 * rng.standard_normal(gaps.size + 1))
        return gaps, strengths, str(rng.choice(["coin", "spoon", "wood"])), 0.0
    if series == "spun coin":
        left, begin, power = rng.uniform(0.8, 2.0), rng.uniform(0.05, 0.12), rng.uniform(1 / 6, 1 / 3)
        gaps, still = [], left
        while still > 0.01 and len(gaps) < 24:
            gaps.append(max(begin * (still / left) ** power, 0.012))
            still -= gaps[-1]
        uneven = np.array(gaps) * (1.0 + 0.02 * rng.standard_normal(len(gaps)))
        return uneven, np.linspace(1.0, 0.5, len(gaps) + 1), "coin", 0.0
    if series == "rattle":
        count = int(rng.integers(8, 20))
        gaps = rng.uniform(0.05, 0.13) * rng.uniform(0.95, 1.0) ** np.arange(count)
        strengths = np.sin(np.linspace(0.8, 2.6, count + 1)) * np.exp(0.1 * rng.standard_normal(count + 1))
        return gaps * (1.0 + 0.015 * rng.standard_normal(count)), strengths, "wood", float(rng.choice([0.0, 2500.0]))
    if series == "latch":
        gaps = rng.uniform(0.04, 0.25) * np.cumprod(rng.uniform(0.5, 0.95, rng.integers(3, 7)))
        return gaps, np.exp(0.5 * rng.standard_normal(gaps.size + 1)), str(rng.choice(["spoon", "wood", "coin"])), 0.0
    even, ever = int(rng.integers(2, 8)), int(rng.integers(3, 10))
    steady = np.concatenate([np.ones(even), rng.uniform(0.82, 0.96) ** np.arange(1, ever + 1)])
    strengths = np.concatenate([[1.0], steady]) * np.exp(0.15 * rng.standard_normal(even + ever + 1))
    gaps = rng.uniform(0.45, 0.85) * steady
    gaps = gaps * (1.0 + rng.uniform(0.015, 0.04) * rng.standard_normal(gaps.size))
    return gaps, strengths, "floor", float(rng.choice([0.0, 500.0, 1200.0]))


def _by_a_person(series: str, rng: np.random.Generator) -> tuple[Array, Array, str, float]:
    """Knocks off their beat by 2 to 5 % (a drummer 0.8 to 2 %), no quicker than 80 ms, as loud or ever softer."""
    first, count = rng.uniform(0.25, 0.7), int(rng.integers(6, 13))
    if series == "at even steps":
        gaps, off = np.linspace(first, rng.uniform(0.1, 0.6) * first, count), rng.uniform(0.01, 0.03)
    else:
        gaps = first * rng.uniform(0.80, 0.97) ** np.arange(count)
        off = rng.uniform(0.02, 0.05) if series == "by hand" else rng.uniform(0.008, 0.02)
    gaps = np.maximum(gaps * (1.0 + off * rng.standard_normal(count)), 0.08)
    strengths = np.exp(0.15 * rng.standard_normal(count + 1))
    if rng.random() < 0.5:
        strengths = strengths * np.concatenate([[1.0], gaps / gaps[0]])
    return gaps, strengths, str(rng.choice(["spoon", "wood", "knuckle", "coin"])), 0.0
