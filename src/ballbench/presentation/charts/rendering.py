"""One chart definition becomes SVG for the page, PDF for the printed report, and PNG, through vl-convert."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import Any

import vl_convert
from altair.utils.schemapi import debug_mode

from ballbench.presentation.charts.chart_data import Chart
from ballbench.presentation.charts.drawing import draw
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.lettering import FONT, FONT_STACK
from ballbench.presentation.tokens import LIGHT

__all__ = ["Picture", "render"]

_TAG = re.compile(r"<[^>]*>")
_NOISE = re.compile(r' (?:class|aria-hidden|aria-roledescription|role|pointer-events)="[^"]*"')
_EMPTY = re.compile(r"<g>\s*</g>|<path d=\"\" display=\"none\"/>|<path d=\"[^\"]*\"/>")
_LONG = re.compile(r"-?\d+\.\d{3,}(?:e-?\d+)?")
_OPENING = re.compile(r"<svg[^>]*>")


@dataclass(frozen=True)
class Picture:
    """A chart, rendered on demand, each form once.

    Parameters
    ----------
    chart : Chart
        Its data.
    palette : dict
        Colours by token.
    """

    chart: Chart
    palette: dict[str, str]

    @cached_property
    def definition(self) -> dict[str, Any]:
        """The Vega-Lite definition."""
        with debug_mode(arg=False):  # every chart comes from the same few lines, which the tests validate in full
            definition: dict[str, Any] = draw(lay_out(self.chart), self.palette).to_dict(validate=False)
        definition.setdefault("config", {})["aria"] = False
        return definition

    @cached_property
    def svg(self) -> str:
        """A stand-alone SVG file's text; coordinates to a hundredth of a pixel."""
        text: str = vl_convert.vegalite_to_svg(self.definition)
        return _EMPTY.sub("", _TAG.sub(lambda tag: _plain_tag(tag.group()), text))

    @cached_property
    def pdf(self) -> bytes:
        """A PDF of one page, as large as the picture, its typeface inside."""
        made: bytes = vl_convert.svg_to_pdf(self.svg)
        return made

    def png(self, scale: float = 2.0) -> bytes:
        """Give a PNG, `scale` pixels a unit; the ground transparent."""
        made: bytes = vl_convert.svg_to_png(self.svg, scale=scale)
        return made

    def inline_svg(self, alt: str) -> str:
        """Give an SVG element for a page that carries the colour tokens: it follows the page's light and dark.

        Parameters
        ----------
        alt : str
            What the picture says, for those who do not see it.
        """
        tokens = {f'"{colour}"': f'"var(--{token})"' for token, colour in self.palette.items()}
        colours = re.compile("|".join(map(re.escape, tokens)))

        def themed(tag: str) -> str:
            return colours.sub(lambda found: tokens[found.group()], tag).replace(f' font-family="{FONT}"', "")

        text = _TAG.sub(lambda tag: themed(tag.group()), self.svg)
        box = re.search(r'viewBox="([^"]*)"', text)
        view = box.group(1) if box else ""
        head = f'<svg class="chart" role="img" aria-label="{escape(alt, quote=True)}" viewBox="{view}" '
        head += f'font-family="{FONT_STACK}">'
        return _OPENING.sub(lambda _: head, text, count=1)


def _plain_tag(tag: str) -> str:
    """Drop what only describes the drawing's parts, and round coordinates; text between tags is left alone."""
    return _LONG.sub(lambda found: f"{float(found.group()):.2f}".rstrip("0").rstrip("."), _NOISE.sub("", tag))


def render(chart: Chart, palette: dict[str, str] | None = None) -> Picture:
    """Make a picture of a chart; nothing is drawn before a form of it is asked for.

    Parameters
    ----------
    chart : Chart
        Its data.
    palette : dict or None
        Colours by token; None: the light ones.
    """
    return Picture(chart, LIGHT if palette is None else palette)
