"""What a qualification says in sentences: what the instrument tells apart, what it is off by, whether it moved."""

from __future__ import annotations

import math
from collections.abc import Iterator

from scipy import stats

from ballbench.findings.qualification import (
    CalibrationFound,
    ComponentFound,
    DriftFound,
    PersonFound,
    Qualification,
    RepeatsFound,
    SqueezeFound,
    ToleranceShare,
)
from ballbench.findings.qualifying.round_balls import SHOWN_AXES, round_ball_words

__all__ = ["qualification_sentences", "rate_can_be_told", "round_ball_sentences", "two_figures"]

A_QUARTER = 0.25
"""Common practice, no source: an uncertainty up to a quarter of the room between the limits leaves room to decide."""

POWER_80 = 0.8416
"""Standard normal quantile of 0.80: a true difference so many SDs beyond the critical one is seen so often."""

Z_95 = 1.959964
"""Standard normal quantile of 0.975."""

LEAST_HOURS = 0.5
"""Checks that all lie within less are too close in time to tell a rate an hour (own choice)."""

LEAST_HALF = 1e-6
"""Of a step: an interval no wider than this is that of equal readings."""


def two_figures(value: float) -> str:
    """Write a positive number with two significant figures, never in powers of ten."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else "not known"
    decimals = max(1 - math.floor(math.log10(abs(value))), 0)
    return f"{value:.{decimals}f}"


def qualification_sentences(found: Qualification) -> list[str]:
    """Give the answer in one sentence, then what else there is to say.

    Parameters
    ----------
    found : Qualification
        With everything but its sentences.
    """
    out: list[str] = []
    if found.repeats is not None:
        out += _repeats(found.repeats, found.instrument.name, found.unit, found.instrument.resolution)
        out += round_ball_sentences(found)
    if found.calibration is not None:
        out.append(_calibration(found.calibration, found))
    out += _checks(found)
    out += [_drift(one, found.unit) for one in found.drift]
    out += [_squeeze(one) for one in found.squeeze]
    out += [_share(one, found) for one in found.tolerance]
    if found.budget is not None and found.budget.sentence:
        out.append(_people_outweigh(found) or found.budget.sentence)
    return out


def round_ball_sentences(found: Qualification) -> list[str]:
    """Say what a perfectly round ball shows; nothing where it was not studied."""
    return [round_ball_words([one], found.instrument) for one in found.round_ball if one.axes == SHOWN_AXES]


def _people_outweigh(found: Qualification) -> str:
    """Say that it is the people whose difference outweighs the rest, where the entry's offset holds mostly that."""
    if found.budget is None or found.budget.dominant != "offset" or found.repeats is None or found.repeats.people < 2:
        return ""
    own = found.calibration.offset_sd if found.calibration is not None else 0.0
    if found.calibration is None or own > 0.5 * found.instrument.offset_sd:
        return ""
    return (
        "What people do differently outweighs everything else: let a third person read the same balls, or let one "
        "person read everything, the checks too."
    )


def _component(found: RepeatsFound, name: str) -> ComponentFound | None:
    return next((one for one in found.components if one.name == name), None)


def _repeats(found: RepeatsFound, tool: str, unit: str, step: float) -> Iterator[str]:
    one = found.telling[0]
    yield (
        f"Two balls must read {two_figures(one.same)} {unit} apart before this {tool}, in these hands, tells them "
        "apart with one reading of each at one place (95 %)."
    )
    for more in found.telling[1:]:
        less = two_figures(more.same) != two_figures(one.same) and more.same < one.same
        why = "" if less else ": no less, for what no mean takes away is known from this small study only roughly"
        yield f"With the mean of {more.readings} readings of each ball that is {two_figures(more.same)} {unit}{why}."
    truly = two_figures(one.same + POWER_80 * _sd_apart(found, step))
    yield f"Balls that truly differ by {truly} {unit} there are told apart by one reading of each 80 times in 100."
    if math.isfinite(one.different):
        yield f"By two people, one ball each, they must read {two_figures(one.different)} {unit} apart."
    noise = _component(found, "repeatability")
    if noise is not None:
        yield (
            f"Repeated readings of one ball at one place scatter with an SD of {two_figures(noise.sd)} {unit} "
            f"(95 % interval {two_figures(noise.low)} to {two_figures(noise.high)}, {noise.dof:.0f} degrees of "
            "freedom)."
        )
    yield from _people(found, unit, step)


