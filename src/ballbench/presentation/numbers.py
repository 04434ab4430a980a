"""Numbers in sentences: no finer than their interval, and never rounded across a limit or a threshold.

How many figures an interval supports is said by `ballbench.quantities.rounding`; here it meets limits and words.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from ballbench.findings.results import Truth
from ballbench.quantities.printed import number
from ballbench.quantities.rounding import decimals_for, format_value

__all__ = ["as_read_number", "interval", "measured", "number", "percent", "share", "truth_decimals", "with_unit"]

_UNKNOWN = format_value(math.nan, 0)
_AS_IF_NEVER = 5e-4  # a simulated share this near 0 or 1 is printed as a bound (own choice)


def with_unit(text: str, unit: str) -> str:
    """Put the unit behind a printed number; a pure number (``"1"``) has none, and what is not known has none."""
    return text if unit in {"", "1"} or text == _UNKNOWN else f"{text} {unit}"


def truth_decimals(truth: Truth, limits: Iterable[float | None] = ()) -> int:
    """Give the decimals for a truth, raised until its median is not rounded onto a limit, nor an end across one.

    Parameters
    ----------
    truth : Truth
        Median and interval.
    limits : iterable of float or None
        Limits in the same unit.

    Returns
    -------
    int
        At most two more than the interval alone supports.
    """
    start = decimals_for(truth.low, truth.high)
    known = [limit for limit in limits if limit is not None]

    def keeps_sides(decimals: int) -> bool:
        low, median, high = (float(format_value(v, decimals)) for v in (truth.low, truth.median, truth.high))
        return all(
            _side(truth.median, limit) == _side(median, limit)
            and _side(truth.low, limit) * _side(low, limit) >= 0
            and _side(truth.high, limit) * _side(high, limit) >= 0
            for limit in known
        )

    return next((d for d in range(start, start + 3) if keeps_sides(d)), start)


def _side(value: float, limit: float) -> int:
    if math.isclose(value, limit, rel_tol=1e-12, abs_tol=1e-12):
        return 0
    return 1 if value > limit else -1


def interval(truth: Truth, decimals: int, scale: float = 1.0) -> str:
    """Print ``"40.36 to 40.42"``."""
    return f"{number(truth.low * scale, decimals)} to {number(truth.high * scale, decimals)}"


def measured(truth: Truth, unit: str, limits: Iterable[float | None] = ()) -> str:
    """Print a value with its interval and unit, ``"40.39 mm (40.36 to 40.42)"``; a spread of one ball is not known."""
    if math.isnan(truth.median):
        return "not known"
    decimals = truth_decimals(truth, limits)
    return f"{with_unit(number(truth.median, decimals), unit)} ({interval(truth, decimals)})"


def as_read_number(value: float, decimals: int, least: int = 0) -> str:
    """Print a raw value with at most `decimals`, and with no more than it has itself, but with `least` at least."""
    decimals = max(decimals, least)
    for fewer in range(min(decimals, least), decimals):
        if math.isclose(round(value, fewer), value, rel_tol=1e-12, abs_tol=1e-12):
            return number(value, fewer)
    return number(value, decimals)


def percent(probability: float | None, thresholds: Iterable[float] = ()) -> str:
    """Print one probability in per cent: whole numbers, finer near 0 and 100, never rounded across a threshold.

    Parameters
    ----------
    probability : float or None
        0 to 1; None and NaN print ``"not known"``.
    thresholds : iterable of float
        Probabilities that decide, such as 0.05 and 0.95.

    Returns
    -------
    str
        Such as ``"76 %"``, ``"99.8 %"``, ``"over 99.9 %"``.
    """
    if probability is None or math.isnan(probability):
        return "not known"
    if probability >= 1.0 - _AS_IF_NEVER:
        return "over 99.9 %"
    if probability <= _AS_IF_NEVER:
        return "under 0.1 %"
    start = 1 if probability < 0.0095 or probability > 0.9905 else 0
    sides = [(_reaches(probability, t), t) for t in thresholds]
    for decimals in range(start, start + 3):
        text = format_value(100.0 * probability, decimals)
        if all(_reaches(float(text) / 100.0, t) == side for side, t in sides):
            return f"{text} %"
    return f"{format_value(100.0 * probability, start + 3)} %"


def _reaches(probability: float, threshold: float) -> bool:
    return probability >= threshold - 1e-12


def share(truth: Truth) -> str:
    """Print a share with its interval in per cent, ``"3 % (1 to 9)"``, no finer than that; near 0 as a bound."""
    if truth.high <= _AS_IF_NEVER:
        return percent(truth.high)
    decimals = decimals_for(100.0 * truth.low, 100.0 * truth.high, most=2)
    return f"{number(100.0 * truth.median, decimals)} % ({interval(truth, decimals, 100.0)})"
