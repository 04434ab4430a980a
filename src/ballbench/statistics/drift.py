"""Drift of an instrument over a session, from readings of one piece at its start, in between and at its end."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault

__all__ = ["Drift", "drift"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Drift:
    """What the checks of a session show.

    Parameters
    ----------
    rate, u_rate, low, high : float
        Change a unit of time, its standard uncertainty and interval.
    p_rate : float
        Chance of a rate as large by noise alone; NaN where nothing is left to estimate noise from.
    largest, largest_time : float
        Mean of the check that is furthest from the first one, less the first one, and when it was.
    u_largest, p_largest : float
        Of that difference by noise alone, and its chance, for the furthest of so many; NaN where the noise was taken
        from the scatter about the line.
    steady : bool
        Whether the rate alone is: a steady drift, and not one check that lies off.
    beyond_noise : bool
        Whether rate or largest departure is too large for noise at the confidence asked for, both looks counted.
    carried_sd : float
        Standard uncertainty of what the instrument read between the checks about what it read on average at them.
    noise, dof : float
        SD of single readings and its degrees of freedom.
    checks : int
        Different times.
    confidence : float
        Of the interval.
    """

    rate: float
    u_rate: float
    low: float
    high: float
    p_rate: float
    largest: float
    largest_time: float
    u_largest: float
    p_largest: float
    steady: bool
    beyond_noise: bool
    carried_sd: float
    noise: float
    dof: float
    checks: int
    confidence: float


def drift(
    times: ArrayLike,
    values: ArrayLike,
    *,
    noise: tuple[float, float] | None = None,
    resolution: float = 0.0,
    confidence: float = 0.95,
) -> Drift:
    """Say whether an instrument drifted while it was used, and what to allow for it.

    Parameters
    ----------
    times : (N,) array_like of float
        When the piece was read, in one unit; readings of one check have the same time.
    values : (N,) array_like of float
        What was read.
    noise : (float, float), optional
        SD of single readings and its degrees of freedom, as from a repeat study. Left out, it is pooled from readings
        of one time; with none, it is the scatter about the line.
    resolution : float
        Step of the display: the noise is at least its rounding, step over the square root of 12.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    Drift
        In the units of values and times.

    Raises
    ------
    BadRequest
        Arrays that do not fit, one time only, too little to know the noise from, arguments out of range.

    Notes
    -----
    Rate: least squares through all readings. Largest departure: Student's t of the difference of two means, times the
    number of later checks (Bonferroni). `carried_sd`: a steady drift moves readings spread evenly over the session of
    length T by ``rate T / sqrt(12)`` about the middle (JCGM 100:2008, 4.3.7: the SD of a rectangle); the unknown part
    of the rate is added in squares. It is never less than the spread of the checks taken as a rectangle. Own choice: it
    errs to the wide side where nothing drifts.
    """
    at, read = np.asarray(times, dtype=np.float64).ravel(), np.asarray(values, dtype=np.float64).ravel()
    _check(at, read, noise, resolution, confidence)
    moments, index, counts = np.unique(at, return_inverse=True, return_counts=True)
    centre = float(read[0])
    means = np.bincount(index, read - centre) / counts
    lever = at - at.mean()
    rate = float(lever @ (read - centre)) / float(lever @ lever)
    sd, dof, by_scatter = _noise(read - centre, rate, lever, means[index], moments.size, noise, resolution)
    u_rate = sd / math.sqrt(float(lever @ lever))
    risk = 1.0 - confidence
    half = float(stats.t.isf(risk / 2.0, dof)) * u_rate
    p_rate = _p(rate, u_rate, dof)
    far = int(np.argmax(np.abs(means - means[0])))
    u_largest = sd * math.sqrt(1.0 / counts[0] + 1.0 / counts[far]) if far else sd * math.sqrt(2.0 / counts[0])
    largest = float(means[far] - means[0])
    p_largest = math.nan if by_scatter else min(1.0, (moments.size - 1) * _p(largest, u_largest, dof))
    looks = [p for p in (p_rate, p_largest) if math.isfinite(p)]
    if moments.size == 2:
        looks = looks[:1]
    span = float(np.ptp(moments))
    carried = max(span * math.hypot(rate, u_rate), float(np.ptp(means))) / math.sqrt(12.0)
    return Drift(
        rate=rate,
        u_rate=u_rate,
        low=rate - half,
        high=rate + half,
        p_rate=p_rate,
        largest=largest,
        largest_time=float(moments[far]),
        u_largest=u_largest,
        p_largest=p_largest,
        steady=len(looks) * p_rate < risk,
        beyond_noise=len(looks) * min(looks) < risk,
        carried_sd=carried,
        noise=sd,
        dof=dof,
        checks=moments.size,
        confidence=confidence,
    )


def _p(value: float, u: float, dof: float) -> float:
    """Two-sided chance of a value as large by noise alone."""
    if u == 0.0:
        return 1.0 if value == 0.0 else 0.0
    return 2.0 * float(stats.t.sf(abs(value) / u, dof))


def _noise(
    read: Array,
    rate: float,
    lever: Array,
    of_check: Array,
    checks: int,
    given: tuple[float, float] | None,
    resolution: float,
) -> tuple[float, float, bool]:
    """SD of single readings, its degrees of freedom, and whether it is the scatter about the line."""
    rounding = resolution / math.sqrt(12.0)
    inside = read.size - checks
    if given is not None:
        sd, dof = given
    elif inside > 0:
        sd, dof = math.sqrt(float(np.sum((read - of_check) ** 2)) / inside), float(inside)
    else:
        rest = read - read.mean() - rate * lever
        sd, dof = math.sqrt(float(rest @ rest) / (read.size - 2)), float(read.size - 2)
    by_scatter = given is None and inside == 0
    return (rounding, math.inf, False) if sd < rounding else (sd, dof, by_scatter)


def _check(at: Array, read: Array, noise: tuple[float, float] | None, resolution: float, confidence: float) -> None:
    """Say all that is wrong."""
    faults = []
    if at.size != read.size:
        found = f"{at.size} times and {read.size} values"
        faults.append(Fault("drift", found, "one time a value", "give arrays of one length"))
    if not (np.all(np.isfinite(at)) and np.all(np.isfinite(read))):
        faults.append(Fault("drift", "values that are not finite", "finite numbers", "leave them out"))
    if np.unique(at).size < 2:
        faults.append(Fault("drift, times", "one time", "two at least", "read the piece again at the end"))
    if noise is not None and not (0.0 <= noise[0] < math.inf and noise[1] > 0.0):
        allowed = "an SD of 0 or more and degrees of freedom above 0"
        faults.append(Fault("drift, noise", str(noise), allowed, "give both"))
    if not 0.0 <= resolution < math.inf:
        faults.append(Fault("drift, resolution", str(resolution), "0 or more", "give the step of the display"))
    if not 0.0 < confidence < 1.0:
        faults.append(Fault("drift, confidence", str(confidence), "between 0 and 1", "give 0.95 for 95 %"))
    if not faults and noise is None and at.size == 2:
        todo = "give the SD of repeats as noise, or read the piece twice at a check"
        faults.append(Fault("drift", "two readings and no noise", "repeats, or a known noise", todo))
    if faults:
        raise BadRequest(faults)
