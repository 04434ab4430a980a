"""What a ramp, or floats and spins, tell becomes a document: sentences, a picture, ball by ball, what it rests on."""

from __future__ import annotations

import math

from ballbench.findings.rolling.results import AxisOffset, BallOffset, RollClause, RollFindings, RollProduct
from ballbench.findings.rolling.spot_words import chance_words, seconds_words, share_words
from ballbench.findings.rolling.words import clause_sentence, heavy_words, offset_decimals
from ballbench.presentation.charts.roll_picture import (
    roll_picture,
    roll_says,
    shown_balls,
    spot_picture,
    spot_says,
)
from ballbench.presentation.document import Block, Document, Facts, Figure, Table
from ballbench.presentation.numbers import number
from ballbench.presentation.report_frame import (
    NO_APPROVAL,
    OTHER_BATCHES,
    answer_blocks,
    clause_block,
    framed,
    held_against,
    rebuilt,
    standing_blocks,
)
from ballbench.presentation.report_tables import caption
from ballbench.quantities.printed import span_words, with_sign
from ballbench.quantities.rounding import decimals_for, decimals_of

__all__ = ["rolls_blocks", "rolls_document"]

_RAMP_METHODS = (
    (
        "A ball whose mass centre lies off its middle along the spin axis goes down a slope at an angle, and turns on "
        "the flat. Each axis is rolled both ways round: half the difference is the ball's, half the sum the ramp's."
    ),
    (
        "Three axes at right angles, added in squares, make the whole offset. Noise makes the sum of squares too "
        "large: what it adds on average is taken off, and the interval is that of a vector with noisy components; it "
        "may hold 0."
    ),
    (
        "Scatter of runs comes from repeats, all balls together; with few of them, from half-sums too, which differ by "
        "noise alone while the ramp stands still."
    ),
    (
        "A clause on veer is held against the balls' own veer, the ramp's lean taken out, on the axes rolled and both "
        "ways; inside and outside are told at 5 % each (t distribution, Bonferroni for outside)."
    ),
)
_SPOT_METHODS = (
    (
        "The chance that some spot is up so often, whichever it is, if every sector is up as often as its share of the "
        "sphere says: exact, multinomial. Then the same without that spot and its trials."
    ),
    "Intervals of shares are those of Clopper and Pearson, 95 % for all spots of a ball together.",
)
_RAMP_LIMITS = (
    "Other axes than those rolled; the worst veer of a ball is that about the axis of its offset, on the same ramp.",
    "How the ball is made inside: one light or heavy place, or a wall of uneven thickness, give the same offset.",
    "An oval shape, which does not make a ball veer; and a pear shape apart from an offset, which veers like one.",
    OTHER_BATCHES,
    NO_APPROVAL,
)
_SPOT_LIMITS = (
    "How far off balance a ball is: the ramp says that.",
    OTHER_BATCHES,
    NO_APPROVAL,
)


_BALL_HEADS = ("product", "ball", "offset (mm)", "95 % (mm)", "told", "heavy spot", "worst veer (mm)")
"""The worst veer is that of a ball that spins about the axis of its offset, whichever axes were rolled."""


def rolls_document(found: RollFindings) -> Document:
    """Build the report of a ramp, or of floats and spins.

    Parameters
    ----------
    found : RollFindings
        As found.

    Returns
    -------
    Document
        Answer, picture, ball by ball, what it rests on.
    """
    names = ", ".join(dict.fromkeys([*(one.product for one in found.products), *(one.product for one in found.spots)]))
    title, what = ("Same spot up", "floated and spun balls") if found.spots else ("Balance from a ramp", "95 %")
    return framed(
        title,
        f"{names}, {what}.",
        (*rolls_blocks(found), *_standing(found)),
        "balance",
        invented=found.footing.invented,
    )


