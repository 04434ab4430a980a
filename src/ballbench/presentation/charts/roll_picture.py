"""Balance as chart data: offsets of balls under the tracks of the worst of them, or shares of the spot that is up."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.rolling.results import AxisOffset, BallOffset, RollFindings, SpotBall
from ballbench.findings.rolling.spot_words import named_spot
from ballbench.findings.rolling.words import offset_decimals
from ballbench.presentation.charts.roll_data import RampTracks, RollChart, RollLine
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.numbers import number
from ballbench.presentation.wording import plural

__all__ = ["offset_text", "roll_picture", "roll_says", "shown_balls", "spot_picture", "spot_says", "tracks_of"]

_MOST = 40
"""Balls that a picture shows, those with the largest offsets (own choice)."""


def offset_text(ball: BallOffset) -> str:
    """Print an offset, ``"0.086 mm"``; a bound where none is told."""
    if not math.isfinite(ball.high):
        return "not whole"
    decimals = offset_decimals(ball)
    return f"{number(ball.offset, decimals)} mm" if ball.told else f"under {number(ball.high, decimals)} mm"


def shown_balls(found: RollFindings) -> tuple[tuple[str, BallOffset], ...]:
    """Give product and ball of what the picture shows: all that are whole, or those with the largest offsets."""
    every = [(product.product, ball) for product in found.products for ball in product.balls if _drawn(ball)]
    if len(every) <= _MOST:
        return tuple(every)
    large = sorted(range(len(every)), key=lambda k: -every[k][1].high)[:_MOST]
    return tuple(every[k] for k in sorted(large))


def _drawn(ball: BallOffset) -> bool:
    return math.isfinite(ball.high)


def roll_picture(found: RollFindings) -> RollChart | None:
    """Draw up the balls of a ramp.

    Parameters
    ----------
    found : RollFindings
        Of a ramp.

    Returns
    -------
    RollChart or None
        None where no ball was rolled about three axes with a known scatter.
    """
    shown = shown_balls(found)
    if not shown:
        return None
    lines = tuple(
        RollLine(product, ball.ball, ball.low, ball.offset, ball.high, offset_text(ball), ball.told, math.nan)
        for product, ball in shown
    )
    axis = span_axis("offset of the mass centre", "mm", [line.high for line in lines], floor=0.0, ticked=True)
    every = sum(len(product.balls) for product in found.products)
    n_text = f"n = {plural(every, 'ball')}" + ("" if every == len(shown) else f", {len(shown)} shown")
    return RollChart(tracks_of(found), axis, lines, n_text, "filled: off balance beyond noise; bar: 95 %")


def tracks_of(found: RollFindings) -> RampTracks | None:
    """Give the tracks of the ball and axis that veer most; None where none was rolled both ways on one ramp."""
    every = [
        (abs(axis.veer), product.product, ball, axis) for product in found.products for ball in product.balls
        for axis in ball.axes if ball.ramp is not None and math.isfinite(axis.veer)
    ]  # fmt: skip
    if not every:
        return None
    _, product, ball, axis = max(every, key=lambda one: one[0])
    return _tracks(product, ball, axis)


def _tracks(product: str, ball: BallOffset, axis: AxisOffset) -> RampTracks | None:
    ramp = ball.ramp
    if ramp is None:
        return None
    return RampTracks(
        f"{product}, ball {ball.ball}, axis {axis.axis}", axis.half_sum + axis.veer, axis.half_sum - axis.veer,
        ramp.slope, ramp.run_out, ramp.foot, "filled: as placed; hollow: turned; between: the ramp's lean",
    )  # fmt: skip


def roll_says(chart: RollChart) -> str:
    """Say what a picture shows, for those who do not see it."""
    tracks = chart.tracks
    first = "" if tracks is None else (
        f"{tracks.label} veers by {number(tracks.placed, 0)} mm as placed and by {number(tracks.turned, 0)} mm turned. "
    )  # fmt: skip
    return first + "; ".join(f"{line.group}, ball {line.label}: {line.text}" for line in chart.lines) + "."


def spot_picture(balls: Sequence[SpotBall]) -> RollChart | None:
    """Draw up, ball by ball, the share of the trials with the most telling spot up, and the share by chance.

    Parameters
    ----------
    balls : sequence of SpotBall
        As counted.

    Returns
    -------
    RollChart or None
        None where no ball came to rest.
    """
    shown = [ball for ball in balls if ball.spots and math.isfinite(ball.p)][:_MOST]
    if not shown:
        return None
    lines = []
    for ball in shown:
        spot = ball.spots[0]
        text = f"{named_spot(spot.spot)}: {spot.count} of {ball.trials}"
        ends = (100.0 * spot.low, 100.0 * spot.share, 100.0 * spot.high)
        lines.append(RollLine(f"{ball.product}, {ball.test}", ball.ball, *ends, text, ball.told, 100.0 * spot.chance))
    axis = span_axis("trials with that spot up", "%", [0.0, 100.0], floor=0.0, margin=0.02, ticked=True)
    n_text = f"n = {plural(len(balls), 'ball')}" + ("" if len(balls) == len(shown) else f", {len(shown)} shown")
    return RollChart(None, axis, tuple(lines), n_text, "filled: more often than chance; upright mark: chance")


def spot_says(chart: RollChart) -> str:
    """Say what a picture of spots shows, for those who do not see it."""
    return "; ".join(
        f"{line.group}, ball {line.label}: {line.text}, {'more often than' if line.told else 'no more often than'} "
        f"chance, {line.chance:.0f} %"
        for line in chart.lines
    ) + "."  # fmt: skip
