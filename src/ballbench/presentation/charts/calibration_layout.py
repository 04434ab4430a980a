"""The line of errors laid out: sizes run down the page as along the instrument's beam, errors across."""

from __future__ import annotations

from itertools import pairwise

from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.qualify_data import CalibrationChart, LinePoint
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Slant, Text, centred

__all__ = ["lay_out_calibration"]

_LABELS, _LEAST = 112.0, 16.0
_TOP, _TALL = 48.0, 190.0


def lay_out_calibration(chart: CalibrationChart) -> Sheet:
    """Lay out a line of errors with its pieces.

    Parameters
    ----------
    chart : CalibrationChart
        Pieces, line, and the size of the balls.

    Returns
    -------
    Sheet
        The line ends where the instrument's use ends.
    """
    names = [shorten(piece.name, NOTE, _LABELS) for piece in chart.pieces]
    here = shorten(chart.balls_text, NOTE, _LABELS)
    wide = max(text_width(name, NOTE) for name in (*names, here))
    scale = Scale(chart.axis.low, chart.axis.high, wide + 14, WIDTH - 12)
    tall = max(_TALL, _LEAST * (len(names) + 2))
    sizes = [*(piece.size for piece in chart.pieces), *(point.size for point in chart.line)]
    first, last = min(sizes), max(sizes)

    def down(size: float) -> float:
        return _TOP + tall * (size - first) / (last - first)

    areas, slants = _band(chart.line, down)
    bottom = _TOP + tall
    lines = [Line(0.0, _TOP - 6, bottom + 6, "limit", 1.0)]
    balls = [Ball(error, down(piece.size), 2.6, "soft") for piece in chart.pieces for error in set(piece.errors)]
    balls += [Ball(piece.mean, down(piece.size), 5.5) for piece in chart.pieces]
    areas.append(Area(chart.balls.low, chart.balls.high, down(chart.balls.size) - 4, down(chart.balls.size) + 4,
                      "accent"))  # fmt: skip
    balls.append(Ball(chart.balls.error, down(chart.balls.size), 5.0, look="hollow"))
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    texts += _labels([*((down(piece.size), name) for piece, name in zip(chart.pieces, names, strict=True)),
                      (down(chart.balls.size), here)], here)  # fmt: skip
    middle = (scale.left + scale.right) / 2
    texts += [
        centred(middle, _TOP - 18, chart.low_text, left=scale.left),
        centred(middle, bottom + 24, chart.high_text, left=scale.left),
    ]
    y = bottom + 42
    for tick in chart.axis.ticks:
        lines.append(Line(tick.value, y - 4, y + 1, "limit", 1.0))
        texts.append(centred(scale.pixel(tick.value), y + 11, tick.text))
    unit = "" if chart.axis.unit in {"", "1"} else f", {chart.axis.unit}"
    texts.append(centred(middle, y + 28, chart.axis.name + unit, left=scale.left))
    if chart.remark:
        texts.append(centred(WIDTH / 2, y + 47, chart.remark, tone="ink"))
        y += 19
    return Sheet(scale, y + 40, tuple(areas), tuple(lines), tuple(balls), tuple(texts), tuple(slants))


def _band(line: tuple[LinePoint, ...], down: object) -> tuple[list[Area], list[Slant]]:
    """The 95 % band in thin slices, the line, and a stroke across where it ends."""
    at = [down(point.size) for point in line]  # type: ignore[operator]
    areas, slants = [], []
    for (one, other), (y, to_y) in zip(pairwise(line), pairwise(at), strict=True):
        areas.append(Area((one.low + other.low) / 2, (one.high + other.high) / 2, y, to_y + 0.4, "band"))
        slants.append(Slant(one.error, y, other.error, to_y, "accent", 2.2))
    slants += [Slant(end.low, y, end.high, y, "limit", 2.2) for end, y in ((line[0], at[0]), (line[-1], at[-1]))]
    return areas, slants


def _labels(wanted: list[tuple[float, str]], stressed: str) -> list[Text]:
    """Names at the left, each at the height of its ball, pushed down where it would touch the one above."""
    texts: list[Text] = []
    free = 0.0
    for y, name in sorted(wanted):
        free = max(y, free)
        texts.append(Text(2, free, name, "ink" if name == stressed else "soft"))
        free += _LEAST
    return texts
