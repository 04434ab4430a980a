"""Sounds of a drop with known truth, as a phone would send them: WAV files in memory; nothing was ever recorded."""

from __future__ import annotations

import io
import wave

import numpy as np
from examples.recorded.sounds import CONTACTS, Bounces, bounces_of, hiss, sound_of

from ballbench.physics.vertical_flight import Faller, height_of, impact_speed_after

__all__ = ["HEIGHT_M", "RESTITUTION", "START_S", "drop_wav", "rebound_mm", "several_wav", "silent_wav", "truth"]

RATE = 44_100
START_S = 0.4
HEIGHT_M = 0.305
RESTITUTION = (0.90, 0.905, 0.91, 0.915, 0.92, 0.925, 0.93, 0.93)
"""Of the impacts in turn: invented, as a light shell on steel may do."""
BALL = Faller(2.74e-3, 0.040, 0.45, 1.19, 9.81)
"""A ball of 40 mm that a balance shows as 2.70 g, in air of 1.19 kg/m3, with one drag coefficient (own choice)."""


def truth(ball: Faller = BALL) -> Bounces:
    """What happened: the moments of impact and the restitution of each."""
    return bounces_of(HEIGHT_M, RESTITUTION, ball)


def rebound_mm(ball: Faller = BALL) -> float:
    """How high the ball's underside rises after the first impact, mm."""
    launch = RESTITUTION[0] * float(impact_speed_after(HEIGHT_M, ball))
    return float(height_of(launch, ball)) * 1e3


def drop_wav(seed: int = 1, noise: float = 0.002, ball: Faller = BALL) -> bytes:
    """The sound of that drop on a steel plate, with a little hiss."""
    rng = np.random.default_rng(seed)
    samples, _ = sound_of(truth(ball), CONTACTS["light shell on steel"], rng, rate=RATE, start=START_S)
    return _wav(samples / 3.0 + noise * hiss(samples.size, rng))


def several_wav(drops: int, seed: int = 1, noise: float = 0.002) -> bytes:
    """The sound of so many such drops, one after the other, a second between them."""
    rng = np.random.default_rng(seed)
    kind = CONTACTS["light shell on steel"]
    one = [sound_of(truth(), kind, rng, rate=RATE, start=START_S)[0] / 3.0 for _ in range(drops)]
    samples = np.concatenate([np.concatenate([part, np.zeros(RATE)]) for part in one])
    return _wav(samples + noise * hiss(samples.size, rng))


def silent_wav(seconds: float = 2.0) -> bytes:
    """A room in which nothing falls."""
    rng = np.random.default_rng(7)
    return _wav(0.002 * hiss(round(seconds * RATE), rng))


def _wav(samples: np.ndarray) -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((np.clip(samples, -1.0, 1.0) * 32767.0).astype("<i2").tobytes())
    return out.getvalue()
