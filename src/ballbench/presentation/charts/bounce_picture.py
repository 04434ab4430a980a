"""What was heard as chart data: the drops of a test in time, and each product's restitution against impact speed."""

from __future__ import annotations

import math

from ballbench.findings.bouncing.results import BounceClause, BounceDrop, BounceFindings, BounceRecording
from ballbench.findings.bouncing.words import spread_text
from ballbench.presentation.charts.bounce_data import DropRow, DropsChart, SpeedChart, SpeedDot
from ballbench.presentation.charts.chart_data import Bar, LimitLine, Row, RowChart
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.wording import plural, quantity_words, seen_short
from ballbench.quantities.rounding import decimals_for
from ballbench.quantities.units import factor

__all__ = [
    "clause_picture",
    "clause_says",
    "drops_picture",
    "drops_says",
    "products_of",
    "speed_picture",
    "speed_says",
]

_MOST_ROWS = 8
"""Drops that a picture shows; the tables have all (own choice)."""
_MOST_BALLS = 40
_MARGIN = 0.08
_MOST_PIECES = 320


def products_of(found: BounceFindings) -> tuple[str, ...]:
    """Give the products that have drops that count."""
    return tuple(dict.fromkeys(ball.product for ball in found.balls))


def drops_picture(found: BounceFindings, product: str) -> DropsChart:
    """Draw up the drops of one product.

    Parameters
    ----------
    found : BounceFindings
        With drops of it that count.
    product : str
        Which.

    Returns
    -------
    DropsChart
        The first drop of every ball before the second of any, eight at most.
    """
    numbers: dict[str, int] = {}  # a ball's drops are counted through its recordings, as in the readings
    every = []
    for recording in found.recordings:
        for drop in recording.drops if recording.product == product else ():
            numbers[recording.ball] = numbers.get(recording.ball, 0) + 1
            every += [(recording, drop, numbers[recording.ball])] if drop.counted else []
    every.sort(key=lambda one: one[2])
    shown = sorted(every[:_MOST_ROWS], key=lambda one: (one[0].ball, one[2]))
    longest = max(drop.impacts[-1].time - drop.impacts[0].time for _, drop, _ in shown)
    axis = span_axis("time since the first impact", "s", [0.0, longest], margin=_MARGIN / 2, ticked=True)
    rows = tuple(_row(recording, drop, count, axis.low, axis.high) for recording, drop, count in shown)
    balls = len({recording.ball for recording, _, _ in every})
    n_text = f"n = {plural(len(every), 'drop')} of {plural(balls, 'ball')}"
    if len(every) > len(shown):
        n_text += f", {len(shown)} shown"
    highest = max(flight.rise.value for _, drop, _ in shown for flight in drop.flights)
    return DropsChart(axis, rows, highest, n_text, "arcs: the flights, to scale in height; below, the sound")


def _row(recording: BounceRecording, drop: BounceDrop, count: int, low: float, high: float) -> DropRow:
    start = drop.impacts[0].time
    texts = [""] * len(drop.impacts)
    for bounce in drop.bounces:
        texts[bounce.impact - 1] = number(bounce.restitution.value, 3)
    note = "" if drop.rebound is None else f"rebound {spread_text(drop.rebound, 'mm')}"
    return DropRow(
        f"ball {recording.ball}, drop {count}", note,
        tuple(hit.time - start for hit in drop.impacts), tuple(hit.u for hit in drop.impacts),
        tuple(flight.rise.value for flight in drop.flights), tuple(texts), _sound(recording, start, low, high),
        recording.by_hand,
    )  # fmt: skip


def _sound(recording: BounceRecording, start: float, low: float, high: float) -> tuple[tuple[float, float, float], ...]:
    """Give the sound of one drop, no more pieces than pixels."""
    picture = recording.picture
    inside = [
        (time - start, least, most)
        for time, least, most in zip(picture.times, picture.lows, picture.highs, strict=True)
        if low <= time - start <= high
    ]
    together = math.ceil(len(inside) / _MOST_PIECES) or 1
    return tuple(
        (group[0][0], min(one[1] for one in group), max(one[2] for one in group))
        for group in (inside[k : k + together] for k in range(0, len(inside), together))
    )


