"""The noise of an indicator in a vee: what it adds to a range, and what range a round ball shows by it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import stats

from ballbench.form.display_floor import display_floor
from ballbench.records.vee_readings import VeeRow
from ballbench.statistics.normal_range import d3, range_quantile

__all__ = ["Floors", "Noise", "NoiseIn", "floors_by", "looks_of", "noise_in", "noise_of"]

_LOOKS = 12
"""Indications that count as taken independently in one turn (own choice)."""
_MOST_LOOKS = 120
_BALLS = 4000
"""Simulated for a floor where the display is coarse: its 95 % point is one step or another."""
_LEAST_DOF = 2
"""Repeats with fewer degrees of freedom say nothing of noise (own choice)."""


@dataclass(frozen=True, slots=True)
class Noise:
    """The SD of one indication, mm, from balls that were laid in again, with its degrees of freedom.

    NaN and 0 where nothing was turned again; the display step is then taken.
    """

    sigma: float
    dof: int


@dataclass(frozen=True, slots=True)
class NoiseIn:
    """Noise in one vee: SD of one indication, standard uncertainty of the mean range by scatter, mm; their dof."""

    sigma: float
    u: float
    dof: float

    @property
    def largest(self) -> float:
        """Give `sigma` with its own standard uncertainty on top: 1/sqrt(2 dof) of it (JCGM 100:2008, E.4.3)."""
        return self.sigma * (1.0 + 1.0 / math.sqrt(2.0 * self.dof))


Floors = Callable[[int, NoiseIn, float, int], float]
"""Looks, noise, display step and number of vees to the range that a round ball shows."""


def looks_of(rows: Sequence[VeeRow]) -> int:
    """Say how many independent indications stand behind the ranges of these rows, by the most turns."""
    turns = [row.turns for row in rows if math.isfinite(row.turns)] or [1.0]
    return int(max(min(round(_LOOKS * max(turns)), _MOST_LOOKS), 2))


def noise_of(rows: Sequence[VeeRow]) -> Noise:
    """Find the noise of an indication from balls that were laid in again.

    Parameters
    ----------
    rows : sequence of VeeRow
        All rows of one indicator.

    Returns
    -------
    Noise
        The pooled SD of ranges of one section in one vee, each over d3, the SD of the range of so many normal readings
        with SD 1; no less than what the display alone brings, step/sqrt(12) (JCGM 100:2008, F.2.2.1).

    Notes
    -----
    The range of a lobed ball scatters more than d3 sigma, since few looks fall on crests: sigma is then too large
    rather than too small.
    """
    groups: dict[tuple[object, ...], list[VeeRow]] = {}
    for row in rows:
        groups.setdefault((row.product, row.ball, row.section, row.angle, row.setting), []).append(row)
    total, dof = 0.0, 0
    for again in groups.values():
        ranges = np.array([row.high - row.low for row in again])
        total += float(((ranges - ranges.mean()) ** 2).sum()) / d3(looks_of(again)) ** 2
        dof += ranges.size - 1
    if dof < _LEAST_DOF:
        return Noise(math.nan, 0)
    return Noise(max(math.sqrt(total / dof), max(row.step for row in rows) / math.sqrt(12.0)), dof)


def noise_in(rows: Sequence[VeeRow], noise: Noise, looks: int) -> NoiseIn:
    """Give the noise in one vee.

    Parameters
    ----------
    rows : sequence of VeeRow
        The turns of one section in one vee.
    noise : Noise
        From `noise_of`.
    looks : int
        From `looks_of`.

    Returns
    -------
    NoiseIn
        What the rows state, as the SD of a range, goes before repeats: it may hold the indicator's own error, which
        turning again does not take away. Without either the range is uncertain by one display step, two indications of
        step/sqrt(2) (own choice). Two rounded indications bring step/sqrt(6) at least (JCGM 100:2008, F.2.2.1).
    """
    step = max(row.step for row in rows)
    stated = [row.u for row in rows if math.isfinite(row.u)]
    if stated:
        return NoiseIn(max(stated) / d3(looks), max(stated), math.inf)
    if not noise.dof:
        return NoiseIn(step / math.sqrt(2.0), step, math.inf)
    scatter = d3(looks) * noise.sigma / math.sqrt(len(rows))
    return NoiseIn(noise.sigma, max(scatter, step / math.sqrt(6.0)), float(noise.dof))


def floors_by(rng: np.random.Generator) -> Floors:
    """Give a function that works out the range of a round ball once for each instrument, looks and number of vees.

    Parameters
    ----------
    rng : numpy.random.Generator
        Seeded by the caller.

    Notes
    -----
    In nineteen cases of twenty a round ball stays under the floor in all vees of a section. A sigma from few repeats
    may be far too small: the quantile of the range grows as the studentized range does with their degrees of freedom.
    """
    known: dict[tuple[int, NoiseIn, float, int], float] = {}

    def floor(looks: int, noise: NoiseIn, step: float, vees: int) -> float:
        key = (looks, noise, step, vees)
        if key not in known:
            p = 0.95 ** (1.0 / vees)
            more = _few(looks, noise.dof, p)
            known[key] = more * display_floor(looks, noise.sigma, step, rng, p=p, balls=_BALLS).high
        return known[key]

    return floor


@lru_cache(maxsize=256)
def _few(looks: int, dof: float, p: float) -> float:
    """Give by what the quantile of a range grows where its SD has `dof` degrees of freedom."""
    if math.isinf(dof):
        return 1.0
    return float(stats.studentized_range.ppf(p, looks, dof)) / range_quantile(looks, p)
