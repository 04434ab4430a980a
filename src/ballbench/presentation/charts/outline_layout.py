"""The pictures of an outline, laid out: the ball as a circle, its skin much too high on it, names at the crests."""

from __future__ import annotations

import base64
import math
from itertools import pairwise

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.outline_data import Crest, EdgeChart, OutlineChart
from ballbench.presentation.charts.outline_picture import RADIUS, SKIN
from ballbench.presentation.charts.sheet import (
    NOTE,
    WIDTH,
    Area,
    Ball,
    Image,
    Line,
    Scale,
    Sheet,
    Slant,
    Text,
    Tone,
    centred,
)

__all__ = ["lay_out_edge", "lay_out_outline"]

_MIDDLE, _TOP = WIDTH / 2.0, 168.0
_LEAD = 13.0
_SCALE = Scale(0.0, WIDTH, 0.0, WIDTH)  # values are pixels: nothing here is on an axis
_DOT, _CONTACT = 0.9, 3.4
_NAMES, _STEP = 13.0, 15.0
_AS_DRAWN = 2.0 / math.sqrt(math.pi)  # the renderer draws a circle of the area a with the radius sqrt(a)/2
_LEFT, _PICTURE_TOP = 8.0, 26.0


def lay_out_outline(chart: OutlineChart) -> Sheet:
    """Lay out the outline of a ball.

    Parameters
    ----------
    chart : OutlineChart
        The skin.

    Returns
    -------
    Sheet
        The two circles of the minimum zone are circles, and the outline lies between them.
    """
    drawing = _Skin(chart)
    texts = [*_head(chart.label, chart.n_text), *drawing.names()]
    bottom = _TOP + RADIUS + SKIN + _NAMES + 3 * _STEP
    texts += [
        centred(_MIDDLE, _TOP - 16, "form", tone="soft"),
        *(
            centred(_MIDDLE, _TOP + 16 * k, line, tone="ink", left=_MIDDLE - 72, right=_MIDDLE + 72)
            for k, line in enumerate(chart.form_lines)
        ),
        centred(WIDTH / 2, bottom + 12, chart.magnified),
    ]
    bar_lines, bar_texts = _bar(chart, bottom - 16, drawing.pixels)
    circles = (
        Ball(_MIDDLE, _TOP, drawing.radius(chart.inner) * _AS_DRAWN, "limit", "dashed"),
        Ball(_MIDDLE, _TOP, drawing.radius(chart.outer) * _AS_DRAWN, "limit", "dashed"),
    )
    dots = tuple(Ball(*drawing.place(a, v), _DOT, "soft", "hollow") for a, v in chart.points)
    contacts = tuple(
        Ball(*drawing.place(a, off), _CONTACT, "accent")
        for ends, off in ((chart.outside, chart.outer), (chart.inside, chart.inner))
        for a in ends
    )
    lines = tuple(bar_lines)
    return Sheet(_SCALE, bottom + 26, (), lines, (*dots, *circles, *contacts), (*texts, *bar_texts), drawing.slants())


class _Skin:
    """Places of an outline in the picture."""

    def __init__(self, chart: OutlineChart) -> None:
        self.chart = chart
        self.pixels = SKIN / chart.height
        self.middle = (chart.outer + chart.inner) / 2.0

    def radius(self, off: float) -> float:
        """Give the radius in the picture of a height."""
        return RADIUS + (off - self.middle) * self.pixels

    def place(self, degrees: float, off: float) -> tuple[float, float]:
        """Give the pixel of a direction and a height, kept within a few pixels of the zone."""
        angle = math.radians(degrees)
        r = min(max(self.radius(off), RADIUS - SKIN), RADIUS + SKIN)
        return _MIDDLE + r * math.cos(angle), _TOP - r * math.sin(angle)

    def slants(self) -> tuple[Slant, ...]:
        """The skin as strokes from the inner circle, and the outline on it."""
        chart = self.chart
        known = [(a, v) for a, v in zip(chart.degrees, chart.off, strict=True)]
        strokes = [
            Slant(*self.place(a, chart.inner), *self.place(a, v), "band", 1.9) for a, v in known if v is not None
        ]
        ring = [(a, v) for a, v in [*known, known[0]]]
        outline = [
            Slant(*self.place(a, v), *self.place(b, w), "ink", 1.8)
            for (a, v), (b, w) in pairwise(ring)
            if v is not None and w is not None
        ]
        return (*strokes, *outline)

    def names(self) -> list[Text]:
        """The lobes' names at their crests, the highest nearest to the ball, each where it touches no other."""
        placed: list[Text] = []
        for crest in sorted(self.chart.crests, key=lambda one: one.rank):
            for step in range(4):
                text = self._name(crest, step)
                if not any(_touch(text, other) for other in placed):
                    placed.append(text)
                    break
        return placed

    def _name(self, crest: Crest, step: int) -> Text:
        r = RADIUS + SKIN / 2.0 + _NAMES + step * _STEP
        angle = math.radians(crest.degrees)
        tone: Tone = "accent" if crest.rank == 0 else "soft"
        return Text(_MIDDLE + r * math.cos(angle), _TOP - r * math.sin(angle), crest.name, tone, NOTE, "center")


def _touch(one: Text, other: Text) -> bool:
    near = abs(one.y - other.y) < NOTE + 1
    return near and one.ends[0] < other.ends[1] + 3 and other.ends[0] < one.ends[1] + 3


def _bar(chart: OutlineChart, y: float, pixels: float) -> tuple[list[Line], list[Text]]:
    """The scale bar of the magnification, upright in the lower left corner."""
    length = chart.bar * pixels
    line = Line(16.0, y - length, y, "ink", 2.4)
    ends = [Line(16.0 + x, e - 0.8, e + 0.8, "ink", 2.0) for x in (-3.0, 3.0) for e in (y - length, y)]
    return [line, *ends], [Text(26.0, y - length / 2.0, chart.bar_text, "ink")]


def _head(label: str, n_text: str) -> list[Text]:
    return [
        Text(2, 9, shorten(label, _LEAD, WIDTH - 14 - text_width(n_text, NOTE)), "ink", _LEAD),
        Text(WIDTH - 2, 9, n_text, align="right"),
    ]


def lay_out_edge(chart: EdgeChart) -> Sheet:
    """Lay out a photograph with its edge points.

    Parameters
    ----------
    chart : EdgeChart
        The picture.

    Returns
    -------
    Sheet
        The points stand where they are on the picture.
    """
    wide = WIDTH - 2 * _LEFT
    ratio = wide / chart.width
    high = chart.height * ratio
    url = f"data:image/jpeg;base64,{base64.b64encode(chart.picture).decode('ascii')}"
    image = Image(_LEFT, _PICTURE_TOP, wide, high, url)
    balls = tuple(
        Ball(
            _LEFT + x * ratio, _PICTURE_TOP + y * ratio, 1.7 if kept else 2.2, "accent", "filled" if kept else "hollow"
        )
        for x, y, kept in chart.points
    )
    y = _PICTURE_TOP + high
    words = "dots: the edge that was picked"
    words += "; hollow: filled in" if any(not kept for _, _, kept in chart.points) else ""
    texts = (*_head(chart.label, chart.n_text), centred(WIDTH / 2, y + 14, words))
    frame = (Area(_LEFT, _LEFT + wide, _PICTURE_TOP, y, "line", hollow=True),)
    return Sheet(_SCALE, y + 26, frame, (), balls, texts, (), (image,))
