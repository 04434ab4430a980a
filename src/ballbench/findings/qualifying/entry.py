"""The instrument's entry in the bench: what was found here put into what was known before."""

from __future__ import annotations

import math
from dataclasses import replace

from scipy import stats

from ballbench.findings.qualification import ComponentFound, DriftFound, RepeatsFound
from ballbench.quantities.propagation import effective_dof
from ballbench.records.bench import Instrument

__all__ = ["MANY_TIMES", "people_notes", "people_sd", "widened", "with_calibration", "with_noise", "with_repeats"]

LEAST_DOF = 1.0
"""Degrees of freedom below which nothing is widened further (own choice: those of two people, or of two balls)."""

MANY_TIMES = 3
"""Check times from which a piece tells how far the instrument may move between checks (own choice)."""


def widened(sd: float, dof: float) -> float:
    """Widen a standard uncertainty for its few degrees of freedom, where a bench file has no room for them.

    Parameters
    ----------
    sd, dof : float
        Standard uncertainty and its degrees of freedom; NaN counts as one.

    Returns
    -------
    float
        sd t/1.96, so that 1.96 of it reach as far as t of `sd` (JCGM 100:2008, G.3.2); 6.5 times from `LEAST_DOF` down.
    """
    free = max(dof, LEAST_DOF) if not math.isnan(dof) else LEAST_DOF
    return sd * float(stats.t.isf(0.025, free) / stats.norm.isf(0.025))


def with_noise(tool: Instrument, found: RepeatsFound) -> Instrument:
    """Put the repeatability alone into an instrument: the noise of one person who reads one piece again and again.

    Parameters
    ----------
    tool : Instrument
        As it was stated or assumed.
    found : RepeatsFound
        The study.

    Returns
    -------
    Instrument
        With the SD of displayed readings: the noise before rounding of a coarse display gets its rounding back, step
        squared over 12 (JCGM 100:2008, F.2.2.1).
    """
    one = _component(found, "repeatability")
    if one is None:
        return tool
    sd = math.sqrt(one.sd**2 + tool.resolution**2 / 12.0) if found.coarse else one.sd
    return replace(tool, sd=sd, dof=one.dof if math.isfinite(one.dof) else tool.dof, assumed=False)


def with_repeats(tool: Instrument, found: RepeatsFound, *, one_person: bool) -> Instrument:
    """Put a repeat study into an instrument's entry.

    Parameters
    ----------
    tool : Instrument
        As it was stated or assumed, or with its calibration found.
    found : RepeatsFound
        The study.
    one_person : bool
        One of its people reads everything later, and read the checks: what this person always does is then in the
        offset, and differences between people count for nothing.

    Returns
    -------
    Instrument
        `sd`: repeatability, and what people do differently from ball to ball, in squares. `offset_sd`: with the SD
        between people, widened (`people_sd`), in squares.
    """
    noise = with_noise(tool, found)
    ball = _component(found, "person and ball")
    if ball is not None and ball.sd > 0.0:
        free = max(ball.dof, LEAST_DOF) if math.isfinite(ball.dof) else LEAST_DOF
        dof = effective_dof([noise.sd, ball.sd], [noise.dof, free])
        noise = replace(noise, sd=math.hypot(noise.sd, ball.sd), dof=dof)
    people = 0.0 if one_person else people_sd(found)
    return replace(noise, offset_sd=math.hypot(noise.offset_sd, people)) if people else noise


def people_sd(found: RepeatsFound) -> float:
    """Give the SD between people, widened for their number; 0 with one person, or where none was found."""
    people = _component(found, "person")
    return 0.0 if people is None or people.sd == 0.0 else widened(people.sd, people.dof)


def people_notes(found: RepeatsFound, unit: str, *, one_person: bool, added: bool) -> tuple[str, ...]:
    """Say what of people is in the entry, and what is left out; `added`: to an offset_sd that was stated."""
    if found.people < 2:
        return ("one person read: how far another person's readings would be off is not in the entry",)
    if one_person:
        return (
            "differences between people are left out of the entry: one person reads everything and read the checks",
        )
    people = _component(found, "person")
    if people is None:
        return ("the people read no place in common: their differences are left out of the entry",)
    if people.sd == 0.0:
        return ("no difference between the people was found, so none is in offset_sd; there may still be one",)
    times = people_sd(found) / people.sd
    held = (
        f"offset_sd holds the SD between people, {people.sd:.2g} {unit}, {times:.1f} times as large (t/1.96 for its "
        "degrees of freedom, not fewer than one: own choice), so that a mean by another person is covered; who read "
        "the checks is not told apart, and their own share of the offset is left out"
    )
    twice = "where the offset_sd stated beforehand held differences between people, they are in it twice"
    return (held, twice) if added else (held,)


def _component(found: RepeatsFound, name: str) -> ComponentFound | None:
    return next((one for one in found.components if one.name == name), None)


def with_calibration(tool: Instrument, offset: float, offset_sd: float, drifts: tuple[DriftFound, ...]) -> Instrument:
    """Put offset and its uncertainty into the entry, and what the instrument may have moved between checks.

    Parameters
    ----------
    tool : Instrument
        As it was.
    offset, offset_sd : float
        Of the calibration line at the balls' size.
    drifts : tuple of DriftFound
        Of its pieces; the largest `carried` of those with three check times or more is carried, seen beyond noise or
        not: a drift that hides in noise is not shown to be none.
    """
    carried = max((one.carried for one in drifts if one.checks >= MANY_TIMES), default=0.0)
    return replace(tool, offset=offset, offset_sd=math.hypot(offset_sd, carried), scale_sd=0.0)