def drops_says(chart: DropsChart) -> str:
    """Say what the picture of drops shows, for those who do not see it."""
    rows = [
        f"{row.label}: {len(row.impacts)} impacts in {row.impacts[-1]:.2f} s, flights up to "
        f"{max(row.heights):.0f} mm; {row.note or 'no rebound'}"
        for row in chart.rows
        if row.heights
    ]
    return f"{'; '.join(rows)}. {chart.n_text}."


def clause_picture(clause: BounceClause) -> RowChart | None:
    """Draw up every ball against the limits of a clause, in the unit of the limits; None where it is not tested."""
    limits = [limit for limit in (clause.lower, clause.upper) if limit is not None]
    if not clause.each or not limits:
        return None
    unit = limits[0].unit
    scale = 1.0 if clause.unit == "1" else factor(clause.unit, unit)
    lines = [
        None if limit is None else LimitLine(limit.value * scale, with_unit(limit.text, limit.unit))
        for limit in (clause.lower, clause.upper)
    ]
    known = [line.value for line in lines if line is not None]
    shown = sorted(clause.each, key=lambda pair: min(abs(pair[1].value * scale - limit) for limit in known))
    names = {ball for ball, _ in shown[:_MOST_BALLS]}
    rows, values = [], [*known]
    for ball, one in clause.each:
        if ball in names:
            ends = (one.low * scale, one.value * scale, one.high * scale)
            decimals = max(decimals_for(ends[0], ends[2]), 0)
            text = f"{number(ends[0], decimals)} to {number(ends[2], decimals)}"
            rows.append(Row(ball, number(ends[1], decimals), bars=(Bar(*ends, text),)))
            values += ends
    n_text = f"n = {plural(len(clause.each), 'ball')}"
    if len(rows) < len(clause.each):
        n_text += f", the {len(rows)} nearest to a limit shown"
    axis = span_axis(quantity_words(clause.quantity), unit, values, margin=0.08)
    return RowChart("balls", axis, tuple(rows), n_text, lines[0], lines[1], remark=seen_short(clause.seen))


def clause_says(clause: BounceClause, chart: RowChart) -> str:
    """Say what the picture of a clause shows, for those who do not see it."""
    balls = "; ".join(f"ball {row.label}: {row.note} ({row.bars[0].text})" for row in chart.rows)
    return f"{clause.product}, {clause.clause}, {chart.axis.unit}: {balls}. {chart.n_text}."


def speed_picture(found: BounceFindings, product: str) -> SpeedChart | None:
    """Draw up restitution against impact speed; None where fewer than two impacts stand behind it.

    A line is drawn only for a single ball whose restitution changes with speed beyond noise.
    """
    drops = [
        drop
        for recording in found.recordings
        if recording.product == product
        for drop in recording.drops
        if drop.counted
    ]
    dots = tuple(
        SpeedDot(one.speed, one.restitution.value, one.restitution.low, one.restitution.high, one.impact == 1)
        for drop in drops
        for one in drop.bounces
    )
    if len(dots) < 2:
        return None
    across = span_axis("impact speed", "m/s", [dot.speed for dot in dots], ticked=True)
    up = span_axis("restitution", "1", [end for dot in dots for end in (dot.low, dot.value, dot.high)], ticked=True)
    balls = [ball for ball in found.balls if ball.product == product]
    trend = balls[0].trend if len(balls) == 1 else None
    speeds: tuple[float, ...] = ()
    line: tuple[float, ...] = ()
    if trend is not None and trend.told:
        middle = sum(dot.speed for dot in dots) / len(dots), sum(dot.value for dot in dots) / len(dots)
        speeds = (trend.slowest, trend.fastest)
        line = tuple(middle[1] + trend.per_speed.value * (speed - middle[0]) for speed in speeds)
    n_text = f"n = {plural(len(dots), 'impact')}, {plural(len(drops), 'drop')}, {plural(len(balls), 'ball')}"
    remark = "hollow: speed from the drop height" if any(dot.first for dot in dots) else ""
    return SpeedChart(product, across, up, dots, speeds, line, n_text, remark)


def speed_says(chart: SpeedChart) -> str:
    """Say what the picture of speeds shows, for those who do not see it."""
    slow, fast = (pick(chart.dots, key=lambda dot: dot.speed) for pick in (min, max))
    return (
        f"{chart.label}: restitution {slow.value:.3f} at {slow.speed:.2f} m/s and {fast.value:.3f} at "
        f"{fast.speed:.2f} m/s; {chart.n_text}."
    )
