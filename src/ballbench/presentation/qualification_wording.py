"""Words and numbers of a qualification that pictures, tables and terminal share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.qualification import CalibrationFound, ComponentFound, DriftFound, PersonFound
from ballbench.findings.qualifying.words import rate_can_be_told
from ballbench.presentation.budget_wording import two_figures
from ballbench.presentation.numbers import number, with_unit
from ballbench.quantities.printed import with_sign
from ballbench.quantities.rounding import decimals_for
from ballbench.quantities.uncertain import coverage_factor

__all__ = [
    "component_words",
    "drift_remark",
    "known_words",
    "moments",
    "offset_words",
    "person_words",
    "reading_words",
    "signed",
    "span_words",
    "two_figures",
]

_COMPONENTS = {
    "repeatability": "repeats by one person",
    "person": "people",
    "person and ball": "people who read some balls otherwise",
    "reproducibility": "people together, both ways",
    "measurement": "one reading by anybody",
    "between balls": "the balls themselves",
}
_KNOWN = {"repeatability": "its noise", "calibration": "its own error"}


def component_words(one: ComponentFound) -> str:
    """Name a source of spread as a sentence does."""
    return _COMPONENTS.get(one.name, one.name)


def known_words(known: Sequence[str]) -> str:
    """Say which numbers of an instrument were found here."""
    words = [_KNOWN.get(name, name) for name in known]
    return " and ".join(words) or "nothing"


def reading_words(readings: int) -> str:
    """Say how two balls are read by one person, ``"one reading of each ball"``."""
    return "one reading of each ball" if readings == 1 else f"mean of {readings} readings of each ball"


def signed(values: Sequence[float]) -> list[str]:
    """Print errors with their signs, all with the decimals that the one of most has, four at most; 0 has no sign."""
    finest = max((len(f"{abs(value):.4f}".rstrip("0").partition(".")[2]) for value in values), default=0)
    return [with_sign(value, finest) for value in values]


def span_words(low: float, high: float) -> str:
    """Print an interval, ``"0.0075 to 0.013"``; empty where it is not known."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return ""
    if low <= 0.0 <= high:
        decimals = decimals_for(low, high)
        return f"{number(low, decimals)} to {number(high, decimals)}"
    return f"{two_figures(low)} to {two_figures(high)}"


def person_words(one: PersonFound, unit: str) -> str:
    """Print a person's offset with its interval."""
    if not (math.isfinite(one.low) and math.isfinite(one.high)):
        sign = "+" if one.difference > 0.0 else ""
        return with_unit(f"{sign}{two_figures(one.difference)}", unit)
    decimals = decimals_for(one.low, one.high)
    sign = "+" if one.difference > 0.0 else ""
    value = f"{sign}{number(one.difference, decimals)}"
    return f"{with_unit(value, unit)} ({number(one.low, decimals)} to {number(one.high, decimals)})"


def drift_remark(drift: DriftFound, unit: str) -> str:
    """Say in few words how fast readings moved, beyond noise, or that one check lay off."""
    if not drift.steady:
        return f"one check {with_unit(two_figures(abs(drift.jump)), unit)} off the first, beyond noise"
    way = "up" if drift.rate > 0.0 else "down"
    if not rate_can_be_told(drift):
        moved = with_unit(two_figures(abs(drift.rate) * drift.hours), unit)
        return f"moved {way} by {moved}, beyond noise; too close in time for a rate"
    a_time = "an hour" if math.isfinite(drift.hours) else "a check"
    return f"moved {way} by {with_unit(two_figures(abs(drift.rate)), unit)} {a_time}, beyond noise"


def offset_words(line: CalibrationFound, unit: str) -> str:
    """Say in few words what the instrument is off by at the size of the balls, and how well that is known."""
    half = coverage_factor(line.dof) * line.offset_sd
    decimals = decimals_for(line.offset - half, line.offset + half)
    sign = "+" if line.offset > 0.0 else ""
    value = with_unit(f"{sign}{number(line.offset, decimals)}", unit)
    span = f"{number(line.offset - half, decimals)} to {number(line.offset + half, decimals)}"
    return f"off by {value} there (95 %: {span})"


def moments(times: Sequence[str]) -> list[str]:
    """Print times in ISO 8601: the hour alone where all are of one day, their number where none is known."""
    if not all(times):
        return [f"check {k}" for k in range(1, len(times) + 1)]
    days = {time[:10] for time in times}
    if len(days) == 1 and all(len(time) > 10 for time in times):
        return [time[11:16] for time in times]
    return [time[5:16].replace("T", " ") for time in times]
