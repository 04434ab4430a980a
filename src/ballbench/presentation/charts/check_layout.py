"""Checks laid out: piece by piece, time down the page, every check a ball on the band of what is allowed."""

from __future__ import annotations

from itertools import pairwise

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.qualify_data import CheckChart, CheckGroup
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Slant, Text, Tone, centred

__all__ = ["FAILED", "lay_out_checks"]

FAILED = "failed"

_LEAD, _PITCH, _BALL = 13.0, 22.0, 5.0


def lay_out_checks(chart: CheckChart) -> Sheet:
    """Lay out checks.

    Parameters
    ----------
    chart : CheckChart
        Groups of checks.

    Returns
    -------
    Sheet
        A check that failed is a hollow ball beyond its limit, with the word.
    """
    spots = [spot for group in chart.groups for spot in group.spots]
    whens = max(text_width(shorten(spot.when, NOTE, 84), NOTE) for spot in spots)
    notes = max(text_width(_note(spot.text, passed=spot.passed), NOTE) for spot in spots)
    scale = Scale(chart.axis.low, chart.axis.high, whens + 16, WIDTH - notes - 16)
    parts = _Parts(scale)
    parts.texts.append(Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right"))
    y = 32.0
    for group in chart.groups:
        y = parts.group(group, y)
    for tick in chart.axis.ticks:
        parts.lines.append(Line(tick.value, y - 4, y + 1, "limit", 1.0))
        parts.texts.append(centred(scale.pixel(tick.value), y + 11, tick.text))
    unit = "" if chart.axis.unit in {"", "1"} else f", {chart.axis.unit}"
    parts.texts.append(centred((scale.left + scale.right) / 2, y + 28, chart.axis.name + unit))
    return Sheet(
        scale, y + 40, tuple(parts.areas), tuple(parts.lines), tuple(parts.balls), tuple(parts.texts),
        tuple(parts.slants),
    )  # fmt: skip


def _note(text: str, *, passed: bool) -> str:
    return text if passed else f"{FAILED} {text}"


class _Parts:
    """Collects the parts of the sheet."""

    def __init__(self, scale: Scale) -> None:
        self.scale = scale
        self.areas: list[Area] = []
        self.lines: list[Line] = []
        self.slants: list[Slant] = []
        self.balls: list[Ball] = []
        self.texts: list[Text] = []

    def group(self, group: CheckGroup, y: float) -> float:
        """Lay out the checks on one piece; give the next free height."""
        room = WIDTH - 4 - text_width(group.note, NOTE) - 10
        self.texts.append(Text(2, y, shorten(group.piece, _LEAD, room), "ink", _LEAD))
        self.texts.append(Text(WIDTH - 2, y, group.note, align="right"))
        y += 24
        path = []
        for spot in group.spots:
            top, bottom = y - _PITCH / 2, y + _PITCH / 2
            low, high = max(spot.low, self.scale.low), min(spot.high, self.scale.high)
            self.areas.append(Area(low, high, top, bottom + 0.5, "band"))
            self.lines += [Line(value, top, bottom, "limit") for value in (low, high)]
            self.lines.append(Line(0.0, top, bottom, "line", 1.0))
            at = min(max(spot.error, self.scale.low), self.scale.high)
            self.balls.append(Ball(at, y, _BALL, look="filled" if spot.passed else "hollow"))
            self.texts.append(Text(2, y, shorten(spot.when, NOTE, 84)))
            tone: Tone = "soft" if spot.passed else "ink"
            self.texts.append(Text(WIDTH - 2, y, _note(spot.text, passed=spot.passed), tone, align="right"))
            if spot.drift is not None:
                path.append((min(max(spot.drift, self.scale.low), self.scale.high), y))
            y += _PITCH
        self.slants += [Slant(a, from_y, b, to_y, "accent", 2.4) for (a, from_y), (b, to_y) in pairwise(path)]
        if group.remark:
            self.texts.append(centred(WIDTH / 2, y + 1, group.remark, tone="ink"))
            y += 20
        return y + 12
