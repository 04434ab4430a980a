"""Where a picture's values begin and end, and where the axis is numbered."""

from __future__ import annotations

import math
from collections.abc import Iterable

from ballbench.presentation.charts.chart_data import Tick, ValueAxis
from ballbench.presentation.numbers import number

__all__ = ["round_ticks", "span_axis"]


def span_axis(
    name: str,
    unit: str,
    values: Iterable[float],
    *,
    floor: float | None = None,
    margin: float = 0.12,
    ticked: bool = False,
) -> ValueAxis:
    """Make an axis that holds all the values with a margin at both ends.

    Parameters
    ----------
    name, unit : str
        What runs along it.
    values : iterable of float
        All that must be seen, in `unit`; values that are not finite are left out.
    floor : float or None
        The axis begins here exactly, such as 0 for a spread, unless a value lies below.
    margin : float
        Free room at each end, as a share of the values' span.
    ticked : bool
        Whether it is numbered.

    Returns
    -------
    ValueAxis
        Spans 0 to 1 when there is nothing to show.
    """
    finite = [value for value in values if math.isfinite(value)]
    if floor is not None:
        finite.append(floor)
    low, high = (min(finite), max(finite)) if finite else (0.0, 1.0)
    span = high - low
    if span <= 1e-9 * max(abs(low), abs(high)):
        span = max(abs(high) * 0.01, 1e-6)
    begins = low if floor is not None and low >= floor else low - margin * span
    ends = high + margin * span
    return ValueAxis(name, unit, begins, ends, round_ticks(begins, ends) if ticked else ())


def round_ticks(low: float, high: float, most: int = 4) -> tuple[Tick, ...]:
    """Give two to `most` round numbers inside a span, steps of 1, 2 or 5 times a power of ten.

    Raises
    ------
    ValueError
        The span is empty or not finite.
    """
    span = high - low
    if not (math.isfinite(span) and span > 0.0):
        raise ValueError(f"an axis must span something, got {low} to {high}; give two different finite numbers")
    exponent = math.floor(math.log10(span)) - 1
    steps = [base * 10.0**power for power in range(exponent, exponent + 3) for base in (1.0, 2.0, 5.0)]
    for step in steps:
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first + 1 <= most:
            decimals = max(0, -math.floor(math.log10(step) + 1e-9))
            return tuple(Tick(k * step, number(k * step, decimals)) for k in range(first, last + 1))
    return ()
