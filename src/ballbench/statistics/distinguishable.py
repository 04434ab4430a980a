"""How far apart two balls must be for an instrument in these hands to tell them apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.statistics.repeat_study import Component, RepeatStudy
from ballbench.statistics.spread import sd_interval

__all__ = ["Distinguishable", "distinguishable", "tells_apart"]


@dataclass(frozen=True, slots=True)
class Distinguishable:
    """The smallest difference of two balls that is beyond what readings of equal balls differ by.

    Parameters
    ----------
    difference : float
        A difference as read that is larger than this is beyond chance at `confidence`, with Student's t for a noise
        that is itself an estimate.
    typical, low, high : float
        The same if the noise were known to be the estimate, and with the ends of its interval.
    sd : float
        Standard deviation of the difference.
    dof : float
        Its degrees of freedom.
    confidence : float
        As asked for.
    """

    difference: float
    typical: float
    low: float
    high: float
    sd: float
    dof: float
    confidence: float


def distinguishable(
    sd: float, dof: float, readings: int = 1, *, lasting: tuple[float, float] | None = None, confidence: float = 0.95
) -> Distinguishable:
    """Say how far apart the means of two balls must be read to differ.

    Parameters
    ----------
    sd, dof : float
        Repeatability SD of single readings, not negative, and its degrees of freedom, above 0.
    readings : int
        Of each ball, 1 or more.
    lasting : (float, float), optional
        SD, with degrees of freedom, of what more readings of a ball do not average out: what people do differently.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    Distinguishable
        ``t sqrt(2) sqrt(sd^2/readings + lasting^2)``; degrees of freedom by JCGM 100:2008, equation G.2b.

    Raises
    ------
    BadRequest
        Arguments out of range.
    """
    extra, extra_dof = (0.0, math.inf) if lasting is None else lasting
    faults = []
    if not (0.0 <= sd < math.inf and 0.0 <= extra < math.inf and sd + extra > 0.0):
        faults.append(Fault("distinguishable, SD", f"{sd:g} and {extra:g}", "not negative, one above 0", "give SDs"))
    if not (dof > 0.0 and extra_dof > 0.0):
        faults.append(Fault("distinguishable, dof", f"{dof:g} and {extra_dof:g}", "above 0", "give those of the SDs"))
    if readings < 1:
        faults.append(Fault("distinguishable, readings", f"{readings}", "1 or more", "give those of each ball"))
    if not 0.0 < confidence < 1.0:
        faults.append(Fault("distinguishable, confidence", f"{confidence:g}", "between 0 and 1", "give 0.95 for 95 %"))
    if faults:
        raise BadRequest(faults)
    noise, stays = sd**2 / readings, extra**2
    one = noise + stays
    free = one**2 / (noise**2 / dof + stays**2 / extra_dof) if noise**2 / dof + stays**2 / extra_dof else math.inf
    apart = math.sqrt(2.0 * one)
    tail = (1.0 - confidence) / 2.0
    z, t = float(stats.norm.isf(tail)), float(stats.t.isf(tail, free))
    ends = sd_interval(apart, free, confidence) if math.isfinite(free) else None
    low, high = (ends.low, ends.high) if ends is not None else (apart, apart)
    return Distinguishable(t * apart, z * apart, z * low, z * high, apart, free, confidence)


def tells_apart(study: RepeatStudy, readings: int = 1, *, same_person: bool = True) -> Distinguishable:
    """Say how far apart balls must be read in the hands of a repeat study.

    Parameters
    ----------
    study : RepeatStudy
        The instrument, and who used it.
    readings : int
        Of each ball, 1 or more.
    same_person : bool
        One person reads both balls, so that what this person always does cancels; otherwise two people read one each.

    Returns
    -------
    Distinguishable
        At the confidence of the study. Under a coarse display the rounding, step squared over 12, is the same in every
        reading of a ball and so lasts; and no limit is below one step, the least that two readings can differ by.

    Raises
    ------
    BadRequest
        `readings` under 1, or different people where the study says nothing about people.
    """
    noise = study.repeatability
    stays = study.interaction if same_person else study.reproducibility
    if stays is None and not same_person:
        found, allowed = "a study that says nothing about people", "one in which two people read the same balls"
        raise BadRequest(Fault("different people", found, allowed, "let a second person read the balls"))
    step = study.resolution if study.coarse and study.resolution is not None else 0.0
    lasting = _lasting(stays, step)
    told = distinguishable(noise.sd, noise.dof, readings, lasting=lasting, confidence=study.confidence)
    return replace(
        told,
        difference=max(told.difference, step),
        typical=max(told.typical, step),
        low=max(told.low, step),
        high=max(told.high, step),
    )


def _lasting(stays: Component | None, step: float) -> tuple[float, float] | None:
    """Put what people do differently and the rounding of a coarse display together; degrees of freedom by G.2b.

    An SD whose own degrees of freedom are not known is taken as it is.
    """
    people = 0.0 if stays is None else stays.sd**2
    variance = people + step**2 / 12.0
    if variance == 0.0:
        return None
    known = stays is not None and people > 0.0 and math.isfinite(stays.dof)
    dof = stays.dof * (variance / people) ** 2 if stays is not None and known else math.inf
    return math.sqrt(variance), dof
