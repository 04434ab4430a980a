"""Whether a clause can be tested at all with what is known; if not, why and what to do."""

from __future__ import annotations

import re
from collections.abc import Mapping

import numpy as np

from ballbench.quantities.units import UnitError, factor, parse_quantity
from ballbench.records import Bench, Sample
from ballbench.specs import Clause, Reading
from ballbench.statistics.preparation import EXTREMES

__all__ = ["unmet_condition", "why_not_tested"]

NEAR = 0.005
"""A height or load that is within half a per cent of the rule's is the rule's (own choice, no source)."""
SLIPS = (
    (25.4, "25 times"), (1 / 25.4, "a 25th of"), (28.35, "28 times"), (1 / 28.35, "a 28th of"), (10.0, "10 times"),
    (0.1, "a tenth of"), (100.0, "100 times"), (0.01, "a hundredth of"), (1000.0, "1000 times"), (0.001, "a 1000th of"),
)  # fmt: skip
"""Factors between millimetres and inches, grams and ounces, and powers of ten."""
SLIP_WIDTH = 0.08
_SPAN = re.compile(r"^\s*(?P<low>[+-]?[\d.]+)\s*to\s*(?P<high>[+-]?[\d.]+)\s*(?P<unit>\S.*)?$")
_TEMPERATURES = {
    "degC": (1.0, 0.0),
    "°C": (1.0, 0.0),
    "degF": (5.0 / 9.0, -160.0 / 9.0),
    "°F": (5.0 / 9.0, -160.0 / 9.0),
}


def why_not_tested(
    clause: Clause,
    sample: Sample | None,
    bench: Bench,
    facts: Mapping[str, str],
    *,
    accept_unverified: bool,
    answered: int,
    sample_size: int | None,
) -> str | None:
    """Say why a clause is not tested, as a sentence with what to do; None when it can be.

    Parameters
    ----------
    clause : Clause
        To be tested.
    sample : Sample or None
        Readings of its quantity.
    bench : Bench
        Conditions that held.
    facts : mapping of str to str
        Facts that every ball of the product shares, such as conditioning, by condition name.
    accept_unverified : bool
        Limits seen only in memory may decide.
    answered : int
        How many balls have yes/no results of its quantity; 0 for none.
    sample_size : int or None
        How many balls the requirement asks for.
    """
    if not clause.decides:
        return (
            "the clause names a value without a tolerance, which decides nothing; "
            "declare a tolerance of your own to judge by it"
        )
    if clause.source.seen == "memory" and not accept_unverified:
        return "its limit is from memory only; check it in the rule book and pass --accept-unverified to judge by it"
    if clause.count is not None:
        return _of_count(clause, answered, sample_size)
    if sample is None:
        return f"no readings of {clause.quantity} were given"
    return unmet_condition(clause, bench, facts) or _of_sample(clause, sample, sample_size)


def _of_count(clause: Clause, answered: int, sample_size: int | None) -> str | None:
    """Reasons of a clause on yes/no results."""
    rule = clause.count
    if rule is not None and None not in (rule.at_least, rule.at_most) and (rule.at_least or 0) > (rule.at_most or 0):
        limits = f"at least {rule.at_least} and at most {rule.at_most}"
        return f"the clause has limits that exclude each other ({limits}); correct the requirement"
    if answered == 0:
        return f"no yes or no results of {clause.quantity} were given"
    allowed = clause.readings[0].allowed_outside
    if allowed and sample_size is not None and answered != sample_size:
        return f"the clause allows {allowed} of {sample_size} balls outside, and {answered} have results"
    return None


