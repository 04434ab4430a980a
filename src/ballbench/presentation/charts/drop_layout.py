"""Filmed drops, laid out: a dot where the ball was seen, the fitted flight through them, the rebound as a level."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ballbench.presentation.charts.drop_data import FilmChart, FilmRow
from ballbench.presentation.charts.lettering import shorten, text_width, tidy
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Ball, Line, Scale, Sheet, Slant, Text, centred

__all__ = ["lay_out_film"]

_LEFT, _RIGHT = 34.0, 12.0
_LEAD = 13.0
_HIGH, _GAP = 120.0, 20.0
_DOT = 2.0


def lay_out_film(chart: FilmChart) -> Sheet:
    """Lay out filmed drops.

    Parameters
    ----------
    chart : FilmChart
        The clips.

    Returns
    -------
    Sheet
        All rows on one scale of heights; no dot lies outside its row.
    """
    scale = Scale(chart.axis.low, chart.axis.high, _LEFT, WIDTH - _RIGHT)
    lines: list[Line] = []
    slants: list[Slant] = []
    balls: list[Ball] = []
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    y = 32.0
    for row in chart.rows:
        room = WIDTH - 4 - text_width(row.note, NOTE) - 10
        texts.append(Text(2, y, _shorten_middle(row.label, room), "ink", _LEAD))
        texts.append(Text(WIDTH - 2, y, row.note, "ink", align="right"))
        floor = y + 16 + _HIGH
        slants += _flights(chart, row, floor, scale)
        balls += _dots(chart, row, floor)
        texts += _heights(chart, floor)
        texts += _printed(chart, row, floor, scale)
        lines += [Line(time, floor, floor + 4, "limit", 1.0) for time, _ in row.impacts]
        y = floor + 16 + _GAP
    bottom = y - 10
    for tick in chart.axis.ticks:
        lines.append(Line(tick.value, bottom - 4, bottom + 1, "limit", 1.0))
        texts.append(centred(scale.pixel(tick.value), bottom + 10, tick.text))
    texts.append(centred(WIDTH / 2, bottom + 27, f"{chart.axis.name}, {chart.axis.unit}; height of the underside, mm"))
    end = bottom + 38
    if chart.remark:
        texts.append(centred(WIDTH / 2, end + 4, chart.remark))
        end += 17
    return Sheet(scale, end, (), tuple(lines), tuple(balls), tuple(texts), tuple(slants))


def _shorten_middle(label: str, width: float) -> str:
    """Keep the ball and the end of the file's name, which tells clips of one ball apart."""
    line = tidy(label)
    if text_width(line, _LEAD) <= width or ", " not in line:
        return shorten(line, _LEAD, width)
    head, tail = line.split(", ", 1)
    while tail and text_width(f"{head}, …{tail}", _LEAD) > width:
        tail = tail[1:]
    return f"{head}, …{tail}" if tail else shorten(line, _LEAD, width)


def _up(chart: FilmChart, height: float, floor: float) -> float:
    return floor - _HIGH * min(max(height / chart.highest, -0.05), 1.05)


def _flights(chart: FilmChart, row: FilmRow, floor: float, scale: Scale) -> Iterator[Slant]:
    """Draw the plate, the level of the rebound, and the fitted flights."""
    yield Slant(scale.low, floor, scale.high, floor, "limit", 1.6)
    time, height, _ = row.top
    level = _up(chart, height, floor)
    yield Slant(scale.low, level, time, level, "accent", 1.2)
    for run in row.curve:
        for (a, ya), (b, yb) in pairwise(run):
            yield Slant(a, _up(chart, ya, floor), b, _up(chart, yb, floor), "soft", 1.4)


def _dots(chart: FilmChart, row: FilmRow, floor: float) -> Iterator[Ball]:
    for dot in row.dots:
        look = "filled" if dot.look == "used" else "hollow"
        tone = "accent" if dot.look == "by hand" else "ink"
        yield Ball(dot.time, _up(chart, dot.height, floor), _DOT if dot.look == "used" else 3.0, tone, look)  # type: ignore[arg-type]


def _heights(chart: FilmChart, floor: float) -> Iterator[Text]:
    for tick in chart.up:
        yield Text(_LEFT - 6, _up(chart, tick.value, floor), tick.text, align="right")


def _printed(chart: FilmChart, row: FilmRow, floor: float, scale: Scale) -> Iterator[Text]:
    """Print the rebound at its level, and the restitutions under their impacts, those that have room."""
    time, height, words = row.top
    yield centred(scale.pixel(time), _up(chart, height, floor) - 10, words, tone="ink", left=_LEFT)
    free = 0.0
    for moment, text in row.impacts:
        placed = centred(scale.pixel(moment), floor + 12, text, tone="ink")
        if text and placed.ends[0] >= free:
            free = placed.ends[1] + 6.0
            yield placed
