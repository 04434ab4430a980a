"""A laid-out sheet becomes one Altair chart: six kinds of marks on one true scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import altair as alt

from ballbench.presentation.charts.lettering import FONT, tidy
from ballbench.presentation.charts.sheet import WIDTH, Area, Ball, Image, Line, Sheet, Slant, Text

__all__ = ["draw"]


def draw(sheet: Sheet, palette: dict[str, str]) -> alt.LayerChart:
    """Draw a sheet.

    Parameters
    ----------
    sheet : Sheet
        The picture, laid out.
    palette : dict
        Colours by tone.

    Returns
    -------
    altair.LayerChart
        As wide and high as the sheet in pixels, its ground transparent.
    """
    scale = alt.Scale(
        domain=[sheet.scale.low, sheet.scale.high], range=[sheet.scale.left, sheet.scale.right], zero=False, nice=False
    )
    solid = [area for area in sheet.areas if not area.hollow]
    hollow = [area for area in sheet.areas if area.hollow]
    layers = [
        _areas(solid, palette, scale),
        _outlines(hollow, palette, scale),
        _images(sheet.images),
        _lines(sheet.lines, palette, scale),
        _slants(sheet.slants, palette, scale),
        *(_balls([ball for ball in sheet.balls if ball.look == look], palette, scale) for look in _LOOKS),
        *(_texts([text for text in sheet.texts if text.align == align], palette) for align in _ALIGNS),
    ]
    drawn = [layer for layer in layers if layer is not None]
    chart = alt.layer(*drawn, width=WIDTH, height=sheet.height, padding=0, autosize="none", background="transparent")
    plain: alt.LayerChart = chart.configure_view(stroke=None)
    return plain


_LOOKS = ("hollow", "dashed", "filled")
_ALIGNS = ("left", "center", "right")


def _data(rows: list[dict[str, Any]]) -> alt.InlineData:
    return alt.InlineData(values=rows)


def _across(field: str, scale: alt.Scale) -> alt.X:
    return alt.X(f"{field}:Q", scale=scale, axis=None)


def _down(field: str = "y") -> alt.Y:
    return alt.Y(f"{field}:Q", scale=None, axis=None)


def _colour(field: str = "c") -> alt.Color:
    return alt.Color(f"{field}:N", scale=None, legend=None)


def _area_rows(areas: Sequence[Area], palette: dict[str, str]) -> list[dict[str, Any]]:
    return [{"a": a.low, "b": a.high, "y": a.top, "y2": a.bottom, "c": palette[a.tone]} for a in areas]


def _areas(areas: Sequence[Area], palette: dict[str, str], scale: alt.Scale) -> alt.Chart | None:
    if not areas:
        return None
    chart = alt.Chart(_data(_area_rows(areas, palette))).mark_rect(opacity=1)
    drawn: alt.Chart = chart.encode(
        x=_across("a", scale), x2=alt.X2("b:Q"), y=_down(), y2=alt.Y2("y2:Q"), color=_colour()
    )
    return drawn


def _outlines(areas: Sequence[Area], palette: dict[str, str], scale: alt.Scale) -> alt.Chart | None:
    if not areas:
        return None
    chart = alt.Chart(_data(_area_rows(areas, palette))).mark_rect(fill=palette["card"], strokeWidth=1.6, opacity=1)
    stroke = alt.Stroke("c:N", scale=None, legend=None)
    drawn: alt.Chart = chart.encode(
        x=_across("a", scale), x2=alt.X2("b:Q"), y=_down(), y2=alt.Y2("y2:Q"), stroke=stroke
    )
    return drawn


def _images(images: Sequence[Image]) -> alt.Chart | None:
    """Draw pictures; one a sheet, for a mark has one size."""
    if not images:
        return None
    (one,) = images
    chart = alt.Chart(_data([{"x": one.x, "y": one.y, "u": one.url}])).mark_image(
        width=one.width, height=one.height, align="left", baseline="top", aspect=False
    )
    drawn: alt.Chart = chart.encode(x=alt.X("x:Q", scale=None, axis=None), y=_down(), url=alt.Url("u:N"))
    return drawn


def _lines(lines: Sequence[Line], palette: dict[str, str], scale: alt.Scale) -> alt.Chart | None:
    if not lines:
        return None
    rows = [{"v": e.value, "y": e.top, "y2": e.bottom, "c": palette[e.tone], "w": e.thickness} for e in lines]
    chart = alt.Chart(_data(rows)).mark_rule(opacity=1)
    width = alt.StrokeWidth("w:Q", scale=None, legend=None)
    drawn: alt.Chart = chart.encode(
        x=_across("v", scale), y=_down(), y2=alt.Y2("y2:Q"), color=_colour(), strokeWidth=width
    )
    return drawn


def _slants(slants: Sequence[Slant], palette: dict[str, str], scale: alt.Scale) -> alt.Chart | None:
    if not slants:
        return None
    rows = [
        {"a": e.value, "b": e.to_value, "y": e.y, "y2": e.to_y, "c": palette[e.tone], "w": e.thickness} for e in slants
    ]
    chart = alt.Chart(_data(rows)).mark_rule(opacity=1)
    width = alt.StrokeWidth("w:Q", scale=None, legend=None)
    drawn: alt.Chart = chart.encode(
        x=_across("a", scale), x2=alt.X2("b:Q"), y=_down(), y2=alt.Y2("y2:Q"), color=_colour(), strokeWidth=width
    )
    return drawn


def _balls(balls: Sequence[Ball], palette: dict[str, str], scale: alt.Scale) -> alt.Chart | None:
    if not balls:
        return None
    rows = [{"v": b.value, "y": b.y, "s": math.pi * b.radius**2, "c": palette[b.tone]} for b in balls]
    if balls[0].look == "filled":
        chart = alt.Chart(_data(rows)).mark_point(shape="circle", stroke=palette["card"], strokeWidth=1.2, opacity=1)
        colour: dict[str, Any] = {"fill": alt.Fill("c:N", scale=None, legend=None)}
    else:
        dash = [3, 2.4] if balls[0].look == "dashed" else [1, 0]
        ground = palette["card"] if balls[0].look == "hollow" else "transparent"
        chart = alt.Chart(_data(rows)).mark_point(
            shape="circle", fill=ground, strokeWidth=1.6, strokeDash=dash, opacity=1
        )
        colour = {"stroke": alt.Stroke("c:N", scale=None, legend=None)}
    drawn: alt.Chart = chart.encode(
        x=_across("v", scale), y=_down(), size=alt.Size("s:Q", scale=None, legend=None), **colour
    )
    return drawn


def _texts(texts: Sequence[Text], palette: dict[str, str]) -> alt.Chart | None:
    if not texts:
        return None
    rows = [{"x": t.x, "y": t.y, "t": tidy(t.text), "c": palette[t.tone], "z": t.size} for t in texts]
    chart = alt.Chart(_data(rows)).mark_text(align=texts[0].align, baseline="middle", font=FONT, opacity=1)
    x = alt.X("x:Q", scale=None, axis=None)
    size = alt.Size("z:Q", scale=None, legend=None)
    drawn: alt.Chart = chart.encode(x=x, y=_down(), text=alt.Text("t:N"), color=_colour(), size=size)
    return drawn
