"""Runs of a ramp put together: each axis of a ball both ways round, how single runs scatter, how the ramp leans."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from ballbench.findings.rolling.results import RampLean, RollNoise
from ballbench.physics.rolling import Ramp, lean_gain, veer_gain, veer_gain_u
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records.ramp_as_it_stood import StandingRamp
from ballbench.records.roll_log import RollRow

__all__ = ["Turning", "leans_of", "noise_of", "turnings_of"]

_ENOUGH = 6
"""Degrees of freedom from which on repeats alone tell the scatter (own choice)."""
_FOOT = 0.02
"""Relative standard uncertainty of the veer that comes after the foot: 2 % of it is what a rigid ball does otherwise at
10 degrees (`ballbench.physics.rolling`); a sharp foot does as much."""
_LEAST_DOF = 2
"""With fewer nothing is said of it (own choice)."""


@dataclass(frozen=True, slots=True)
class Turning:
    """One axis of a ball on one ramp: runs as placed and turned.

    Parameters
    ----------
    product, ball, axis : str
        Whose.
    ramp : StandingRamp
        As it stood.
    placed, turned : tuple of float
        Veers, mm.
    gain : float
        Veer for each unit of offset.
    gain_u : float
        Its relative standard uncertainty.
    """

    product: str
    ball: str
    axis: str
    ramp: StandingRamp
    placed: tuple[float, ...]
    turned: tuple[float, ...]
    gain: float
    gain_u: float

    @property
    def both(self) -> bool:
        """Whether it was rolled both ways round."""
        return bool(self.placed and self.turned)

    @property
    def veer(self) -> float:
        """Half the difference: the ball's own veer, mm."""
        return 0.5 * (float(np.mean(self.placed)) - float(np.mean(self.turned)))

    @property
    def lean(self) -> float:
        """Half the sum: the ramp's, mm."""
        return 0.5 * (float(np.mean(self.placed)) + float(np.mean(self.turned)))

    @property
    def per_run(self) -> float:
        """Standard uncertainty of half difference and half sum, for one mm of scatter of a run."""
        return 0.5 * math.sqrt(1.0 / len(self.placed) + 1.0 / len(self.turned))


def turnings_of(rows: Sequence[RollRow]) -> tuple[Turning, ...]:
    """Put the runs of one axis of one ball on one ramp together, in the order of the file.

    Parameters
    ----------
    rows : sequence of RollRow
        All runs.
    """
    groups: dict[tuple[str, str, str, StandingRamp], list[RollRow]] = {}
    for row in rows:
        groups.setdefault((row.product, row.ball, row.axis, row.ramp), []).append(row)
    return tuple(_turning(key, own) for key, own in groups.items())


def _turning(key: tuple[str, str, str, StandingRamp], rows: Sequence[RollRow]) -> Turning:
    product, ball, axis, stood = key
    radians = math.radians
    ramp, radius = Ramp(stood.slope, radians(stood.angle), stood.run_out), 0.5 * stood.diameter
    gain = veer_gain(ramp, radius)
    on_flat = 1.0 - veer_gain(Ramp(stood.slope, radians(stood.angle)), radius) / gain
    gain_u = veer_gain_u(
        ramp, radius, slope_u=stood.slope_u, angle_u=radians(stood.angle_u), run_out_u=stood.run_out_u,
        radius_u=0.5 * stood.diameter_u,
    )  # fmt: skip
    gain_u = math.hypot(gain_u, _FOOT * on_flat)
    placed, turned = (tuple(row.veer for row in rows if row.turned is way) for way in (False, True))
    return Turning(product, ball, axis, stood, placed, turned, gain, gain_u)


