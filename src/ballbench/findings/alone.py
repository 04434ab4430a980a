"""Every ball judged from its own readings alone, with no pull toward its fellows.

The true value is the reading less its noise and the shared error (a flat prior on each place): what the guarded rule
asks of each ball beside the joint chance, so that good fellows cannot talk a bad ball good.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ballbench.findings.tally import limits_of, margin_of
from ballbench.specs import Reading
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

    Returns
    -------
    list of (n, T) float arrays or None
        One a reading; None where the rule does not ask it.
    """
    wanted = [plays_a_part(reading) for reading in readings]
    if not any(wanted):
        return [None] * len(readings)
    t, n, k = study.shape
    take = list(columns) if columns is not None else list(range(k))
    draws = shared.shape[1]
    counts = study.counts[:, take].T[:, :, None]
    dof = study.noise.dof + study.sse_dof
    pooled = np.sqrt((study.noise.dof * study.noise.sd**2 + study.sse) / dof)
    se = np.repeat(pooled, draws) * np.sqrt(dof / rng.chisquare(dof, t * draws))
    values = rng.standard_normal((len(take), n, t * draws))
    values *= se / np.sqrt(np.where(counts > 0, counts, 1.0))
    values += np.repeat(np.nan_to_num(study.means[:, :, take]).transpose(2, 1, 0), draws, axis=2)
    values -= shared.ravel()
    reduced = BallValues(values, None if (counts > 0).all() else counts[:, :, 0] > 0)
    out: list[Floats | None] = []
    for reading, asked in zip(readings, wanted, strict=True):
        if not asked:
            out.append(None)
            continue
        lower, upper = limits_of(reading)
        inside = margin_of(reduced(reading.ball), lower, upper) > 0
        out.append(inside.reshape(n, t, draws).mean(axis=2))
    return out
