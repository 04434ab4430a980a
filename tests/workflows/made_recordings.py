"""Recordings of drops with known truth as files, and what `listen` was told of them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from examples.recorded.sounds import (
    CONTACTS,
    Bounces,
    bounces_of,
    coded,
    hiss,
    hum,
    in_a_room,
    sound_of,
    speech_like,
    write_wav,
)
from scipy.integrate import solve_ivp

from ballbench.physics.air import air_density, air_viscosity, weighed_in_air
from ballbench.physics.sphere_drag import sphere_drag
from ballbench.physics.vertical_flight import Faller, height_of, impact_speed_after

__all__ = ["KINDS", "LIGHT", "Evening", "Kind", "dropped", "evening", "rebound_of"]

LIGHT = Faller(float(weighed_in_air(2.70e-3, 0.040, 1.179)), 0.040, 0.40, 1.179, 9.80665)
"""A table tennis ball in a usual room: what `listen` takes for granted of it is about right."""
STEEL = "light shell on steel"


@dataclass(frozen=True, slots=True)
class Evening:
    """A recording, its drops as they were, and the ball that fell."""

    file: Path
    drops: tuple[Bounces, ...]
    ball: Faller
    starts: tuple[float, ...]


def dropped(
    file: Path,
    planted: list[list[float]],
    *,
    ball: Faller = LIGHT,
    height: float = 0.305,
    contact: float = 1e-3,
    seed: int = 1,
    kind: str = STEEL,
    loud: float = 0.8,
    noise: float = 1e-3,
    rate: int = 48_000,
) -> Evening:
    """Write a WAV with a drop for each list of restitutions, one an impact, in a quiet room."""
    rng = np.random.default_rng(seed)
    parts, drops, starts, at = [], [], [], 0.0
    for kept in planted:
        drop = bounces_of(height, [*kept, 0.9], ball, contact)
        sound, onsets = sound_of(drop, CONTACTS[kind], rng, rate=rate, start=0.7)
        parts.append(sound)
        drops.append(drop)
        starts.append(at + float(onsets[0]))
        at += sound.size / rate
    room = in_a_room(np.concatenate(parts), rng, rate=rate, wet=0.05)
    room = room / np.max(np.abs(room)) * loud
    room += loud * noise * (hiss(room.size, rng, colour=1.0) + 2.0 * hum(room.size, rng, rate=rate))
    write_wav(file, room, rate)
    return Evening(file, tuple(drops), ball, tuple(starts))


def rebound_of(ball: Faller, height: float, restitution: float) -> float:
    """Give the height, mm, to which a ball rises that keeps so much of the speed of its fall."""
    return 1e3 * float(height_of(restitution * impact_speed_after(height, ball), ball))


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of ball: what `listen` is told, and between what its truth lies."""

    words: str
    diameter: tuple[float, float]
    mass: tuple[float, float]
    restitution: tuple[float, float]
    height: tuple[float, float]
    contact: tuple[float, float]
    sound: str


KINDS = (
    Kind("40.0 ± 0.1 mm, 2.70 ± 0.01 g", (40.0, 0.1), (2.70, 0.01), (0.80, 0.94), (0.25, 0.6), (1e-3, 4e-4), STEEL),
    Kind("42.7 ± 0.1 mm, 45.9 ± 0.1 g", (42.7, 0.1), (45.9, 0.1), (0.72, 0.9), (0.3, 1.5), (1e-3, 4e-4),
         "hard ball on stone"),
    Kind("66 ± 1 mm, 57.5 ± 0.5 g", (66.0, 1.0), (57.5, 0.5), (0.68, 0.82), (0.6, 2.0), (5e-3, 2e-3),
         "felt ball on concrete"),
)  # fmt: skip
"""Usual sizes (from memory); contact times as `listen` takes them for granted."""


def _until(ball: Faller, nu: float, start: tuple[float, float], over: int) -> tuple[float, float, float]:
    """Integrate the motion until height (`over` 0) or speed (`over` 1) falls to 0: time, height and speed down then.

    The drag is that of a smooth sphere at every moment, times `ball.drag`.
    """
    air = ball.air_density * np.pi * ball.diameter**3 / 6.0
    pull, moved = ball.air_density * np.pi * ball.diameter**2 / 8.0, ball.mass + air / 2.0

    def motion(_: float, y: list[float]) -> list[float]:
        drag = float(sphere_drag(max(abs(y[1]) * ball.diameter / nu, 0.1))) * ball.drag
        return [y[1], (-(ball.mass - air) * ball.gravity - pull * drag * abs(y[1]) * y[1]) / moved]

    def ended(_: float, y: list[float]) -> float:
        return y[over]

    ended.terminal, ended.direction = True, -1  # type: ignore[attr-defined]
    done = solve_ivp(motion, (0.0, 10.0), start, events=ended, rtol=1e-8, atol=1e-10)
    return float(done.t_events[0][0]), float(done.y_events[0][0][0]), -float(done.y_events[0][0][1])


