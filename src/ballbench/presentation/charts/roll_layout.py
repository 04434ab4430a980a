"""Two tracks on a ramp and a line for each ball, laid out; veers are drawn wider than they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.roll_data import RampTracks, RollChart, RollLine
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Slant, Text, Tone, centred

__all__ = ["lay_out_roll"]

_LEAD, _PITCH = 13.0, 20.0
_TOP, _LENGTH, _HALF, _REACH = 32.0, 150.0, 92.0, 78.0
"""The board: where it begins, its length, half its width, and how far a track may go to the side, px."""
_STEPS = 12
Point = tuple[float, float]


def lay_out_roll(chart: RollChart) -> Sheet:
    """Lay out the tracks and the lines below.

    Parameters
    ----------
    chart : RollChart
        Its data.

    Returns
    -------
    Sheet
        No text leaves the sheet; both tracks end at the read line as far apart as their veers say.
    """
    note_width = max((text_width(line.text, NOTE) for line in chart.lines), default=0.0)
    labels = [shorten(line.label, NOTE, 60) for line in chart.lines]
    left = max([20.0, *(text_width(label, NOTE) for label in labels)]) + 10
    scale = Scale(chart.axis.low, chart.axis.high, left, WIDTH - max(note_width, 30.0) - 12)
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    areas: list[Area] = []
    lines: list[Line] = []
    slants: list[Slant] = []
    balls: list[Ball] = []
    y = 32.0
    if chart.tracks is not None:
        board = _Board(chart.tracks, scale)
        areas += board.areas()
        slants += board.slants()
        balls += board.balls()
        texts += board.texts()
        y = board.bottom + 48
    group = ""
    for line, label in zip(chart.lines, labels, strict=True):
        if line.group != group:
            group = line.group
            texts.append(Text(2, y, shorten(group, _LEAD, WIDTH - 4), "ink", _LEAD))
            y += _PITCH
        areas += [_bar(line, y)]
        balls.append(Ball(line.value, y, 4.0, "ink", look="filled" if line.told else "hollow"))
        if math.isfinite(line.chance):
            lines.append(Line(line.chance, y - 8, y + 8, "limit"))
        texts.append(Text(2, y, label, "ink" if line.told else "soft"))
        texts.append(Text(WIDTH - 2, y, line.text, "ink" if line.told else "soft", align="right"))
        y += _PITCH
    bottom = y - 6
    for tick in chart.axis.ticks:
        lines.append(Line(tick.value, bottom, bottom + 5, "limit", 1.0))
        texts.append(centred(scale.pixel(tick.value), bottom + 14, tick.text))
    unit = "" if chart.axis.unit in {"", "1"} else f", {chart.axis.unit}"
    texts.append(centred((scale.left + scale.right) / 2, bottom + 31, chart.axis.name + unit))
    texts.append(centred(WIDTH / 2, bottom + 48, chart.remark))
    return Sheet(scale, bottom + 60, tuple(areas), tuple(lines), tuple(balls), tuple(texts), tuple(slants))


def _bar(line: RollLine, y: float) -> Area:
    return Area(line.low, line.high, y - 2.2, y + 2.2, "accent" if line.told else "line")


class _Board:
    """The ramp from above in pixels, as somebody sees it who stands at its start: down the slope is up the sheet."""

    def __init__(self, tracks: RampTracks, scale: Scale) -> None:
        self.tracks, self.scale = tracks, scale
        self.middle = WIDTH / 2
        self.bottom = _TOP + _LENGTH
        self.foot = self.bottom - _LENGTH * tracks.slope / (tracks.slope + tracks.run_out)
        self.wide = _REACH / max(abs(tracks.placed), abs(tracks.turned), 1e-9)

    def pixel(self, veer: float, y: float) -> Point:
        return self.middle + veer * self.wide, y

    def track(self, veer: float) -> list[Point]:
        """Straight to the foot, then on a parabola that begins in the same direction."""
        tracks = self.tracks
        points = [self.pixel(0.0, self.bottom)]
        at_foot = veer * tracks.bend
        points.append(self.pixel(at_foot, self.foot))
        if tracks.run_out:
            along = at_foot * tracks.run_out / tracks.slope
            for k in range(1, _STEPS + 1):
                part = k / _STEPS
                height = self.foot + (_TOP - self.foot) * part
                points.append(self.pixel(at_foot + along * part + (veer - at_foot - along) * part * part, height))
        return points

    def areas(self) -> list[Area]:
        """The board, and its flat part."""
        value = self.scale.value
        left, right = value(self.middle - _HALF), value(self.middle + _HALF)
        whole = [Area(left, right, self.foot, self.bottom + 8, "band")]
        if self.tracks.run_out:
            whole.append(Area(left, right, _TOP, self.foot, "line", hollow=True))
        return whole

    def slants(self) -> list[Slant]:
        """Both tracks, the middle between them, and the read line."""
        lean = 0.5 * (self.tracks.placed + self.tracks.turned)
        edges = [(self.middle - _HALF, _TOP), (self.middle + _HALF, _TOP)]
        found = list(self._path(edges, "limit", 1.6))
        found += self._path(self.track(lean), "accent", 1.6)
        found += self._path(self.track(self.tracks.placed), "ink", 2.2)
        return [*found, *self._path(self.track(self.tracks.turned), "soft", 2.2)]

    def _path(self, points: list[Point], tone: Tone, thickness: float) -> Iterator[Slant]:
        value = self.scale.value
        for (ax, ay), (bx, by) in pairwise(points):
            yield Slant(value(ax), ay, value(bx), by, tone, thickness)

    def balls(self) -> list[Ball]:
        """Where both tracks end, the one as placed filled, and the start."""
        placed, turned = self.track(self.tracks.placed)[-1], self.track(self.tracks.turned)[-1]
        value = self.scale.value
        return [
            Ball(value(placed[0]), placed[1], 5.0, "ink"), Ball(value(turned[0]), turned[1], 5.0, "ink", look="hollow"),
            Ball(value(self.middle), self.bottom, 5.0, "soft"),
        ]  # fmt: skip

    def texts(self) -> list[Text]:
        """Which ball, where it starts and is read, and what the line between the tracks is."""
        tracks = self.tracks
        found = [Text(2, 9, shorten(tracks.label, _LEAD, 220.0), "ink", _LEAD), Text(2, _TOP, "read line")]
        found.append(Text(2, self.bottom, "start"))
        if tracks.run_out:
            found.append(Text(2, self.foot, "foot"))
        found.append(centred(WIDTH / 2, self.bottom + 22, tracks.remark))
        return found
