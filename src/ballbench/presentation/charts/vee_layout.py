"""A ball in a vee, laid out: the outline rests on both flanks as geometry has it, its lobes drawn much too high."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Slant, Text, centred
from ballbench.presentation.charts.speck_piles import stack_specks
from ballbench.presentation.charts.vee_data import LobeRow, VeeChart

__all__ = ["lay_out_vee"]

_RADIUS, _MIDDLE, _TOP = 54.0, 150.0, 64.0
_POINTS = 180
_LEAD, _SPECK, _ROW = 13.0, 3.8, 20.0
_LABEL, _NOTE_ROOM = 22.0, 62.0
Point = tuple[float, float]


def lay_out_vee(chart: VeeChart) -> Sheet:
    """Lay out a ball in a vee and the forms below it.

    Parameters
    ----------
    chart : VeeChart
        The ball, the vee and the forms.

    Returns
    -------
    Sheet
        The outline touches both flanks and the indicator; no point of it lies beyond a flank.
    """
    scale = Scale(chart.axis.low, chart.axis.high, _LABEL + 26, WIDTH - _NOTE_ROOM)
    texts = [
        Text(2, 9, shorten(chart.label, _LEAD, WIDTH - 14 - text_width(chart.n_text, NOTE)), "ink", _LEAD),
        Text(WIDTH - 2, 9, chart.n_text, align="right"),
    ]
    parts = _Drawing(chart)
    areas, balls, slants = list(parts.areas(scale)), list(parts.balls(scale)), list(parts.slants(scale))
    texts += parts.texts()
    y = parts.bottom + 22
    texts.append(centred(WIDTH / 2, y, chart.remark))
    y += 30
    texts.append(Text(2, y, "lobes"))
    y += 20
    for row in chart.rows:
        more_balls, more_texts, y = _row(row, scale, y)
        balls += more_balls
        texts += more_texts
    lines = [Line(tick.value, y - 6, y - 1, "limit", 1.0) for tick in chart.axis.ticks]
    texts += [centred(scale.pixel(tick.value), y + 8, tick.text) for tick in chart.axis.ticks]
    texts.append(centred((scale.left + scale.right) / 2, y + 25, f"{chart.axis.name}, {chart.axis.unit}"))
    return Sheet(scale, y + 36, tuple(areas), tuple(lines), tuple(balls), tuple(texts), tuple(slants))


def _row(row: LobeRow, scale: Scale, y: float) -> tuple[list[Ball], list[Text], float]:
    """Lay out one number of lobes; give the height of the next."""
    levels = stack_specks([scale.pixel(dot.form) for dot in row.dots], 2 * _SPECK + 0.8) or [0]
    step = min(2 * _SPECK + 0.4, 30.0 / max(*levels, 1))
    base = y + max(levels) * step
    balls = [
        Ball(dot.form, base - level * step, _SPECK, look="filled" if dot.fits else "hollow")
        for dot, level in zip(row.dots, levels, strict=False)
    ]
    texts = [Text(_LABEL, base, str(row.lobes), "ink", align="right")]
    if row.word:
        texts.append(Text(WIDTH - 2, base, row.word, align="right"))
    return balls, texts, base + _ROW


class _Drawing:
    """The ball, the vee and the indicator in pixels, `y` downwards."""

    def __init__(self, chart: VeeChart) -> None:
        self.chart = chart
        self.half = math.radians(chart.angle) / 2.0
        self.shape = _outline(chart.lobes)
        self.centre = _rest(self.shape, self.half)
        top = self.centre[1] + max(y for _, y in self.shape)
        self.floor = _TOP + top  # where the bottom of the vee lies
        self.stem = 30.0 if chart.setting == "rider" else 0.0
        self.bottom = self.floor + 6 + max(self.stem, 18.0)

    def pixel(self, point: Point) -> Point:
        """Give the pixel of a point whose origin is the bottom of the vee, `y` upwards."""
        return _MIDDLE + point[0], self.floor - point[1]

    def slants(self, scale: Scale) -> list[Slant]:
        """Outline and flanks."""
        ring = [self.pixel((self.centre[0] + x, self.centre[1] + y)) for x, y in (*self.shape, self.shape[0])]
        found = [Slant(scale.value(ax), ay, scale.value(bx), by, "ink", 2.2) for (ax, ay), (bx, by) in pairwise(ring)]
        reach = min(max(_RADIUS / math.tan(self.half) + 48.0, 92.0), 148.0)
        gap = 9.0 if self.chart.setting == "rider" else 0.0
        for side in (-1.0, 1.0):
            start, end = (
                self.pixel((side * length * math.sin(self.half), length * math.cos(self.half)))
                for length in (gap, reach)
            )
            found.append(Slant(scale.value(start[0]), start[1], scale.value(end[0]), end[1], "limit", 3.0))
        return found

    def tip(self) -> Point:
        """Where the indicator touches, as a pixel."""
        way = 1.0 if self.chart.setting == "summit" else -1.0
        near = [(x, y) for x, y in self.shape if abs(x + self.centre[0]) < 2.5 and y * way > 0.0]
        height = max((y * way for _, y in near), default=_RADIUS) * way
        return self.pixel((0.0, self.centre[1] + height))

    def areas(self, scale: Scale) -> list[Area]:
        """The stem of the indicator."""
        x, y = self.tip()
        ends = (26.0, y) if self.chart.setting == "summit" else (y, self.bottom)
        return [Area(scale.value(x - 2), scale.value(x + 2), *ends, "accent")]

    def balls(self, scale: Scale) -> list[Ball]:
        """A small ball at the indicator's tip, and one inside each crest."""
        x, y = self.tip()
        away = -4.0 if self.chart.setting == "summit" else 4.0
        found = [Ball(scale.value(x), y + away, 4.0, "accent")]
        for k in range(self.chart.lobes):
            angle = _turned(self.chart.lobes) + 2.0 * math.pi * k / self.chart.lobes
            inside = _RADIUS - 8.0
            x, y = self.pixel((self.centre[0] + inside * math.cos(angle), self.centre[1] + inside * math.sin(angle)))
            found.append(Ball(scale.value(x), y, 2.4, "soft"))
        return found

    def texts(self) -> list[Text]:
        """How far it moved beside the stem, and the angle beside the vee."""
        x, _ = self.tip()
        y = 38.0 if self.chart.setting == "summit" else self.bottom - 8
        where = "flat table" if self.chart.angle == 180.0 else f"{self.chart.angle:g}°"
        found = [Text(x + 10, y, shorten(f"moves by {self.chart.moved}", NOTE, WIDTH - x - 14), "ink")]
        if self.chart.setting == "summit":
            return [*found, Text(_MIDDLE, self.floor + 15, where, "ink", align="center")]
        return [*found, Text(_MIDDLE - 10, self.floor + 15, where, "ink", align="right")]


def _outline(lobes: int) -> list[Point]:
    """Give points of an outline around its centre, `y` upwards."""
    height = 0.0 if not lobes else min(7.0, 26.0 / lobes + 1.6)
    turned = _turned(lobes)
    points = []
    for k in range(_POINTS):
        angle = 2.0 * math.pi * k / _POINTS
        radius = _RADIUS + height * math.cos(lobes * (angle - turned))
        points.append((radius * math.cos(angle), radius * math.sin(angle)))
    return points


def _turned(lobes: int) -> float:
    """Where the first crest stands: at the top, so that the indicator sits on it."""
    return math.pi / 2.0 if lobes else 0.0


def _rest(shape: Sequence[Point], half: float) -> Point:
    """Give the centre of an outline that lies on both flanks; the bottom of the vee is the origin, `y` upwards."""
    if half > math.radians(89.5):
        return 0.0, -min(y for _, y in shape)
    cos, sin = math.cos(half), math.sin(half)
    right, left = (-min(way * cos * x + sin * y for x, y in shape) for way in (1.0, -1.0))
    return (right - left) / (2.0 * cos), (right + left) / (2.0 * sin)
