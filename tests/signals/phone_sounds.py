"""Drops as phones record them: what recorders do to impacts, each with its truth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from examples.recorded.sounds import (
    CONTACTS,
    Bounces,
    bounces_of,
    coded,
    ducked,
    gain_pumped,
    gated,
    hiss,
    in_a_room,
    sound_of,
    speech_like,
    wind,
)
from numpy.typing import NDArray
from varied_sounds import BALLS, decoded

from ballbench.physics.vertical_flight import Faller

__all__ = ["RECORDERS", "PhoneDrop", "phone_drop"]

RATE = 48_000
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PhoneDrop:
    """A recording of one drop with its truth."""

    samples: NDArray[np.float32]
    rate: int
    lossy: bool
    truth: Bounces
    onsets: Array


def _as_it_is(sound: Array, _: Array, __: np.random.Generator) -> Array:
    return sound


def _pumping(sound: Array, _: Array, rng: np.random.Generator) -> Array:
    return gain_pumped(
        sound, target=10.0 ** rng.uniform(-2.0, -0.5), attack=rng.uniform(1e-3, 20e-3), release=rng.uniform(0.1, 3.0)
    )


def _ducking(sound: Array, onsets: Array, rng: np.random.Generator) -> Array:
    return ducked(
        sound, onsets[0], by=rng.uniform(6.0, 24.0), after=rng.uniform(2e-3, 60e-3), fall=rng.uniform(2e-3, 30e-3),
        back=rng.uniform(0.5, 5.0),
    )  # fmt: skip


def _gating(sound: Array, _: Array, rng: np.random.Generator) -> Array:
    return gated(
        sound, over=10.0 ** rng.uniform(-2.2, -1.5), attack=rng.uniform(1e-3, 8e-3), hold=rng.uniform(0.04, 0.15),
        release=rng.uniform(0.02, 0.08),
    )  # fmt: skip


def _stopped(sound: Array, onsets: Array, rng: np.random.Generator) -> Array:
    last = float(onsets[rng.integers(2, onsets.size)])
    return sound[: round((last + rng.uniform(-0.05, 0.1)) * RATE)]


RECORDERS: dict[str, Callable[[Array, Array, np.random.Generator], Array]] = {
    "plain": _as_it_is,
    "gain that pumps": _pumping,
    "gain that ducks after the first": _ducking,
    "silences what is quiet": _gating,
    "silences what is quiet, AAC": _gating,
    "voice memo, 24 kbit/s": _as_it_is,
    "voice memo, 32 kbit/s": _as_it_is,
    "talk over the drop": lambda sound, _, rng: sound + rng.uniform(0.2, 0.8) * speech_like(sound.size, rng),
    "wind": lambda sound, _, rng: sound + rng.uniform(0.2, 2.0) * wind(sound.size, rng),
    "wind that clips": lambda sound, _, rng: np.clip(sound + rng.uniform(1.0, 3.0) * wind(sound.size, rng), -0.8, 0.8),
    "stopped in mid-drop": _stopped,
}


def phone_drop(recorder: str, rng: np.random.Generator) -> PhoneDrop:
    """Draw ball, height, room and hiss, and record one drop."""
    kind = str(rng.choice(list(BALLS)))
    mass, diameter, (low, high), heights = BALLS[kind]
    planted = rng.uniform(low, high) + 0.004 * rng.standard_normal(rng.integers(7, 12))
    truth = bounces_of(rng.uniform(*heights), planted, Faller(mass, diameter, 0.45, 1.2, 9.81), CONTACTS[kind].time)
    memo = recorder.startswith("voice memo")
    rate = 16_000 if memo else RATE
    dry, onsets = sound_of(truth, CONTACTS[kind], rng, rate=rate, start=rng.uniform(0.7, 1.2))
    sound = in_a_room(dry, rng, rate=rate, decay=rng.uniform(0.15, 0.6), wet=rng.uniform(0.03, 0.2))
    sound = 0.8 * sound / np.max(np.abs(sound))
    sound = sound + 10.0 ** rng.uniform(-4.0, -2.5) * hiss(sound.size, rng, colour=rng.uniform(0.0, 1.5))
    samples = RECORDERS[recorder](sound, onsets, rng).astype(np.float32)
    lossy = memo or recorder.endswith("AAC")
    if lossy:
        bit_rate = 64_000 if not memo else 24_000 if "24" in recorder else 32_000
        samples = decoded(coded(samples, "aac", rate=rate, bit_rate=bit_rate))
    return PhoneDrop(samples, rate, lossy, truth, onsets)
