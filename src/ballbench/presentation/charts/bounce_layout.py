"""The pictures of bouncing, laid out: arcs of the flights above the sound they were timed by; restitution by speed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from ballbench.presentation.charts.bounce_data import DropRow, DropsChart, SpeedChart
from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Slant, Text, centred
from ballbench.presentation.wording import plural

__all__ = ["lay_out_drops", "lay_out_speeds"]

_SIDE = 10.0
_LEAD = 13.0
_ARC, _SOUND, _ROW_GAP = 44.0, 11.0, 18.0
_VALUE_LINES, _VALUE_STEP = 2, 13.0
_STEPS = 14
_BALL = 3.4


def lay_out_drops(chart: DropsChart) -> Sheet:
    """Lay out drops.

    Parameters
    ----------
    chart : DropsChart
        The drops.

    Returns
    -------
    Sheet
        Each flight is an arc whose top stands at its height, all on one scale; below, the sound, and a ball with a
        line at each impact.
    """
    scale = Scale(chart.axis.low, chart.axis.high, _SIDE, WIDTH - _SIDE)
    areas: list[Area] = []
    lines: list[Line] = []
    slants: list[Slant] = []
    balls: list[Ball] = []
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    y, left_out = 32.0, 0
    for row in chart.rows:
        room = WIDTH - 4 - text_width(row.note, NOTE) - 10
        texts.append(Text(2, y, shorten(row.label, _LEAD, room), "ink", _LEAD))
        texts.append(Text(WIDTH - 2, y, row.note, "ink", align="right"))
        floor = y + 12 + _ARC
        sound = floor + 6 + _SOUND
        slants += _arcs(row, chart.highest, floor, scale)
        areas += _sound(row, sound)
        lines += [Line(time, floor, sound + _SOUND, "accent", 1.2) for time in row.impacts]
        balls += [Ball(time, floor, _BALL, look="hollow" if row.by_hand else "filled") for time in row.impacts]
        values, value_lines, without_room = _values(row, sound + _SOUND + 10, scale)
        texts += values
        left_out += without_room
        y = sound + _SOUND + 10 + max(value_lines - 1, 0) * _VALUE_STEP + _ROW_GAP + 4
    bottom = y - 12
    for tick in chart.axis.ticks:
        lines.append(Line(tick.value, bottom, bottom + 5, "limit", 1.0))
        texts.append(centred(scale.pixel(tick.value), bottom + 14, tick.text))
    texts.append(centred(WIDTH / 2, bottom + 31, f"{chart.axis.name}, {chart.axis.unit}"))
    end = bottom + 42
    more = f"{plural(left_out, 'restitution')} more, for which there is no room here: see the table" if left_out else ""
    for remark in filter(None, (chart.remark, more)):
        texts.append(centred(WIDTH / 2, end + 4, remark))
        end += 17
    return Sheet(scale, end, tuple(areas), tuple(lines), tuple(balls), tuple(texts), tuple(slants))


def _arcs(row: DropRow, highest: float, floor: float, scale: Scale) -> Iterator[Slant]:
    """Draw the flights as parabolas; drag bends them by less than the line is thick."""
    yield Slant(scale.low, floor, scale.high, floor, "line", 1.0)
    for (begin, end), height in zip(pairwise(row.impacts), row.heights, strict=False):
        top = _ARC * height / highest
        shares = [k / _STEPS for k in range(_STEPS + 1)]
        points = [(begin + (end - begin) * s, floor - 4.0 * top * s * (1.0 - s)) for s in shares]
        for (a, ya), (b, yb) in pairwise(points):
            yield Slant(a, ya, b, yb, "soft", 1.4)


def _sound(row: DropRow, middle: float) -> Iterator[Area]:
    """Draw the sound as one upright stroke a piece, its loudest filling the room."""
    loudest = max((max(abs(low), abs(high)) for _, low, high in row.sound), default=0.0)
    if loudest <= 0.0:
        return
    for (begin, low, high), (end, _, _) in pairwise(row.sound):
        half = max((high - low) / loudest * _SOUND / 2.0, 0.4)
        centre = middle - (high + low) / loudest * _SOUND / 2.0
        yield Area(begin, end, max(centre - half, middle - _SOUND), min(centre + half, middle + _SOUND), "limit")


def _values(row: DropRow, y: float, scale: Scale) -> tuple[list[Text], int, int]:
    """Print the restitutions under their impacts, on a second line those that the first has no room for.

    Gives also how many lines there are, and how many restitutions had no room on either.
    """
    placed: list[Text] = []
    free = [0.0] * _VALUE_LINES
    left_out = 0
    for time, text in zip(row.impacts, row.texts, strict=False):
        if not text:
            continue
        under = centred(scale.pixel(time), y, text, tone="ink")
        line = next((line for line in range(_VALUE_LINES) if under.ends[0] >= free[line]), None)
        if line is None:
            left_out += 1
            continue
        free[line] = under.ends[1] + 6.0
        placed.append(centred(scale.pixel(time), y + line * _VALUE_STEP, text, tone="ink"))
    return placed, sum(end > 0.0 for end in free), left_out


_LEFT, _TOP, _HEIGHT = 46.0, 46.0, 190.0


def lay_out_speeds(chart: SpeedChart) -> Sheet:
    """Lay out restitution against impact speed.

    Parameters
    ----------
    chart : SpeedChart
        The impacts.

    Returns
    -------
    Sheet
        Every impact is a dot with its interval upright through it; a first impact, whose speed is that of the drop
        height, is hollow.
    """
    scale = Scale(chart.across.low, chart.across.high, _LEFT, WIDTH - 14.0)

    def up(value: float) -> float:
        share = (value - chart.up.low) / (chart.up.high - chart.up.low)
        return _TOP + _HEIGHT * (1.0 - min(max(share, 0.0), 1.0))

    room = WIDTH - 14 - text_width(chart.n_text, NOTE)
    texts = [
        Text(2, 9, shorten(chart.label, _LEAD, room), "ink", _LEAD),
        Text(WIDTH - 2, 9, chart.n_text, align="right"),
        Text(2, 28, "restitution"),
    ]
    bottom = _TOP + _HEIGHT
    slants = [Slant(scale.low, bottom + 4, scale.high, bottom + 4, "limit", 1.0)]
    for tick in chart.up.ticks:
        slants.append(Slant(scale.low, up(tick.value), scale.high, up(tick.value), "line", 1.0))
        texts.append(Text(_LEFT - 8, up(tick.value), tick.text, align="right"))
    lines = [Line(dot.speed, up(dot.high), up(dot.low), "soft", 1.0) for dot in chart.dots if math.isfinite(dot.low)]
    balls = [
        Ball(dot.speed, up(dot.value), 3.8 if dot.first else 3.6, look="hollow" if dot.first else "filled")
        for dot in chart.dots
    ]
    if chart.line:
        (begin, end), (first, last) = chart.line_speeds, chart.line
        slants.append(Slant(begin, up(first), end, up(last), "accent", 2.4))
    for tick in chart.across.ticks:
        lines.append(Line(tick.value, bottom + 4, bottom + 9, "limit", 1.0))
        texts.append(centred(scale.pixel(tick.value), bottom + 18, tick.text))
    texts.append(centred((_LEFT + WIDTH) / 2, bottom + 35, f"{chart.across.name}, {chart.across.unit}"))
    end = bottom + 46
    if chart.remark:
        texts.append(centred(WIDTH / 2, end + 4, chart.remark))
        end += 17
    return Sheet(scale, end, (), tuple(lines), tuple(balls), tuple(texts), tuple(slants))
