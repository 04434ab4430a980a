"""Chances over a grid, laid out: a ball a place, its area the chance, the number below it, limits across it all."""

from __future__ import annotations

import math

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.plan_data import GridChart
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Ball, Line, Scale, Sheet, Text, centred

__all__ = ["lay_out_grid"]

_LARGEST, _PITCH = 12.5, 39.0
_TOP = 64.0


def lay_out_grid(chart: GridChart) -> Sheet:
    """Lay out a grid of chances.

    Parameters
    ----------
    chart : GridChart
        Rows from the top down.

    Returns
    -------
    Sheet
        Columns stand at their true values; a chance of 0 has its number and no ball.
    """
    labels = max(text_width(row.text, NOTE) for row in chart.rows)
    half = (WIDTH - labels - 8) / (2 * max(len(chart.columns), 1))
    scale = Scale(chart.axis.low, chart.axis.high, labels + 8 + min(half, 16.0), WIDTH - min(half, 16.0))
    step = (scale.right - scale.left) / max(len(chart.columns) - 1, 1)
    largest = min(_LARGEST, 0.46 * step)
    balls: list[Ball] = []
    texts = [
        Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right"),
        Text(2, 28, shorten(chart.row_name, NOTE, WIDTH - 4)),
    ]
    y = _TOP + 10
    for row, shares in zip(chart.rows, chart.chances, strict=True):
        texts.append(Text(2, y + 9, row.text, "ink"))
        for value, share in zip(chart.columns, shares, strict=True):
            if share > 0.0:
                balls.append(Ball(value, y, max(largest * math.sqrt(share), 1.0)))
            texts.append(Text(scale.pixel(value), y + largest + 9, f"{100 * share:.0f}", align="center"))
        y += _PITCH
    bottom = y - _PITCH / 2 + 6
    lines = [Line(limit.value, _TOP - 10, bottom + 4, "limit", 2.2) for limit in chart.limits]
    texts += _limit_texts(chart, scale)
    for tick in chart.axis.ticks:
        lines.append(Line(tick.value, bottom + 4, bottom + 9, "limit", 1.0))
        texts.append(centred(scale.pixel(tick.value), bottom + 19, tick.text))
    unit = "" if chart.axis.unit in {"", "1"} else f", {chart.axis.unit}"
    texts.append(centred(WIDTH / 2, bottom + 36, chart.axis.name + unit))
    y = bottom + 48
    if chart.remark:
        texts.append(centred(WIDTH / 2, y + 6, chart.remark))
        y += 18
    return Sheet(scale, y, (), tuple(lines), tuple(balls), tuple(texts))


def _limit_texts(chart: GridChart, scale: Scale) -> list[Text]:
    """Print the limits above their lines, in one text where they would touch."""
    placed = [centred(scale.pixel(limit.value), 45, limit.text, tone="ink") for limit in chart.limits]
    if len(placed) == 2 and placed[0].ends[1] + 8 > placed[1].ends[0]:
        middle = sum(scale.pixel(limit.value) for limit in chart.limits) / 2
        return [centred(middle, 45, " and ".join(limit.text for limit in chart.limits), tone="ink")]
    return placed