def noise_of(rows: Sequence[RollRow], turnings: Sequence[Turning]) -> RollNoise:
    """Find how single runs scatter, all balls together.

    Parameters
    ----------
    rows : sequence of RollRow
        All runs.
    turnings : sequence of Turning
        From `turnings_of`.

    Returns
    -------
    RollNoise
        From runs that were repeated. Where these have few degrees of freedom, half-sums of one sitting join them, which
        differ by noise alone as long as the ramp stood still: one that did not makes the scatter larger. A stated
        uncertainty counts where it is larger, and one display step over the root of 12 at least (JCGM 100:2008,
        F.2.2.1).
    """
    repeats, dof = _repeats(turnings)
    sums, sum_dof = _half_sums(turnings)
    steady = math.nan
    if dof >= _LEAST_DOF and sum_dof and repeats > 0.0:
        steady = float(stats.f.sf(sums / sum_dof / (repeats / dof), sum_dof, dof))
    origin = "repeats"
    if dof < _ENOUGH and sum_dof:
        origin = "repeats and turnings" if dof else "turnings"
        repeats, dof = repeats + sums, dof + sum_dof
    stated = [row.u for row in rows if math.isfinite(row.u)]
    most = max(stated, default=0.0)
    if dof < _LEAST_DOF:
        return RollNoise(most, math.inf, "stated", steady) if stated else RollNoise(math.nan, 0.0, "unknown", steady)
    sd = math.sqrt(repeats / dof)
    if most > sd:
        return RollNoise(most, math.inf, "stated", steady)
    return RollNoise(max(sd, max(row.step for row in rows) / math.sqrt(12.0)), float(dof), origin, steady)


def _repeats(turnings: Sequence[Turning]) -> tuple[float, int]:
    """Give the sum of squares within runs that are alike, and its degrees of freedom."""
    total, dof = 0.0, 0
    for one in turnings:
        for veers in (one.placed, one.turned):
            if len(veers) > 1:
                total += float(((np.array(veers) - np.mean(veers)) ** 2).sum())
                dof += len(veers) - 1
    return total, dof


def _half_sums(turnings: Sequence[Turning]) -> tuple[float, int]:
    """Give the sum of squares of half-sums within sittings, in squares of one run's scatter."""
    total, dof = 0.0, 0
    for own in _by_ramp(turnings):
        weights = np.array([1.0 / one.per_run**2 for one in own])
        sums = np.array([one.lean for one in own])
        mean = float(weights @ sums / weights.sum())
        total += float(weights @ (sums - mean) ** 2)
        dof += len(own) - 1
    return total, dof


def _by_ramp(turnings: Sequence[Turning]) -> Iterator[list[Turning]]:
    """Give the turnings rolled both ways, ramp by ramp; balls of another size leave a ramp what it is."""
    for ramp in dict.fromkeys(_board(one.ramp) for one in turnings):
        own = [one for one in turnings if _board(one.ramp) == ramp and one.both]
        if own:
            yield own


def _board(ramp: StandingRamp) -> tuple[str, float, float, float]:
    return ramp.sitting, ramp.slope, ramp.run_out, ramp.angle


def leans_of(turnings: Sequence[Turning], noise: RollNoise) -> tuple[RampLean, ...]:
    """Say how the ramp leaned, sitting by sitting.

    Parameters
    ----------
    turnings : sequence of Turning
        From `turnings_of`.
    noise : RollNoise
        From `noise_of`.

    Returns
    -------
    tuple of RampLean
        Mean of the half-sums, each weighted by its runs; the angle's own uncertainty is left out, since it scales the
        lean alone and the lean is taken out whatever it is.
    """
    return tuple(_lean(own, noise) for own in _by_ramp(turnings))


def _lean(own: Sequence[Turning], noise: RollNoise) -> RampLean:
    stood = own[0].ramp
    gain = lean_gain(Ramp(stood.slope, math.radians(stood.angle), stood.run_out))
    weights = np.array([1.0 / one.per_run**2 for one in own])
    veer = float(weights @ np.array([one.lean for one in own]) / weights.sum())
    half = math.nan if not noise.dof else coverage_factor(noise.dof) * noise.sd / math.sqrt(float(weights.sum()))
    like = veer / float(np.median([one.gain for one in own]))
    mrad = 1000.0 / gain
    return RampLean(stood.sitting, veer * mrad, (veer - half) * mrad, (veer + half) * mrad, veer, like, len(own))
