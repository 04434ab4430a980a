"""A minute of sound, from the file to the impacts, beside the least that it could take."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from examples.recorded.sounds import CONTACTS, bounces_of, hiss, in_a_room, sound_of, speech_like, write_wav

from ballbench.physics.vertical_flight import Faller
from ballbench.records.media.sound_file import read_sound
from ballbench.signals.hearing import hear
from benchmarks.measuring import Line, Spent, spent

__all__ = ["sound_speed"]

RATE, SECONDS, DROPS = 48_000, 60, 6
ROUNDS = 5


def sound_speed() -> Iterator[Line]:
    """Decode and hear a minute of 48 kHz sound with six drops; at most three times decoding and one transform of it."""
    samples = _minute()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "minute.wav"
        write_wav(path, samples, RATE)
        read_sound(path)  # loads the decoder
        hear(samples[: 5 * RATE], RATE)
        bound = min((_least(path) for _ in range(ROUNDS)), key=lambda cost: cost.cpu)
        cost = min((_heard(path) for _ in range(ROUNDS)), key=lambda cost: cost.cpu)
    yield Line(
        f"a minute at {RATE:,} samples a second, {DROPS} drops", cost, bound, "decoding and one FFT of the minute"
    )


def _least(path: Path) -> Spent:
    """Decode, and transform once."""
    with spent() as cost:
        sound = read_sound(path)
        np.fft.rfft(sound.samples[0].astype(np.float64))
    return Spent(cost.wall, cost.cpu)


def _heard(path: Path) -> Spent:
    """Decode, and hear."""
    with spent() as cost:
        sound = read_sound(path)
        heard = hear(sound.samples, sound.rate)
    assert len(heard.drops) == DROPS, "every drop is heard"
    return Spent(cost.wall, cost.cpu)


def _minute() -> np.ndarray:
    """Six drops of a light ball in a room, with hiss and distant talk."""
    rng = np.random.default_rng(20261128)
    ball = Faller(0.0027, 0.040, 0.45, 1.2, 9.81)
    out = np.zeros(SECONDS * RATE)
    for number in range(DROPS):
        planted = 0.9 + 0.005 * rng.standard_normal(10)
        kind = CONTACTS["light shell on steel"]
        dry, _ = sound_of(bounces_of(0.305, planted, ball, kind.time), kind, rng, rate=RATE)
        begin = round((1.0 + 9.5 * number) * RATE)
        out[begin : begin + dry.size] += dry
    out = 0.5 * out / np.max(np.abs(out))
    out = in_a_room(out, rng, rate=RATE) + 1e-3 * hiss(out.size, rng) + 5e-3 * speech_like(out.size, rng, rate=RATE)
    return np.asarray(np.clip(out, -1.0, 1.0), dtype=np.float32)
