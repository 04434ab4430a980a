"""What can be told, laid out: a ruler along which two balls draw apart until they no longer cover each other."""

from __future__ import annotations

import math

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.qualify_data import RulerChart, RulerMark, Window
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Text, centred

__all__ = ["CAN", "CANNOT", "lay_out_ruler"]

CANNOT, CAN = "cannot tell", "can tell"

_SIDE, _LEAD = 14.0, 13.0
_RADIUS, _PAIRS = 6.0, 16
_TOP, _RULER = 52.0, 14.0
_PITCH = 38.0


def lay_out_ruler(chart: RulerChart) -> Sheet:
    """Lay out a ruler, the pairs of balls above it, its marks and the requirement's room below.

    Parameters
    ----------
    chart : RulerChart
        Ruler, marks and room.

    Returns
    -------
    Sheet
        Two balls whose difference can just be told touch without covering each other.
    """
    scale = Scale(0.0, chart.end, _SIDE, WIDTH - _SIDE)
    told = scale.pixel(chart.told)
    texts = [
        Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right"),
        centred((scale.left + told) / 2, 30, CANNOT, tone="ink", size=_LEAD, right=told - 6),
        centred((told + scale.right) / 2, 30, CAN, tone="ink", size=_LEAD, left=told + 6),
    ]
    balls = _pairs(chart, scale)
    ruler = max(ball.y for ball in balls) + 16
    areas = [
        Area(scale.value(_SIDE - 1.4), scale.value(WIDTH - _SIDE + 1.4), ruler - 1.4, ruler + _RULER + 1.4, "limit"),
        Area(0.0, chart.told, ruler, ruler + _RULER, "card"),
        Area(chart.told, chart.end, ruler, ruler + _RULER, "band"),
    ]
    lines = [*_graduation(chart, ruler), Line(chart.told, 22, ruler + _RULER + 6, "limit", 2.2)]
    y = ruler + _RULER + 12
    texts += [centred(scale.pixel(tick.value), y, tick.text) for tick in chart.ticks]
    texts.append(centred(WIDTH / 2, y + 17, f"{chart.name}, {chart.unit}" if chart.unit != "1" else chart.name))
    y += 44
    for mark in chart.marks:
        more_areas, more_balls, more_texts = _mark(mark, chart, y)
        areas, balls, texts = areas + more_areas, balls + more_balls, texts + more_texts
        y += _PITCH
    if chart.window is not None:
        y += 8
        more_areas, more_lines, ball, more_texts = _window(chart.window, scale, y)
        areas, lines, texts = areas + more_areas, lines + more_lines, texts + more_texts
        balls.append(ball)
        y += 74
    return Sheet(scale, y - 12, tuple(areas), tuple(lines), tuple(balls), tuple(texts))


def _pairs(chart: RulerChart, scale: Scale) -> list[Ball]:
    """Two rows of balls: the lower one sinks along the ruler, the difference of a pair being its distance."""
    found: list[Ball] = []
    for k in range(_PAIRS):
        pixel = scale.left + (k + 0.5) / _PAIRS * (scale.right - scale.left)
        value = scale.value(pixel)
        apart = 2 * _RADIUS * value / chart.told
        tells = value >= chart.told
        found += [
            Ball(value, _TOP + shift, _RADIUS, "ink" if tells else "soft", "filled" if tells else "hollow")
            for shift in (0.0, apart + (1.5 if tells else 0.0))
        ]
    return found


def _graduation(chart: RulerChart, top: float) -> list[Line]:
    """Long strokes at the numbers of the ruler, four short ones between them."""
    lines = [Line(tick.value, top, top + _RULER, "limit", 1.4) for tick in chart.ticks]
    if len(chart.ticks) > 1:
        step = (chart.ticks[1].value - chart.ticks[0].value) / 5
        short = (k * step for k in range(math.floor(chart.end / step + 1e-9) + 1) if k % 5)
        lines += [Line(value, top, top + _RULER / 2, "limit", 1.0) for value in short]
    return lines


def _mark(mark: RulerMark, chart: RulerChart, y: float) -> tuple[list[Area], list[Ball], list[Text]]:
    room = WIDTH - 4 - text_width(mark.text, NOTE) - 10
    texts = [
        Text(2, y, shorten(mark.label, NOTE, room), "ink"),
        Text(WIDTH - 2, y, mark.text, "ink", align="right"),
    ]
    at = y + 16
    areas = [Area(0.0, min(mark.value, chart.end), at - 1, at + 1, "limit")]
    if mark.value > chart.end:
        return areas, [], texts
    if mark.high > mark.value:
        areas.append(Area(mark.value, min(mark.high, chart.end), at - 4, at + 4, "accent"))
    return areas, [Ball(mark.value, at, 5.0)], texts


def _window(window: Window, scale: Scale, y: float) -> tuple[list[Area], list[Line], Ball, list[Text]]:
    """The room between two limits with one reading in its middle, on a scale of its own."""
    middle = (scale.left + scale.right) / 2
    per_unit = (scale.right - scale.left) / max(window.room, 2.2 * window.expanded)
    half, reach = window.room / 2 * per_unit, window.expanded * per_unit
    low, high = scale.value(middle - half), scale.value(middle + half)
    areas = [
        Area(low, high, y + 12, y + 36, "band"),
        Area(scale.value(middle - reach), scale.value(middle + reach), y + 18, y + 30, "accent"),
    ]
    lines = [Line(limit, y + 8, y + 40, "limit") for limit in (low, high)]
    texts = [
        centred(middle, y, window.text, tone="ink"),
        centred(middle, y + 50, window.reading_text),
    ]
    return areas, lines, Ball(scale.value(middle), y + 24, 5.0), texts
