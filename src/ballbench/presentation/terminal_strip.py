"""A clause's strip drawn in characters: the same band, bar, ball and hollow ball as in the pictures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ballbench.presentation.charts.chart_data import RowChart

__all__ = ["Glyphs", "strip_legend", "strip_lines"]


@dataclass(frozen=True, slots=True)
class Glyphs:
    """The characters of a strip: band, ground, bar, ball, hollow ball, limit line, a bar or the ball across it."""

    band: str = "░"
    ground: str = " "
    bar: str = "━"
    ball: str = "●"
    raw: str = "○"
    limit: str = "│"
    crossed: str = "┿"
    on_limit: str = "◐"


PLAIN = Glyphs(band=".", ground=" ", bar="=", ball="@", raw="o", limit="|", crossed="#", on_limit="0")


def strip_legend(*, plain: bool = False) -> str:
    """Say in one line how a strip is read."""
    g = PLAIN if plain else Glyphs()
    bar = f"{g.bar}{g.ball}{g.bar}"
    return f"{g.band * 2} allowed, {g.limit} its limit, {bar} the balls (95 %), {g.raw} as read by the instrument."


def strip_lines(chart: RowChart, width: int, *, plain: bool = False) -> tuple[str, ...]:
    """Draw a strip in characters.

    Parameters
    ----------
    chart : RowChart
        A strip.
    width : int
        Cells across, at least 20.
    plain : bool
        Only ASCII.

    Returns
    -------
    tuple of str
        The band with bar and ball, then the raw value when there is one; no line is wider than `width`. A bar or ball
        that lies inside its limit never covers the limit's cell.
    """
    glyphs = PLAIN if plain else Glyphs()
    limits = [limit.value for limit in (chart.lower, chart.upper) if limit is not None]

    def cell(value: float) -> int:
        share = (value - chart.axis.low) / (chart.axis.high - chart.axis.low)
        place = min(max(math.floor(share * width), 0), width - 1)
        for limit in limits:
            at = min(
                max(math.floor((limit - chart.axis.low) / (chart.axis.high - chart.axis.low) * width), 0), width - 1
            )
            if place == at and value != limit:
                place += 1 if value > limit else -1
        return min(max(place, 0), width - 1)

    begins = cell(chart.lower.value) if chart.lower else 0
    ends = cell(chart.upper.value) if chart.upper else width - 1
    cells = [glyphs.band if begins <= i <= ends else glyphs.ground for i in range(width)]
    for limit in limits:
        cells[cell(limit)] = glyphs.limit
    row = chart.rows[0]
    bar = row.bars[0]
    at_limits = {cell(limit) for limit in limits}
    for i in range(cell(bar.low), cell(bar.high) + 1):
        cells[i] = glyphs.crossed if i in at_limits else glyphs.bar
    ball = cell(bar.median)
    cells[ball] = glyphs.on_limit if ball in at_limits else glyphs.ball
    lines = ["".join(cells).rstrip()]
    if row.raw is not None:
        at, text = cell(row.raw.value), row.raw.text
        fits = at + 2 + len(text) <= width
        before = f"{text} " if len(text) < at else ""
        lines.append(" " * at + f"{glyphs.raw} {text}" if fits else before.rjust(at) + glyphs.raw)
    return tuple(lines)
