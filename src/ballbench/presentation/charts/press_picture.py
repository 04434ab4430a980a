"""What a press read as chart data: every ball a dot, product by product and way by way, means with their intervals."""

from __future__ import annotations

import math

from ballbench.findings.pressing.results import PressFindings, PressGroupFound
from ballbench.findings.pressing.words import way_words
from ballbench.presentation.charts.chart_data import Bar, Row, RowChart
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.numbers import number
from ballbench.presentation.wording import plural, quantity_words
from ballbench.quantities.rounding import decimals_for

__all__ = ["press_picture", "quantities_of"]


def quantities_of(found: PressFindings) -> tuple[str, ...]:
    """Give what was read, in the order of the file."""
    return tuple(dict.fromkeys(group.quantity for product in found.products for group in product.groups))


def press_picture(found: PressFindings, quantity: str) -> RowChart:
    """Draw up one quantity.

    Parameters
    ----------
    found : PressFindings
        With readings of it.
    quantity : str
        ``deformation`` or ``hardness``.

    Returns
    -------
    RowChart
        A row for each way of reading and product; one ball alone is a dot without a bar.
    """
    pairs = [
        (product.product, group) for product in found.products for group in product.groups if group.quantity == quantity
    ]
    pairs.sort(key=lambda pair: (pair[1].group.orientation, pair[1].group.direction, pair[1].group.load_n))
    rows, values = [], []
    for product, group in pairs:
        specks = tuple(mean for _, mean in group.balls)
        bars = () if math.isnan(group.low) else (Bar(group.low, group.group.mean, group.high, mean_text(group)),)
        values += [*specks, *(end for end in (group.low, group.high) if math.isfinite(end))]
        one = group.group
        label = f"{product}, {way_words('deformation', one.orientation, one.direction, one.load_n)}"
        rows.append(Row(label, note=f"n = {one.balls}", bars=bars, specks=specks))
    balls = sum(product.balls for product in found.products)
    words = quantity_words(quantity)
    axis = span_axis(f"{words} since the preload", "mm", values, ticked=True)
    return RowChart("products", axis, tuple(rows), f"n = {plural(balls, 'ball')}, {found.label}")


def mean_text(group: PressGroupFound) -> str:
    """Print the mean of a group with its interval, ``"6.23 mm (6.0 to 6.5)"``."""
    if math.isnan(group.low):
        return f"{number(group.group.mean, 3)} mm"
    decimals = max(decimals_for(group.low, group.high, 4), 0)
    ends = f"{number(group.low, decimals)} to {number(group.high, decimals)}"
    return f"{number(group.group.mean, decimals)} mm ({ends})"