def drop_speed(height: float, ball: Faller, nu: float) -> float:
    """Give the speed after a fall, by integration."""
    return _until(ball, nu, (height, 0.0), 0)[2]


def risen(launch: float, ball: Faller, nu: float) -> float:
    """Give the height to which a ball rises, by integration."""
    return _until(ball, nu, (0.0, launch), 1)[1]


def bounced(height: float, kept: np.ndarray, ball: Faller, nu: float, contact: float, power: float) -> Bounces:
    """Let a ball bounce, its flights by integration; contacts get longer by a power of the speed."""
    speeds, times, contacts = [drop_speed(height, ball, nu)], [0.0], []
    for share in kept:
        contacts.append(contact * (speeds[-1] / speeds[0]) ** -power)
        lasted, _, came = _until(ball, nu, (0.0, share * speeds[-1]), 0)
        times.append(times[-1] + contacts[-1] + lasted)
        speeds.append(came)
    n = kept.size
    return Bounces(np.array(times[:n]), np.array(speeds[:n]), kept, np.array(contacts), ball, height)


def evening(folder: Path, rng: np.random.Generator) -> tuple[Evening, Kind, float, float]:
    """Draw ball, air, place and fall as `listen` takes them, and record a drop in a room.

    Gives what was recorded, its kind, the true rebound from the height that was said, mm, and that height, m.
    What `listen` is told: the ball, the height ± 2 mm, nothing of air, place, drag and contact. Rooms, noise, hum, talk
    beside it, loudness, rate and coder differ.
    """
    kind = KINDS[int(rng.integers(len(KINDS)))]
    said = float(rng.uniform(*kind.height))
    diameter, mass = (value + half * rng.uniform(-1.0, 1.0) for value, half in (kind.diameter, kind.mass))
    warm = 21.0 + 3.0 * rng.standard_normal()
    air = float(air_density(warm, 1e5 + 3e3 * rng.standard_normal(), 0.5))
    gravity = 9.80665 + 0.015 * rng.standard_normal()
    height = said + 2e-3 * rng.uniform(-1.0, 1.0)
    ball = Faller(
        float(weighed_in_air(1e-3 * mass, 1e-3 * diameter, air)), 1e-3 * diameter, 1.0 + 0.1 * rng.standard_normal(),
        air, gravity,
    )  # fmt: skip
    kept = np.clip(rng.uniform(*kind.restitution) + 0.003 * rng.standard_normal(8), 0.5, 0.97)
    contact = max(kind.contact[0] + kind.contact[1] * rng.standard_normal(), 2e-4)
    nu = float(air_viscosity(warm)) / air
    drop = bounced(height, kept, ball, nu, contact, 0.1 + 0.06 * rng.standard_normal())
    is_coded = rng.random() < 0.3
    rate = 48_000 if is_coded else int(rng.choice([44_100, 48_000]))
    dry, onsets = sound_of(drop, CONTACTS[kind.sound], rng, rate=rate, start=rng.uniform(0.5, 1.0))
    room = in_a_room(dry, rng, rate=rate, decay=rng.uniform(0.15, 0.6), wet=rng.uniform(0.03, 0.2))
    room /= np.max(np.abs(room))
    room += 10.0 ** rng.uniform(-4.0, -2.3) * hiss(room.size, rng, colour=rng.uniform(0.0, 1.5))
    room += 10.0 ** rng.uniform(-4.0, -1.8) * hum(room.size, rng, rate=rate)
    if rng.random() < 0.25:
        room += 10.0 ** rng.uniform(-2.2, -1.3) * speech_like(room.size, rng, rate=rate)
    room *= rng.uniform(0.2, 0.95) / np.max(np.abs(room))
    if is_coded:
        file = folder / "Curlew_07.m4a"
        file.write_bytes(coded(room, "aac", rate=rate, bit_rate=96_000))
    else:
        file = folder / "Curlew_07.wav"
        write_wav(file, room, rate)
    top = risen(kept[0] * drop_speed(said, ball, nu), ball, nu)
    return Evening(file, (drop,), ball, (float(onsets[0]),)), kind, 1e3 * top, said
