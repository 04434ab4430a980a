"""A picture laid out but not yet drawn: areas, lines, balls and text, with values across and pixels down.

Text stands at pixels, everything else at values, so that the drawing keeps a true scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ballbench.presentation.charts.lettering import shorten, text_width

__all__ = [
    "NOTE",
    "WIDTH",
    "Area",
    "Ball",
    "Image",
    "Line",
    "Scale",
    "Sheet",
    "Slant",
    "Text",
    "Tone",
    "beside",
    "centred",
]

WIDTH = 336.0
"""Every picture is drawn this wide, px, the width of a phone's column: its text is then at least 12 px anywhere."""

NOTE = 12.0
"""The smallest text in a picture, px."""

Tone = Literal["ink", "soft", "line", "limit", "accent", "band", "card"]
Align = Literal["left", "center", "right"]


@dataclass(frozen=True, slots=True)
class Scale:
    """Values across: `low` stands at pixel `left`, `high` at pixel `right`."""

    low: float
    high: float
    left: float
    right: float

    def pixel(self, value: float) -> float:
        """Give the pixel of a value."""
        return self.left + (value - self.low) / (self.high - self.low) * (self.right - self.left)

    def value(self, pixel: float) -> float:
        """Give the value at a pixel."""
        return self.low + (pixel - self.left) / (self.right - self.left) * (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle from one value to another; hollow: its outline only."""

    low: float
    high: float
    top: float
    bottom: float
    tone: Tone
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """An upright line at a value."""

    value: float
    top: float
    bottom: float
    tone: Tone
    thickness: float = 1.6


@dataclass(frozen=True, slots=True)
class Slant:
    """A line from a value at one height to a value at another."""

    value: float
    y: float
    to_value: float
    to_y: float
    tone: Tone
    thickness: float = 1.6


@dataclass(frozen=True, slots=True)
class Ball:
    """A circle at a value; filled, hollow or dashed."""

    value: float
    y: float
    radius: float
    tone: Tone = "ink"
    look: Literal["filled", "hollow", "dashed"] = "filled"


@dataclass(frozen=True, slots=True)
class Image:
    """A picture at a pixel, its upper left corner, so wide and high; its bytes as a ``data:`` address; one a sheet."""

    x: float
    y: float
    width: float
    height: float
    url: str


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text at a pixel, `y` its middle."""

    x: float
    y: float
    text: str
    tone: Tone = "soft"
    size: float = NOTE
    align: Align = "left"

    @property
    def ends(self) -> tuple[float, float]:
        """Left and right end, px."""
        width = text_width(self.text, self.size)
        left = self.x - {"left": 0.0, "center": width / 2, "right": width}[self.align]
        return left, left + width


@dataclass(frozen=True, slots=True)
class Sheet:
    """A picture, `WIDTH` wide and `height` high; drawn in this order: areas, images, lines, slants, balls, text."""

    scale: Scale
    height: float
    areas: tuple[Area, ...]
    lines: tuple[Line, ...]
    balls: tuple[Ball, ...]
    texts: tuple[Text, ...]
    slants: tuple[Slant, ...] = ()
    images: tuple[Image, ...] = ()


def centred(
    x: float,
    y: float,
    text: str,
    *,
    tone: Tone = "soft",
    size: float = NOTE,
    left: float = 2.0,
    right: float = WIDTH - 2.0,
) -> Text:
    """Centre text on a pixel, pushed inside `left` and `right` and shortened to fit between them."""
    line = shorten(text, size, right - left)
    half = text_width(line, size) / 2
    return Text(min(max(x, left + half), right - half), y, line, tone, size, "center")


def beside(left_edge: float, right_edge: float, y: float, text: str, tone: Tone = "soft") -> Text | None:
    """Put text right of a thing that spans two pixels, or left of it; None where neither side has room."""
    gap, width = 6.0, text_width(text, NOTE)
    if right_edge + gap + width <= WIDTH - 2.0:
        return Text(right_edge + gap, y, text, tone)
    if left_edge - gap - width >= 2.0:
        return Text(left_edge - gap, y, text, tone, align="right")
    return None
