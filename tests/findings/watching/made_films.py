"""Filmed drops with known truth: scenes drawn at random, their places in the picture without drawing, their clips."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from examples.recorded.clips import Filmed, Scene, _project, film, motion_of, nearer
from numpy.typing import NDArray

from ballbench.findings.watching.reading import read_drop
from ballbench.findings.watching.results import FilmedClip
from ballbench.physics.sphere_drag import flight_drag
from ballbench.records import Bench
from ballbench.records.media.clip_file import read_clip
from ballbench.signals.track import Track, track_ball
from ballbench.signals.track_flights import Flights, flights_of
from ballbench.workflows.flight_settings import settings_of
from ballbench.workflows.flight_words import FlightWords

Array = NDArray[np.float64]
BALL = "40 mm, 2.7 g"


@dataclass(frozen=True)
class Places:
    """A ball's places in the pictures of a scene: s, px, px, and its breadth, px."""

    t: Array
    x: Array
    y: Array
    width: Array


def random_scene(rng: np.random.Generator) -> Scene:
    """Draw a scene: what the program takes for granted varies as much as the program says it may.

    Gravity, air, drag and how it changes with the speed, contact time, the ball's size and mass, the camera's angle,
    lens and shutter.
    """
    drop, rate = rng.uniform(0.25, 0.4), float(rng.choice([240, 240, 120, 120, 60, 30]))
    air = 1.18 + 0.03 * rng.standard_normal()
    diameter = 0.04 + 0.5e-3 / math.sqrt(3.0) * rng.standard_normal()
    weighed = 0.0027 + 0.05e-3 / math.sqrt(3.0) * rng.standard_normal()
    usual = float(flight_drag(2.2, 0.04, 1.55e-5))
    return Scene(
        drop=drop, restitution=rng.uniform(0.8, 0.93), diameter=diameter, air_density=air,
        mass=weighed * (1.0 - 1.2 / 8000.0) + air * math.pi * diameter**3 / 6.0,
        drag=usual * (1.0 + 0.1 * rng.standard_normal()), gravity=9.80665 + 0.015 * rng.standard_normal(),
        contact=max(1e-3 + 0.4e-3 * rng.standard_normal(), 1e-4), drift=rng.normal(0.0, 0.03),
        depth_drift=rng.normal(0.0, 0.02), distance=rng.uniform(0.8, 2.0), pixel=drop * 1.35 / 460.0,
        pitch=rng.normal(0.0, 3.0), roll=rng.normal(0.0, 2.0), eye=drop / 2.0 + rng.normal(0.0, 0.02), rate=rate,
        exposure=rng.uniform(0.1, 0.6), readout=rng.uniform(0.0, 0.8) / rate * rng.choice([0, 1, -1]),
        jitter=float(rng.choice([0.0, 0.0, 0.0005])), repeated=int(rng.choice([0, 0, 0, 7])),
        texture=rng.uniform(2.0, 12.0), noise=rng.uniform(1.0, 6.0), ball=rng.uniform(150.0, 235.0),
        held=rng.uniform(0.05, 0.3), flicker=float(rng.choice([0.0, 0.0, 0.05])), bend=rng.normal(0.0, 0.005),
        slow_drag=rng.uniform(0.0, 0.25),
    )  # fmt: skip


def places_in(scene: Scene, noise: float, rng: np.random.Generator) -> tuple[Places, Filmed]:
    """Give where the ball is seen, px, each place off by `noise` px (SD), and the truth."""
    height, truth, end = motion_of(scene)
    count = int((end + scene.tail) * scene.rate)
    t = np.sort(np.arange(count) / scene.rate + scene.jitter * rng.standard_normal(count))
    first = scene.held + math.sqrt(2.0 * scene.drop / scene.gravity)
    x = y = np.full(count, scene.height / 2.0)
    size = y
    for _ in range(6):  # a row is read when its place is reached, so that the place depends on itself
        moment = t + 0.5 * scene.exposure / scene.rate + scene.readout * y / scene.height
        along = scene.drift * np.maximum(moment - first, 0.0)
        x, y, size = _project(scene, along, height(moment) + scene.diameter / 2.0, nearer(scene, moment))
    x, y = (place + noise * rng.standard_normal(count) for place in (x, y))
    return Places(t, x, y, size * scene.diameter), truth


def track_of(scene: Scene, places: Places) -> Track | str:
    """Give the track that a perfect tracker would hand on, or why there is no drop in it."""
    flights = flights_of(places.t, places.y, float(np.median(places.width)))
    if not isinstance(flights, Flights):
        return flights
    pace, nothing = 1.0 / scene.rate, np.full(places.t.size, math.nan)
    picture = np.zeros((scene.height, scene.width), np.uint8)
    return Track(
        places.t, places.x, places.y, places.width, nothing, flights, "", places.t.size, pace, pace, pace, 0, 0, 1.0,
        100.0, picture,
    )  # fmt: skip


def read(track: Track, name: str, height: str = "", shrunk: float = 1.0, ruler: float = math.nan) -> FilmedClip:
    """Read a drop of the usual ball from a track."""
    prepared = settings_of(FlightWords(BALL, height), Bench())
    begun = FilmedClip(name, name, "Curlew", "1")
    return read_drop(begun, track, prepared.settings, prepared.viscosity, shrunk, ruler, 1).clip


def watched(
    path: Path, scene: Scene, rng: np.random.Generator, height: str = "", **coding: object
) -> tuple[FilmedClip, Filmed]:
    """Film a scene, and read it."""
    truth = film(path, scene, rng, **coding)
    clip = read_clip(path)
    return read(track_ball(clip), path.name, height, clip.shrunk), truth
