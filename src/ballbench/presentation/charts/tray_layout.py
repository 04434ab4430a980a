"""Trays laid out, one below the other: all balls of one size, so that more balls make a larger tray."""

from __future__ import annotations

import math

from ballbench.presentation.charts.lettering import shorten
from ballbench.presentation.charts.plan_data import Tray, TrayChart
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Text, Tone, centred

__all__ = ["columns_of", "lay_out_trays"]

_LEAD, _LINE = 13.0, 16.0
_ROOM, _LARGEST, _EDGE = 148.0, 14.0, 5.0
_LEFT, _WORDS = 6.0, 172.0


def columns_of(balls: int) -> int:
    """Give how many balls stand side by side: about half as many again as rows, with full rows where that is near."""
    ideal = max(round(math.sqrt(1.5 * balls)), 1)
    near = sorted(range(max(ideal - 1, 1), ideal + 3), key=lambda columns: abs(columns - ideal))
    return next((columns for columns in near if balls % columns == 0), math.ceil(math.sqrt(1.5 * balls)))


def lay_out_trays(chart: TrayChart) -> Sheet:
    """Lay out trays.

    Parameters
    ----------
    chart : TrayChart
        From the smallest up.

    Returns
    -------
    Sheet
        The chosen tray has a double rim and a ball inside a limit line beside its word.
    """
    scale = Scale(0.0, WIDTH, 0.0, WIDTH)
    pitch = min(_LARGEST, (_ROOM - 2 * _EDGE) / max(columns_of(tray.balls) for tray in chart.trays))
    areas: list[Area] = []
    lines: list[Line] = []
    balls: list[Ball] = []
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    y = 26.0
    for tray in chart.trays:
        rims, high = _rims(tray, pitch, y)
        areas += rims
        balls += _balls(tray, pitch, y)
        texts += _words(tray, y)
        if tray.chosen:
            mark = y + _LINE * (len(tray.lines) + 1) + 8
            areas.append(Area(_WORDS, _WORDS + 15, mark - 7, mark + 7, "band"))
            lines.append(Line(_WORDS + 15, mark - 9, mark + 9, "limit", 2.0))
            balls.append(Ball(_WORDS + 7, mark, 5.0))
        y += max(high, _LINE * (len(tray.lines) + 1 + bool(tray.word)) + 2) + 18
    if chart.remark:
        texts.append(centred(WIDTH / 2, y - 4, chart.remark))
        y += 14
    return Sheet(scale, y - 4, tuple(areas), tuple(lines), tuple(balls), tuple(texts))


def _rims(tray: Tray, pitch: float, y: float) -> tuple[list[Area], float]:
    """The rim of a tray, and its height; double where it is the chosen one."""
    columns = columns_of(tray.balls)
    wide, high = columns * pitch + 2 * _EDGE, math.ceil(tray.balls / columns) * pitch + 2 * _EDGE
    rims = [Area(_LEFT, _LEFT + wide, y, y + high, "limit", hollow=True)]
    if tray.chosen:
        rims.insert(0, Area(_LEFT - 4, _LEFT + wide + 4, y - 4, y + high + 4, "limit", hollow=True))
    return rims, high


def _balls(tray: Tray, pitch: float, y: float) -> list[Ball]:
    columns, radius = columns_of(tray.balls), max(0.41 * pitch, 1.0)
    return [
        Ball(
            _LEFT + _EDGE + (k % columns + 0.5) * pitch, y + _EDGE + (k // columns + 0.5) * pitch, radius,
            look="filled" if k < tray.filled else "hollow",
        )
        for k in range(tray.balls)
    ]  # fmt: skip


def _words(tray: Tray, y: float) -> list[Text]:
    room = WIDTH - 2 - _WORDS
    texts = [Text(_WORDS, y + 7, shorten(tray.label, _LEAD, room), "ink", _LEAD)]
    for k, line in enumerate(tray.lines, 1):
        tone: Tone = "ink" if k == len(tray.lines) else "soft"
        texts.append(Text(_WORDS, y + 7 + k * _LINE, shorten(line, NOTE, room), tone))
    if tray.word:
        left = _WORDS + (24 if tray.chosen else 0)
        at = y + _LINE * (len(tray.lines) + 1) + 8
        texts.append(Text(left, at, shorten(tray.word, NOTE, WIDTH - 2 - left), "ink" if tray.chosen else "soft"))
    return texts
