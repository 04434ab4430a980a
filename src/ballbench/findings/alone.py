"""Every ball judged from its own readings alone, with no pull toward its fellows.

Each ball becomes a study of one ball, judged by the same engine (methods page "decision"): what the guarded rule asks
of each ball beside the joint chance, so that good fellows cannot talk a bad ball good.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ballbench.findings.tally import limits_of, margin_of
from ballbench.specs import Reading
from ballbench.statistics.grids import COARSE
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats, Study

__all__ = ["alone_chances", "plays_a_part"]


def plays_a_part(reading: Reading) -> bool:
    """Whether the rule asks it of this reading of a clause: each ball, by largest, smallest or their difference."""
    return reading.sample == "each" and reading.ball in ("max", "min", "range")


def alone_chances(
    study: Study,
    shared: Floats,
    readings: Sequence[Reading],
    rng: np.random.Generator,
    columns: Sequence[int] | None = None,
    blur: tuple[float, float] = (0.0, 0.0),
) -> list[Floats | None]:
    """Give the chance of every ball, judged alone, to be inside.

    Parameters
    ----------
    study : Study
        T studies of n balls.
    shared : (T, A) float array
        Shared error of A draws of each study, unit of the readings.
    readings : sequence of Reading
        Readings of clauses on the quantity.
    rng : numpy.random.Generator
        Seeded by the caller.
    columns : sequence of int, optional
        Axes that were written down; all by default.
    blur : pair of float
        Where an unrounded reading lies about the displayed one, lowest and highest, on a coarse display.

    Returns
    -------
    list of (n, T) float arrays or None
        One a reading; None where the rule does not ask it.
    """
    if not any(plays_a_part(reading) for reading in readings):
        return [None] * len(readings)
    t, n, k = study.shape
    take = list(columns) if columns is not None else list(range(k))
    out: list[Floats | None] = [np.empty((n, t)) if plays_a_part(reading) else None for reading in readings]
    patterns, group = np.unique(study.counts[:, take], axis=0, return_inverse=True)
    for number in range(patterns.shape[0]):
        balls = np.flatnonzero(group.ravel() == number)
        values = _values(study, balls, take, shared, rng)
        if blur != (0.0, 0.0):
            values += rng.uniform(*blur, values.shape)
        reduced = BallValues(values, np.repeat(patterns[number][:, None] > 0, balls.size * t, axis=1))
        for found, reading in zip(out, readings, strict=True):
            if found is not None:
                inside = margin_of(reduced(reading.ball), *limits_of(reading)) > 0
                found[balls] = inside.mean(axis=1).reshape(t, balls.size).T
    return out


def _values(study: Study, balls: np.ndarray, take: list[int], shared: Floats, rng: np.random.Generator) -> Floats:
    """True values of some balls with one pattern of readings, each a study of its own: (k, T * balls, A)."""
    t, draws = shared.shape
    own = replace(
        study,
        means=study.means[:, balls][:, :, take].reshape(t * balls.size, 1, len(take)),
        counts=study.counts[balls[0], take][None, :],
        sse=np.repeat(study.sse, balls.size), axis_effects=False, kinds=(),
    )  # fmt: skip
    off = np.repeat(shared[:, None, :], balls.size, axis=1).reshape(-1)
    parts = [truths.values[:, 0, :] for truths in Posterior(own, COARSE).sample(rng, draws, off)]
    return np.concatenate(parts, axis=1).reshape(len(take), t * balls.size, draws)
