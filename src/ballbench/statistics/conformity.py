"""One uncertain value against limits: chance of conformity, guard bands, risks, and what a calibration would settle.

All values, uncertainties and limits of one call are in one unit; a limit that does not exist is None.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import integrate, special, stats

from ballbench.errors import BadRequest, Fault

__all__ = [
    "GlobalRisks",
    "GuardedLimits",
    "capability_index",
    "chance_calibration_decides",
    "global_risks",
    "guard_factor",
    "guarded_limits",
    "probability_inside",
]

Array = NDArray[np.float64]

_REACH = 9.0  # standard deviations; beyond lies 1e-19


@dataclass(frozen=True, slots=True)
class GuardedLimits:
    """Where a value has to lie for a clause to be met, or not met, beyond doubt.

    Parameters
    ----------
    met_low, met_high : float
        Acceptance zone; infinite where there is no limit.
    not_met_below, not_met_above : float
        A value beyond one of these proves that the clause is not met; infinite where there is no limit.
    guard : float
        Width of the guard band.
    empty : bool
        True: the guard bands meet, and no value can prove that the clause is met.
    """

    met_low: float
    met_high: float
    not_met_below: float
    not_met_above: float
    guard: float
    empty: bool


@dataclass(frozen=True, slots=True)
class GlobalRisks:
    """What happens to balls of one make under one decision rule, as shares of all balls.

    Parameters
    ----------
    consumer : float
        Bad and accepted.
    producer : float
        Good and rejected.
    nonconforming : float
        Bad, whatever was decided.
    """

    consumer: float
    producer: float
    nonconforming: float


def probability_inside(value: ArrayLike, u: ArrayLike, lower: float | None = None, upper: float | None = None) -> Array:
    """Give the chance that the true value is within the limits.

    Parameters
    ----------
    value, u : array_like of float
        Values and their standard uncertainties, shapes that broadcast; `u` not negative.
    lower, upper : float, optional
        Limits; at least one.

    Returns
    -------
    ndarray of float
        0 to 1; NaN where `value` or `u` is NaN. For ``u = 0`` it is 0 or 1, limits included.

    Raises
    ------
    BadRequest
        No limit, limits in the wrong order, or a negative `u`.

    Notes
    -----
    JCGM 106:2012, 7.3 to 7.4 (clauses from memory): Phi((upper - value)/u) - Phi((lower - value)/u), normal.
    """
    low, high = _limits(lower, upper)
    values, spreads = np.broadcast_arrays(np.asarray(value, dtype=np.float64), np.asarray(u, dtype=np.float64))
    if np.any(spreads < 0.0):
        raise BadRequest(Fault("u", str(u), "numbers from 0", "give standard uncertainties"))
    exact = spreads == 0.0
    safe = np.where(exact, 1.0, spreads)
    # Differences are taken in the nearer tail, so that small chances keep their figures.
    from_low, from_high = (low - values) / safe, (high - values) / safe
    flip = from_low > 0.0
    chance = special.ndtr(np.where(flip, -from_low, from_high)) - special.ndtr(np.where(flip, -from_high, from_low))
    sure = np.where(np.isnan(values), math.nan, ((values >= low) & (values <= high)).astype(np.float64))
    return np.where(exact, sure, chance)


def guard_factor(risk: float) -> float:
    """Give the guard band in units of the standard uncertainty that leaves a chance `risk` beyond the limit.

    Parameters
    ----------
    risk : float
        Between 0 and 0.5, both excluded.

    Returns
    -------
    float
        Pure number above 0.

    Raises
    ------
    BadRequest
        `risk` out of range.

    Notes
    -----
    Normal quantile. 0.05 gives 1.645; ISO 14253-1:2017 rounds it to 1.65 (from memory).
    """
    if not 0.0 < risk < 0.5:
        raise BadRequest(Fault("risk", str(risk), "a number between 0 and 0.5", "give 0.05 for 5 %"))
    return float(stats.norm.isf(risk))


def guarded_limits(
    u: float, lower: float | None = None, upper: float | None = None, factor: float = 1.65
) -> GuardedLimits:
    """Move the limits inward to prove that a clause is met, outward to prove that it is not.

    Parameters
    ----------
    u : float
        Standard uncertainty, not negative.
    lower, upper : float, optional
        Limits; at least one.
    factor : float
        Guard band in units of `u`, not negative: 1.65 for a chance of 95 % (ISO 14253-1:2017, from memory), 2 for the
        rule of its earlier editions, or `guard_factor` of a risk.

    Returns
    -------
    GuardedLimits
        In the unit of the limits.

    Raises
    ------
    BadRequest
        No limit, limits in the wrong order, or a negative or infinite `u` or `factor`.

    Notes
    -----
    ISO 14253-1; JCGM 106:2012, 8.3 (clause from memory). With two limits the stated chance holds while `u` is small
    against their distance; `probability_inside` holds always.
    """
    low, high = _limits(lower, upper)
    _check_numbers(u=u, factor=factor)
    guard = factor * u
    return GuardedLimits(low + guard, high - guard, low - guard, high + guard, guard, low + guard > high - guard)


def capability_index(lower: float, upper: float, u: float) -> float:
    """Give how many times the expanded uncertainty (k = 2) fits between the limits.

    Parameters
    ----------
    lower, upper : float
        Limits, in order.
    u : float
        Standard uncertainty of measurement, above 0.

    Returns
    -------
    float
        (upper - lower)/(4 u), pure number; 4 is the old rule "four to one".

    Raises
    ------
    BadRequest
        Limits in the wrong order, or `u` not above 0.

    Notes
    -----
    JCGM 106:2012, 7.6.3 (from memory).
    """
    low, high = _limits(lower, upper)
    if not (math.isfinite(u) and u > 0.0):
        raise BadRequest(Fault("u", str(u), "a finite number above 0", "give one standard uncertainty"))
    return (high - low) / (4.0 * u)


def global_risks(
    mean: float,
    sd: float,
    u: float,
    lower: float | None = None,
    upper: float | None = None,
    *,
    guard: float = 0.0,
) -> GlobalRisks:
    """Give the shares of balls that are wrongly accepted and wrongly rejected.

    Parameters
    ----------
    mean, sd : float
        Of the true values of the balls, normal; `sd` above 0.
    u : float
        Standard uncertainty of one measurement, normal, above 0.
    lower, upper : float, optional
        Limits of the clause; at least one.
    guard : float
        Width by which the acceptance limits lie inside them; negative: outside.

    Returns
    -------
    GlobalRisks
        Shares of all balls; when the guard leaves no acceptance zone, every ball is rejected.

    Raises
    ------
    BadRequest
        No limit, limits in the wrong order, `sd` or `u` not above 0, or a number that is not finite.

    Notes
    -----
    JCGM 106:2012, 9.5 (clause from memory): the joint distribution of true and measured value, integrated over the
    true value by adaptive quadrature.
    """
    low, high = _limits(lower, upper)
    _check_numbers(sd=sd, u=u)
    faults = [Fault(n, str(x), "a finite number", "change it") for n, x in (("mean", mean), ("guard", guard))
              if not math.isfinite(x)]  # fmt: skip
    faults += [Fault(n, "0", "a number above 0", "change it") for n, x in (("sd", sd), ("u", u)) if x == 0.0]
    if faults:
        raise BadRequest(faults)
    accept_low, accept_high = low + guard, high - guard
    tails = special.ndtr((low - mean) / sd), special.ndtr((mean - high) / sd)
    nonconforming = float(tails[0] + tails[1])
    if accept_low >= accept_high:
        return GlobalRisks(0.0, 1.0 - nonconforming, nonconforming)

    def accepted(z: float) -> float:
        true = mean + sd * z
        inside = special.ndtr((accept_high - true) / u) - special.ndtr((accept_low - true) / u)
        return float(inside) * math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)

    def rejected(z: float) -> float:
        true = mean + sd * z
        outside = special.ndtr((true - accept_high) / u) + special.ndtr((accept_low - true) / u)
        return float(outside) * math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)

    first, last = (min(max((edge - mean) / sd, -_REACH), _REACH) for edge in (low, high))
    turns = [(edge - mean) / sd for edge in (accept_low, accept_high) if math.isfinite(edge)]
    cuts = [0.0, *(turn + step * u / sd for turn in turns for step in (-_REACH, 0.0, _REACH))]
    consumer = _integral(accepted, -_REACH, first, cuts) + _integral(accepted, last, _REACH, cuts)
    return GlobalRisks(consumer, _integral(rejected, first, last, cuts), nonconforming)


def chance_calibration_decides(margin: float, u: float, u_after: float, risk: float = 0.05) -> float:
    """Give the chance that a calibration which reduces the uncertainty decides a clause, either way.

    Parameters
    ----------
    margin : float
        Distance of the value from the limit, of either sign.
    u, u_after : float
        Standard uncertainty before and after, 0 <= u_after <= u.
    risk : float
        Of the guarded rule, between 0 and 0.5.

    Returns
    -------
    float
        0 to 1. Where nothing is gained (u_after = u) it is 1 if the clause is decided already, else 0.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    The value after calibration is normal about the present one with variance v^2 = u^2 - u_after^2, and the clause is
    decided when it lies at least z u_after from the limit, z = `guard_factor`: with m the margin,
    Phi((|m| - z u_after)/v) + Phi((-|m| - z u_after)/v). Own derivation from the guarded rule, one limit.
    """
    z = guard_factor(risk)
    _check_numbers(u=u, u_after=u_after)
    if u_after > u or not math.isfinite(margin):
        raise BadRequest(
            Fault("margin, u_after", f"{margin}, {u_after}", f"a finite margin, u_after up to {u}", "change them")
        )
    gained = math.sqrt((u - u_after) * (u + u_after))
    if gained == 0.0:
        return 1.0 if abs(margin) >= z * u else 0.0
    away = abs(margin)
    return float(special.ndtr((away - z * u_after) / gained) + special.ndtr((-away - z * u_after) / gained))


def _integral(density: Callable[[float], float], a: float, b: float, cuts: list[float]) -> float:
    """Integrate from a to b piece by piece, so that no narrow turn between the cuts is missed."""
    places = sorted({a, b, *(cut for cut in cuts if a < cut < b)})
    return math.fsum(
        float(integrate.quad(density, *piece, epsabs=1e-13, epsrel=1e-11)[0]) for piece in pairwise(places)
    )


def _limits(lower: float | None, upper: float | None) -> tuple[float, float]:
    """Return the limits, infinite where there is none."""
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    if (lower is None and upper is None) or not low < high:
        raise BadRequest(
            Fault("limits", f"lower {lower}, upper {upper}", "one limit, or two in order", "check the limits")
        )
    return low, high


def _check_numbers(**numbers: float) -> None:
    """Say which are not finite or negative."""
    faults = [
        Fault(name, str(value), "a finite number from 0", "change it")
        for name, value in numbers.items()
        if not (math.isfinite(value) and value >= 0.0)
    ]
    if faults:
        raise BadRequest(faults)