def _of_sample(  # noqa: PLR0911 - one return for each reason
    clause: Clause, sample: Sample, sample_size: int | None
) -> str | None:
    """Reasons that lie in the number of balls and places, and in the display."""
    balls, places = len(sample.balls), len(sample.axes)
    turned = any(axis in EXTREMES for axis in sample.axes)
    for reading in clause.readings:
        if reading.lower is not None and reading.upper is not None and reading.lower.value > reading.upper.value:
            limits = f"{reading.lower.text} {reading.lower.unit} and {reading.upper.text} {reading.upper.unit}"
            return f"the clause has limits that exclude each other ({limits}); correct the requirement"
        if reading.sample in ("sd", "range") and balls < 2:
            return "the clause speaks of the spread between balls, and one ball was read"
        if reading.ball in ("range", "midrange") and clause.quantity == "diameter" and places < 2 and not turned:
            return f"the clause needs two diameters of a ball or more ({reading.ball}), and one was read"
        wanted = sample_size or balls
        if reading.allowed_outside and balls > wanted:
            allowed = f"{reading.allowed_outside} of {wanted} balls"
            return f"the clause allows {allowed} outside and does not say how many of {balls}"
        if reading.allowed_outside and balls < wanted and balls < 4:
            return f"the clause counts balls outside among {wanted}; {balls} read are too few to predict the rest"
        slip = _unit_slip(reading, sample)
        if slip is not None:
            return slip
        width = _width(clause)
        if width is not None and width < 0.5 * sample.step:
            return "the clause is finer than half a step of the display, so that this instrument cannot answer it"
    return None


def _unit_slip(reading: Reading, sample: Sample) -> str | None:
    """Every reading off the limits by a factor that only a wrong unit explains."""
    limits = [limit.value for limit in (reading.lower, reading.upper) if limit is not None and limit.value > 0]
    if not limits or reading.ball == "range" or reading.sample in ("sd", "range"):
        return None
    ratio = float(np.median(sample.values)) / float(np.mean(limits))
    for factor_, words in SLIPS:
        if abs(ratio / factor_ - 1.0) < SLIP_WIDTH:
            return f"every reading is about {words} the clause's limit; check the unit of the readings"
    return None


def _width(clause: Clause) -> float | None:
    """Narrowest span that a clause leaves, base unit: of a spread, its upper limit; None when one-sided."""
    spans = []
    for reading in clause.readings:
        if reading.upper is None:
            continue
        if reading.lower is not None:
            spans.append(reading.upper.value - reading.lower.value)
        elif reading.ball == "range" or reading.sample in ("sd", "range"):
            spans.append(reading.upper.value)
    return min(spans) if spans else None


def unmet_condition(clause: Clause, bench: Bench, facts: Mapping[str, str]) -> str | None:
    """Say which of a clause's conditions is unknown or differs, as a sentence part; None where all hold.

    Parameters
    ----------
    clause, bench, facts
        As in `why_not_tested`; a fact comes before the bench's own word.
    """
    unknown = []
    for name, wanted in clause.conditions.items():
        words = name.replace("_", " ")
        have = facts.get(name) or bench.conditions.get(name)
        if have is None and name == "temperature" and bench.temperature is not None:
            have = f"{bench.temperature.value} degC"
        if have is None:
            unknown.append((name, f"{words} {wanted}"))
        elif not _holds(wanted, have):
            return f"the clause holds at {words} {wanted}, and the readings were taken at {have}"
    if not unknown:
        return None
    names = " and ".join(name for name, _ in unknown)
    wants = ", ".join(words for _, words in unknown)
    return (
        f"the clause holds at {wants}, and it is not said what held; put {names} under [conditions] of the bench file"
    )


def _holds(wanted: str, have: str) -> bool:
    """Whether a condition that held is the one wanted: numbers by value, words by wording."""
    span = _SPAN.match(wanted)
    try:
        number, unit = parse_quantity(have)
        value = float(number)
        if span is not None:
            low, high = float(span["low"]), float(span["high"])
            value = _in_unit(value, unit, (span["unit"] or "1").strip())
            return low - NEAR * abs(low) <= value <= high + NEAR * abs(high)
        target, target_unit = parse_quantity(wanted)
        return abs(_in_unit(value, unit, target_unit) - float(target)) <= NEAR * abs(float(target))
    except (UnitError, ValueError):
        return wanted.strip().casefold() == have.strip().casefold()


def _in_unit(value: float, unit: str, to: str) -> float:
    if unit in _TEMPERATURES and to in _TEMPERATURES:
        slope, shift = _TEMPERATURES[unit]
        slope_to, shift_to = _TEMPERATURES[to]
        return (value * slope + shift - shift_to) / slope_to
    return value * factor(unit, to)
