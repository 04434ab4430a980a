"""What a round ball shows of diameter variation: the noise floor, through a display with steps.

With the ball's place between two steps left to chance, the mean range of k displayed readings is d2(k) times the noise
*before* the display, whatever the step, while the SD of displayed readings has the rounding in it. Where that SD is
under half a step the two differ much, and the range takes a few values only; so it is simulated there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from ballbench.errors import BadRequest, Fault
from ballbench.statistics.normal_range import noise_floor, range_quantile

__all__ = ["Floor", "display_floor", "displayed_sd", "noise_behind"]

_SMALL = 0.1  # steps; under it readings flip between two neighbours only, to one part in 1e10
_TERMS = np.arange(1.0, 41.0)  # of the series from there on: the last is exp(-4 pi^2 16) of the first


@dataclass(frozen=True, slots=True)
class Floor:
    """The diameter variation that a perfectly round ball shows.

    Parameters
    ----------
    mean : float
        On average, mm.
    high : float
        Under which a part `p` of round balls stays, mm.
    p : float
        0 to 1.
    noise : float
        SD before the display, mm, as it was used.
    method : str
        How it was found.
    notes : tuple of str
        What a reader must know.
    """

    mean: float
    high: float
    p: float
    noise: float
    method: str
    notes: tuple[str, ...] = ()


def displayed_sd(noise: float, step: float) -> float:
    """Give the SD that readings of one place show on a display with steps.

    Parameters
    ----------
    noise : float
        SD before the display, mm, from 0.
    step : float
        Display step, mm, above 0.

    Returns
    -------
    float
        mm: the root of the mean variance over all places between two steps.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    s^2 = sigma^2 + q^2/12 - q^2/(2 pi^2) sum over m of exp(-4 pi^2 m^2 sigma^2/q^2)/m^2, and q sigma/sqrt(pi) for small
    sigma (derived here from the mean square of the difference of two rounded readings; held by simulation).
    """
    _check(noise, step)
    ratio = noise / step
    if ratio < _SMALL:
        return step * math.sqrt(ratio / math.sqrt(math.pi))
    lost = float(np.sum(np.exp(-4.0 * math.pi**2 * _TERMS**2 * ratio**2) / _TERMS**2)) / (2.0 * math.pi**2)
    return step * math.sqrt(ratio**2 + 1.0 / 12.0 - lost)


def noise_behind(sd: float, step: float) -> float:
    """Give the noise before the display from the SD of displayed readings.

    Parameters
    ----------
    sd : float
        SD of displayed readings of one place, mm, from 0.
    step : float
        Display step, mm, above 0.

    Returns
    -------
    float
        mm: the inverse of `displayed_sd`.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.
    """
    _check(sd, step)
    if sd == 0.0:
        return 0.0
    small = math.sqrt(math.pi) * (sd / step) ** 2  # exact while it is small
    if small < _SMALL:
        return step * small
    return float(optimize.brentq(lambda noise: displayed_sd(noise, step) - sd, 0.0, 2.0 * sd, xtol=1e-15, rtol=1e-13))


def display_floor(
    k: int, sd: float, step: float, rng: np.random.Generator, *, p: float = 0.95, balls: int = 40_000
) -> Floor:
    """Give the diameter variation that a round ball shows in k readings.

    Parameters
    ----------
    k : int
        Readings, one at each axis, at least 2.
    sd : float
        SD of displayed readings at one place, mm, from 0.
    step : float
        Display step, mm, above 0.
    rng : numpy.random.Generator
        Seeded by the caller; used where the display is coarse.
    p : float
        Chance with which a round ball stays under `high`, between 0 and 1.
    balls : int
        Simulated where the display is coarse.

    Returns
    -------
    Floor
        Never NaN.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    `sd` from half a step on: d2(k) sd and the quantile of the range of k normal readings. Below: the noise behind the
    display (`noise_behind`), a ball anywhere between two steps, readings rounded, and their range.
    """
    _check(sd, step)
    faults = (
        [] if k >= 2 else [Fault("display_floor, k", str(k), "a whole number from 2", "a range needs two readings")]
    )
    if not 0.0 < p < 1.0:
        faults.append(Fault("display_floor, p", str(p), "a number between 0 and 1", "give 0.95 for 95 %"))
    if faults:
        raise BadRequest(faults)
    if sd >= 0.5 * step:
        return Floor(noise_floor(k, sd), range_quantile(k, p) * sd, p, sd, "d2(k) times the SD of displayed readings")
    noise = noise_behind(sd, step)
    place = rng.uniform(-0.5, 0.5, (balls, 1)) * step
    shown = np.rint((place + noise * rng.standard_normal((balls, k))) / step) * step
    ranges = np.ptp(shown, axis=1)
    notes = ["The display is coarser than the noise: a round ball shows no variation at most places, one step at some."]
    if sd == 0.0:
        notes.append("All repeats were equal: the noise is not known, only that it is small against the step.")
    high = float(np.quantile(ranges, p, method="inverted_cdf"))
    return Floor(float(ranges.mean()), high, p, noise, f"simulation of {balls:,} round balls", tuple(notes))


def _check(sd: float, step: float) -> None:
    """Say all that is out of range."""
    faults = []
    if not (math.isfinite(sd) and sd >= 0.0):
        faults.append(Fault("sd", f"{sd} mm", "a finite number from 0", "give the repeatability SD in mm"))
    if not (math.isfinite(step) and step > 0.0):
        faults.append(Fault("step", f"{step} mm", "a finite number above 0", "give the display step in mm"))
    if faults:
        raise BadRequest(faults)
