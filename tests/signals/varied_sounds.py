"""Recordings of bouncing balls as people make them, each with its truth, for the tests of hearing."""

from __future__ import annotations

import io
from dataclasses import dataclass

import av
import numpy as np
from examples.recorded.sounds import (
    CONTACTS,
    Bounces,
    bounces_of,
    clapping,
    coded,
    hiss,
    hum,
    in_a_room,
    sound_of,
    speech_like,
)
from numpy.typing import NDArray

from ballbench.physics.vertical_flight import Faller, impact_speed_of, launch_speed_of
from ballbench.signals.heard import DropHeard

BALLS = {
    "light shell on steel": (0.0027, 0.040, (0.86, 0.93), (0.2, 0.5)),
    "hard ball on stone": (0.046, 0.043, (0.75, 0.88), (0.2, 1.0)),
    "steel on steel": (0.032, 0.020, (0.85, 0.94), (0.1, 0.3)),
    "felt ball on concrete": (0.058, 0.066, (0.70, 0.80), (0.5, 2.0)),
    "rubber ball on wood": (0.024, 0.040, (0.65, 0.85), (0.3, 1.0)),
}
"""Mass kg, diameter m, restitution and height of the drop m from and to; usual sizes, from memory."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """A recording with its truth."""

    samples: NDArray[np.float32]
    rate: int
    codec: str
    kind: str
    drops: tuple[tuple[Bounces, NDArray[np.float64]], ...]


BIT_RATES = (48_000, 64_000, 96_000, 128_000)


def varied(rng: np.random.Generator, *, coder: str | None = None, ball: str | None = None) -> Recorded:
    """Draw a recording: ball, height, room, microphone noise, hum, talk or claps beside it, rate, coder, loudness.

    With `coder` or `ball` that one is taken whatever was drawn.
    """
    drawn = str(rng.choice(list(BALLS)))
    kind = ball or drawn
    rate = int(rng.choice([48_000, 44_100, 96_000, 32_000], p=[0.45, 0.35, 0.1, 0.1]))
    codec = str(rng.choice(["pcm", "aac", "libmp3lame", "libopus"], p=[0.55, 0.2, 0.15, 0.1]))
    codec = coder or codec
    if codec != "pcm":
        rate = 48_000
    pieces, truths, at = [], [], 0.0
    for _ in range(int(rng.choice([1, 2], p=[0.75, 0.25]))):
        drop = _one(kind, rng)
        wait = rng.uniform(0.6, 1.2)
        dry, onsets = sound_of(drop, CONTACTS[kind], rng, rate=rate, start=wait)
        pieces.append(dry)
        truths.append((drop, onsets + at))
        at += dry.size / rate
    dry = np.concatenate(pieces)
    sound = in_a_room(dry, rng, rate=rate, decay=rng.uniform(0.15, 0.7), wet=rng.uniform(0.03, 0.25))
    sound = sound / np.max(np.abs(sound)) * rng.uniform(0.2, 0.9)
    loud = float(np.max(np.abs(sound)))
    n = sound.size
    sound = sound + loud * 10.0 ** rng.uniform(-4.0, -2.0) * hiss(n, rng, colour=rng.uniform(0.0, 1.5))
    sound = sound + loud * 10.0 ** rng.uniform(-4.0, -1.5) * hum(n, rng, rate=rate, mains=rng.choice([50.0, 60.0]))
    beside = rng.random()
    if beside < 0.3:
        sound = sound + loud * 10.0 ** rng.uniform(-2.2, -1.2) * speech_like(n, rng, rate=rate)
    elif beside < 0.4:
        sound = sound + loud * rng.uniform(0.05, 0.5) * clapping(n, rng, rate=rate, a_second=0.7)
    if rng.random() < 0.1:
        sound = np.clip(sound, -0.6 * loud, 0.6 * loud)
    samples = np.clip(sound, -1.0, 1.0).astype(np.float32)
    if codec != "pcm":
        samples = decoded(coded(samples, codec, rate=rate, bit_rate=int(rng.choice(BIT_RATES))))
    else:
        samples = (np.round(samples * 32767.0) / 32767.0).astype(np.float32)
    return Recorded(samples, rate, codec, kind, tuple(truths))


def _one(kind: str, rng: np.random.Generator) -> Bounces:
    mass, diameter, between, heights = BALLS[kind]
    count = int(rng.integers(6, 13))
    steady, bend = rng.uniform(*between), rng.uniform(-0.002, 0.003)
    planted = np.clip(steady + bend * np.arange(count) + 0.005 * rng.standard_normal(count), 0.4, 0.97)
    faller = Faller(mass, diameter, 0.45, 1.2, 9.81)
    return bounces_of(rng.uniform(*heights), planted, faller, CONTACTS[kind].time)


def decoded(file: bytes) -> NDArray[np.float32]:
    """Decode the first channel of a file of sound."""
    with av.open(io.BytesIO(file)) as container:
        parts = [frame.to_ndarray() for frame in container.decode(audio=0)]
    return np.concatenate(parts, axis=1)[0].astype(np.float32)


def restitutions(times: NDArray[np.float64], contact: NDArray[np.float64], faller: Faller) -> NDArray[np.float64]:
    """Restitution of every impact but the first and the last, from the flights before and after it."""
    launch = launch_speed_of(np.diff(times) - contact[: times.size - 1], faller)
    return launch[1:] / impact_speed_of(launch[:-1], faller)


def compared(drop: DropHeard, truth: Bounces, onsets: NDArray[np.float64]) -> list[tuple[float, float, float]]:
    """Error and standard uncertainty of each restitution heard, and the interval before it (s).

    Impacts are matched by their place among the true onsets; NaN as an uncertainty where one is no true impact.
    """
    times = np.array([impact.time for impact in drop.impacts])
    us = np.array([impact.u for impact in drop.impacts])
    first = int(np.argmin(np.abs(onsets - times[0])))
    out = []
    for k in range(times.size - 2):
        at = first + k
        e = (
            restitutions(times[k : k + 3], truth.contact[at : at + 2], truth.faller)
            if at + 2 < onsets.size
            else [np.nan]
        )
        if at + 2 >= onsets.size or np.max(np.abs(times[k : k + 3] - onsets[at : at + 3])) > 0.02:
            out.append((np.nan, np.nan, float(times[k + 1] - times[k])))
            continue
        slope = [0.0, 0.0, 0.0]
        for j in range(3):
            moved = times[k : k + 3].copy()
            moved[j] += 1e-6
            slope[j] = (restitutions(moved, truth.contact[at : at + 2], truth.faller)[0] - e[0]) / 1e-6
        u = float(np.sqrt(np.sum((np.array(slope) * us[k : k + 3]) ** 2)))
        out.append((float(e[0] - truth.restitution[at + 1]), u, float(times[k + 1] - times[k])))
    return out