def _sd_apart(found: RepeatsFound, step: float) -> float:
    """Give the SD of the difference of two balls, one reading of each by one person, a coarse display's rounding in."""
    parts = (_component(found, name) for name in ("repeatability", "person and ball"))
    rounding = step / math.sqrt(12.0) if found.coarse else 0.0
    return math.sqrt(2.0) * math.hypot(rounding, *(one.sd for one in parts if one is not None))


def _people(found: RepeatsFound, unit: str, step: float) -> Iterator[str]:
    people = _component(found, "reproducibility")
    if people is None:
        return
    if people.negative and people.sd == 0.0:
        yield (
            "The people differ by no more than their own repeats let expect: the estimate of their share came out "
            f"below zero and is put to zero; it may still be up to {two_figures(people.high)} {unit}."
        )
    else:
        yield (
            f"From person to person the readings move with an SD of {two_figures(people.sd)} {unit} (95 % interval "
            f"{two_figures(people.low)} to {two_figures(people.high)})."
        )
    apart = [one for one in found.people_found if _stands_apart(one, found, step)]
    if len(found.people_found) == 2 and apart:
        first, second = sorted(found.people_found, key=lambda one: one.difference)
        more = two_figures(second.difference - first.difference)
        yield f"{second.person} reads {more} {unit} more than {first.person} on the same balls."
        return
    for one in apart:
        way = "higher" if one.difference > 0.0 else "lower"
        yield f"{one.person} reads {two_figures(abs(one.difference))} {unit} {way} than the mean of all."


def _stands_apart(one: PersonFound, found: RepeatsFound, step: float) -> bool:
    """Say whether a person's difference from all is beyond chance.

    With three people or more the interval is that of Bonferroni; where not everybody read everything its degrees of
    freedom are not known here, and those of all places stand for them. Readings that a coarse display makes equal have
    an interval of no width: it is never less than 1.96 step/sqrt(6) to either side, rounding of two readings (own
    choice).
    """
    if not math.isfinite(one.low):
        return False
    half = 0.5 * (one.high - one.low)
    if found.people > 2 and found.places > 1:
        dof = found.places - 1
        half *= float(stats.t.isf(0.025 / found.people, dof) / stats.t.isf(0.025, dof))
    if found.coarse or half < LEAST_HALF * step:
        half = max(half, Z_95 * step / math.sqrt(6.0))
    return abs(one.difference) > half


def _calibration(found: CalibrationFound, of: Qualification) -> str:
    unit, tool = of.unit, of.instrument.name
    way = "high" if found.offset > 0.0 else "low"
    size = f"at {found.at:.5g} {unit}"
    if found.error_low <= 0.0 <= found.error_high:
        offset = f"{found.offset:+.2g}".replace("-", "\N{MINUS SIGN}")
        text = (
            f"Against its reference pieces the {tool} is off by no more than can be told {size}: {offset} {unit}, "
            f"standard uncertainty {two_figures(found.offset_sd)} {unit}."
        )
    else:
        text = (
            f"The {tool} reads {two_figures(abs(found.offset))} {unit} too {way} {size} (standard uncertainty "
            f"{two_figures(found.offset_sd)} {unit}); results are corrected for it, the readings stay as they are."
        )
    if found.pieces == 1:
        text += " One piece says nothing of other sizes."
    if math.isfinite(found.fit_p) and found.fit_p < 0.05:
        text += " The pieces do not lie on one line: look at each of them again."
    return text


