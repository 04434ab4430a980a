"""How tests end, laid out: one limit line, a ball inside it, on it and beyond it, as large as its chance."""

from __future__ import annotations

import math

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.plan_data import Ending, EndingChart, EndingRow
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Text

__all__ = ["lay_out_endings"]

_LEAD = 13.0
_INSIDE, _LINE_AT, _BEYOND = 58.0, 168.0, 278.0
_LARGEST = 24.0


def lay_out_endings(chart: EndingChart) -> Sheet:
    """Lay out how tests end.

    Parameters
    ----------
    chart : EndingChart
        A row a design.

    Returns
    -------
    Sheet
        Areas of balls are chances; a chance of 0 has no ball.
    """
    scale = Scale(0.0, WIDTH, 0.0, WIDTH)
    areas: list[Area] = []
    lines: list[Line] = []
    balls: list[Ball] = []
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    y = 32.0
    for row in chart.rows:
        texts += _heads(row, y)
        top, tall = y + 14, 2 * max(_radius(one) for one in (row.met, row.undecided, row.not_met)) + 8
        middle = top + tall / 2
        areas.append(Area(0.0, _LINE_AT, top, top + tall, "band"))
        lines.append(Line(_LINE_AT, top - 4, top + tall + 4, "limit", 2.2))
        for x, one in ((_INSIDE, row.met), (_LINE_AT, row.undecided), (_BEYOND, row.not_met)):
            if one.chance > 0.0:
                balls.append(Ball(x, middle, _radius(one)))
            texts.append(Text(x, top + tall + 14, f"{one.word} {one.text}", "ink", align="center"))
            texts.append(Text(x, top + tall + 30, one.span, align="center"))
        y = top + tall + 58
    return Sheet(scale, y - 14, tuple(areas), tuple(lines), tuple(balls), tuple(texts))


def _radius(one: Ending) -> float:
    return max(_LARGEST * math.sqrt(one.chance), 1.2)


def _heads(row: EndingRow, y: float) -> list[Text]:
    room = WIDTH - 4 - text_width(row.note, NOTE) - 10
    return [
        Text(2, y, shorten(row.label, _LEAD, room), "ink", _LEAD),
        Text(WIDTH - 2, y, row.note, "ink" if row.stressed else "soft", align="right"),
    ]
