"""Repeat studies with known truth, and how often their intervals hold it."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.statistics.repeat_study import RepeatStudy, repeat_study
from ballbench.statistics.study import Floats

__all__ = ["CELLS", "NAMES", "Design", "coverage", "displayed", "readings"]

NAMES = ("repeatability", "person", "interaction", "reproducibility", "ball", "total")


@dataclass(frozen=True, slots=True)
class Design:
    """Balls, people and repeats, the true SDs, the share of readings that are missing, and the step of the display."""

    balls: int
    people: int
    repeats: int
    ball: float
    person: float
    interaction: float
    noise: float
    missing: float = 0.0
    step: float | None = None

    def truth(self, *, rounded: bool) -> dict[str, float]:
        """True SD of every component; of displayed readings, or before rounding."""
        noise = displayed(self.noise, self.step) if rounded and self.step else self.noise
        between = math.hypot(self.person, self.interaction)
        return dict(
            zip(
                NAMES,
                (noise, self.person, self.interaction, between, self.ball, math.hypot(noise, between)),
                strict=True,
            )
        )


CELLS = {
    "10 balls, 3 people, 3 repeats": Design(10, 3, 3, 1.0, 0.3, 0.1, 0.3),
    "5 balls, 2 people, 2 repeats": Design(5, 2, 2, 1.0, 0.3, 0.1, 0.3),
    "people alike": Design(5, 3, 2, 1.0, 0.0, 0.0, 0.3),
    "people far apart": Design(8, 3, 2, 1.0, 1.0, 0.5, 0.3),
    "balls alike": Design(6, 2, 3, 0.0, 0.2, 0.2, 0.3),
    "interaction only": Design(10, 2, 2, 1.0, 0.0, 0.3, 0.3),
    "one person": Design(10, 1, 3, 1.0, 0.0, 0.0, 0.3),
    "one person, balls alike": Design(5, 1, 2, 0.0, 0.0, 0.0, 0.3),
    "a quarter missing": Design(10, 3, 3, 1.0, 0.3, 0.1, 0.3, missing=0.25),
    "a fifth missing, two repeats": Design(6, 3, 2, 1.0, 0.3, 0.3, 0.3, missing=0.2),
    "people alike, a quarter missing": Design(10, 3, 2, 1.0, 0.0, 0.0, 0.3, missing=0.25),
    "balls alike, a quarter missing": Design(6, 2, 3, 0.0, 0.2, 0.2, 0.3, missing=0.25),
    "one person, a third missing": Design(8, 1, 3, 1.0, 0.0, 0.0, 0.3, missing=0.3),
}
"""Designs of 1 to 3 people, 5 to 10 balls, 2 to 3 repeats, with components of 0."""


def displayed(noise: float, step: float) -> float:
    """SD of rounded repeats of one true value that lies anywhere in a step (Fourier series of the rounding error)."""
    k = np.arange(1, 30)
    shared = float(np.sum(np.exp(-4.0 * np.pi**2 * k**2 * (noise / step) ** 2) / (2.0 * np.pi**2 * k**2)))
    return math.sqrt(noise**2 + step**2 * (1.0 / 12.0 - shared))


def readings(rng: np.random.Generator, design: Design) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
    """Make up one study: values, balls, people; the balls lie at random on the scale of the display."""
    n, o, r = design.balls, design.people, design.repeats
    values = rng.normal(0.0, design.ball, (n, 1, 1)) + rng.normal(0.0, design.person, (1, o, 1))
    values = values + rng.normal(0.0, design.interaction, (n, o, 1)) + rng.normal(0.0, design.noise, (n, o, r))
    if design.step is not None:
        values = np.round(values / design.step) * design.step
    balls, people, _ = np.indices(values.shape)
    kept = rng.random(values.size) >= design.missing
    return values.ravel()[kept], balls.ravel()[kept], people.ravel()[kept]


def coverage(design: Design, studies: int, seed: int) -> dict[str, tuple[float, float, float, int]]:
    """Share of intervals that hold the truth, that lie above it, that lie below it, and how many there were."""
    rng = np.random.default_rng(seed)
    counts: Counter[tuple[str, str]] = Counter()
    for _ in range(studies):
        values, balls, people = readings(rng, design)
        study: RepeatStudy = repeat_study(values, balls, people, resolution=design.step)
        for name, true in design.truth(rounded=not study.coarse).items():
            found = getattr(study, name)
            if found is not None:
                counts[name, "all"] += 1
                counts[name, "above"] += found.low > true
                counts[name, "below"] += found.high < true
    shares = {}
    for name in NAMES:
        if total := counts[name, "all"]:
            above, below = counts[name, "above"] / total, counts[name, "below"] / total
            shares[name] = (1.0 - above - below, above, below, total)
    return shares