def _checks(found: Qualification) -> Iterator[str]:
    failed = [one for one in found.checks if not one.passed]
    if not found.checks:
        return
    if not failed:
        yield (
            f"All {len(found.checks)} checks against reference pieces passed."
            if len(found.checks) > 1
            else ("The one check against a reference piece passed.")
        )
        return
    first = failed[0]
    when = f" ({first.time[:16].replace('T', ' ')})" if first.time else ""
    offset = f", beside the {first.expected:.2g} that it was stated to read too much" if first.expected else ""
    yield (
        f"{len(failed)} of {len(found.checks)} checks failed, the first on {first.piece}{when}: read "
        f"{first.value:.6g} {found.unit}, known {first.known:.6g}, allowed {two_figures(first.allowed)} apart{offset}."
    )


def rate_can_be_told(one: DriftFound) -> bool:
    """Say whether the checks are far enough apart to speak of a rate; where no time is known it is a check's."""
    return not one.hours < LEAST_HOURS


def _minutes(hours: float) -> str:
    minutes = round(60.0 * hours)
    return "less than a minute" if minutes < 1 else "1 min" if minutes == 1 else f"{minutes} min"


def _too_close(one: DriftFound, unit: str) -> str:
    """Say what checks a few minutes apart do tell: whether anything moved between them, and no rate."""
    if one.beyond_noise and one.steady:
        way, moved = "up" if one.rate > 0.0 else "down", two_figures(abs(one.rate) * one.hours)
        seen = f"the readings moved {way} by {moved} {unit}, beyond noise,"
    else:
        seen = "no drift is seen beyond noise"
    return (
        f"On {one.piece} {seen} over {one.checks} checks within {_minutes(one.hours)}: too close in time to tell a "
        "rate. Read the piece at the start, in the middle and at the end of a session. Readings between the checks "
        f"carry {two_figures(one.carried)} {unit}."
    )


def _drift(one: DriftFound, unit: str) -> str:
    a_time = "an hour" if math.isfinite(one.hours) else "a check"
    if not rate_can_be_told(one) and (one.steady or not one.beyond_noise):
        return _too_close(one, unit)
    if not one.beyond_noise:
        most = max(abs(one.low), abs(one.high))
        return (
            f"On {one.piece} no drift is seen beyond noise over {one.checks} checks; it could be up to "
            f"{two_figures(most)} {unit} {a_time}, and readings between the checks carry "
            f"{two_figures(one.carried)} {unit} for it."
        )
    if not one.steady:
        side = "above" if one.jump > 0.0 else "below"
        return (
            f"On {one.piece} one check lay {two_figures(abs(one.jump))} {unit} {side} the first, beyond noise; not a "
            f"steady drift. Readings between the checks carry {two_figures(one.carried)} {unit} for it."
        )
    way = "up" if one.rate > 0.0 else "down"
    return (
        f"On {one.piece} the readings moved {way} by {two_figures(abs(one.rate))} {unit} {a_time}; readings between "
        f"the checks carry {two_figures(one.carried)} {unit} for it."
    )


def _squeeze(one: SqueezeFound) -> str:
    text = (
        f"At {one.force:.2g} N the jaws make a ball of {one.product} {two_figures(one.value)} mm smaller (standard "
        f"uncertainty {two_figures(one.sd)} mm)."
    )
    if math.isfinite(one.expected_low):
        text += (
            f" A ball of that wall and material should give way {one.expected_low:.2g} to {one.expected_high:.2g} mm."
        )
    return text


def _share(one: ToleranceShare, found: Qualification) -> str:
    text = (
        f"Between the limits of a single ball ({one.title}) lie {one.room:.3g} {found.unit}; the uncertainty of one "
        f"reading on either side takes {100 * one.share:.0f} % of that"
    )
    if one.share <= A_QUARTER:
        return text + ", which leaves room to decide."
    return text + ": many balls near a limit will stay undecided (up to a quarter is common practice, no source)."