def rolls_blocks(found: RollFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, the picture with its table, ball by ball, clauses."""
    told = len(found.sentences) - len(found.clauses)
    blocks = answer_blocks(found.sentences[:told], len(found.products) + len(found.spots))
    blocks += _ramp_figures(found)
    blocks += _balls_table(found)
    blocks += [_axes_table(product) for product in found.products]
    blocks += _spot_figures(found)
    if found.spots:
        blocks.append(_spots_table(found))
    clauses = [clause_block(one, clause_sentence(one), fold=(_counts(one),)) for one in found.clauses]
    return (*blocks, *held_against(found.requirement, clauses))


def _ramp_figures(found: RollFindings) -> list[Block]:
    chart = roll_picture(found)
    if chart is None:
        return []
    rows = tuple((product, *_ball_cells(ball)) for product, ball in shown_balls(found))
    table = Table("Offset of the mass centre", _BALL_HEADS[:-2], tuple(row[:-2] for row in rows), (2,))
    text = "Balls that veer" if chart.tracks is None else (
        "Above, the ball and axis that veer most, seen from the start of the ramp; veers are drawn much too wide. "
        "Below, every ball"
    )  # fmt: skip
    return [Figure(chart, caption(f"{text}: its offset with its interval.", invented=found.footing.invented),
                   roll_says(chart), table)]  # fmt: skip


def _balls_table(found: RollFindings) -> list[Block]:
    """Give every ball with a length, those too that the picture leaves out."""
    rows = tuple(
        (product.product, *_ball_cells(ball)) for product in found.products for ball in product.balls
        if math.isfinite(ball.high)
    )  # fmt: skip
    return [Table("Ball by ball", _BALL_HEADS, rows, (2,))] if rows else []


def _ball_cells(ball: BallOffset) -> tuple[str, ...]:
    decimals = offset_decimals(ball)
    heavy = heavy_words(ball).removeprefix("heavy spot ") if ball.heavy else "not known"
    worst = "several ramps" if math.isnan(ball.worst) else (
        f"{number(ball.worst, 0)} ({span_words(ball.worst_low, ball.worst_high, 0)})"
    )  # fmt: skip
    ends = span_words(ball.low, ball.high, decimals)
    return ball.ball, number(ball.offset, decimals), ends, "yes" if ball.told else "no", heavy, worst


def _axes_table(product: RollProduct) -> Table:
    rows = tuple(
        (ball.ball, axis.axis, f"{axis.placed} + {axis.turned}", *_axis_cells(axis))
        for ball in product.balls for axis in ball.axes
    )  # fmt: skip
    heads = (
        "ball", "axis", "runs, as placed + turned", "own veer (mm)", "ramp's part (mm)", "offset along it (mm)",
        "95 % (mm)",
    )  # fmt: skip
    return Table(f"{product.product}, axis by axis", heads, rows, (3, 4, 5))


def _axis_cells(axis: AxisOffset) -> tuple[str, str, str, str]:
    if axis.reason:
        return ("one way only",) * 2 + ("cannot be told",) * 2
    decimals = 3 if math.isnan(axis.low) else max(decimals_for(axis.low, axis.high, 4), 0)
    of_veer = 0 if not axis.veer_u > 0.0 else max(min(decimals_of(axis.veer_u), 1), 0)
    veer, lean = ("several" if math.isnan(value) else with_sign(value, of_veer) for value in (axis.veer, axis.half_sum))
    ends = "scatter not known" if math.isnan(axis.low) else span_words(axis.low, axis.high, decimals)
    return veer, lean, with_sign(axis.offset, decimals), ends


def _spot_figures(found: RollFindings) -> list[Block]:
    chart = spot_picture(found.spots)
    if chart is None:
        return []
    rows = tuple(
        (ball.product, ball.ball, spot.spot, str(spot.count), f"{100.0 * spot.chance:.3g} %", share_words(spot),
         chance_words(spot.p), "yes" if spot.more else "no")
        for ball in found.spots for spot in ball.spots if math.isfinite(spot.low)
    )  # fmt: skip
    heads = ("product", "ball", "spot", "up", "by chance", "share (95 %)", "chance of so many", "more than chance")
    table = Table("Every spot that was up", heads, rows, (3,))
    text = "Share of the trials with the most telling spot up, its interval, and what chance alone shows."
    return [Figure(chart, caption(text, invented=found.footing.invented), spot_says(chart), table)]


def _spots_table(found: RollFindings) -> Table:
    rows = tuple(
        (ball.product, ball.ball, ball.test, str(ball.trials), str(ball.restless), chance_words(ball.p_adjusted),
         "yes" if ball.told else "no", f"{ball.least} of {ball.trials}" if ball.least else "too few trials",
         seconds_words(ball))
        for ball in found.spots
    )  # fmt: skip
    heads = (
        "product", "ball", "test", "at rest", "restless", "chance, all balls", "told", "would tell", "time to rest",
    )  # fmt: skip
    return Table("Ball by ball", heads, rows, (3, 4))


def _counts(one: RollClause) -> Facts:
    return Facts(
        (
            ("Balls held against it", str(one.balls)),
            ("Surely inside on every axis rolled", str(one.inside)),
            ("Surely outside", ", ".join(one.outside) or "none"),
        )
    )


def _standing(found: RollFindings) -> list[Block]:
    methods, limits = (_SPOT_METHODS, _SPOT_LIMITS) if found.spots else (_RAMP_METHODS, _RAMP_LIMITS)
    command = "ballbench roll LOG" + ("" if found.requirement is None else f" --spec {found.requirement.id}")
    command += " --accept-unverified" if found.accept_unverified else ""
    rebuild = rebuilt(command, (("Log", found.readings_digest),), found.requirement)
    return standing_blocks(found.footing, rebuild, methods=methods, limits=limits)
