"""What a ramp tells of balance, in sentences: off balance or not told, where the heavy spot is, how the ramp leaned."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ballbench.findings.limit_words import allowed_words
from ballbench.findings.rolling.results import (
    AxisOffset,
    BallOffset,
    RampLean,
    RollClause,
    RollNoise,
    RollPair,
    RollProduct,
)
from ballbench.quantities.printed import plural, span_words, with_sign
from ballbench.quantities.rounding import decimals_for, decimals_of, format_value

__all__ = [
    "assumed",
    "axis_sentence",
    "ball_sentence",
    "clause_sentence",
    "heavy_words",
    "lean_sentence",
    "noise_sentence",
    "offset_decimals",
    "pair_sentence",
    "product_sentence",
    "roll_notes",
    "roll_sentences",
]

_MOVED = 0.01
"""Under that chance it is said that the ramp moved within a sitting (own choice)."""
_NAMED = 12


def roll_sentences(
    products: Sequence[RollProduct], pairs: Sequence[RollPair], leans: Sequence[RampLean],
    clauses: Sequence[RollClause],
) -> tuple[str, ...]:  # fmt: skip
    """Give a sentence a product, a pair and a sitting, then one a clause.

    Parameters
    ----------
    products, pairs, leans, clauses : sequences
        As found.
    """
    return (
        *(product_sentence(one) for one in products), *(pair_sentence(one) for one in pairs),
        *(lean_sentence(one) for one in leans), *(clause_sentence(one) for one in clauses),
    )  # fmt: skip


def product_sentence(one: RollProduct) -> str:
    """Say how many balls of a product are off balance, and by how much."""
    balls = plural(len(one.balls), "ball")
    if not one.whole:
        return f"{one.product}: no offset as a whole: {_why(one)}."
    if one.whole == 1:
        ball = next(ball for ball in one.balls if math.isfinite(ball.offset))
        return f"{one.product}, {ball_sentence(ball)}."
    behind = balls if one.whole == len(one.balls) else f"{one.whole} of {balls}"
    largest = next(ball for ball in one.balls if ball.ball == one.largest)
    told = "none is told from a balanced ball" if not one.told else (
        f"{_which(one.told, one.whole)} off balance beyond noise"
    )  # fmt: skip
    decimals = offset_decimals(largest)
    return (
        f"{one.product}, offset of the mass centre of {behind}: the median is "
        f"{format_value(one.median, decimals)} mm, the largest {_value(largest)} (ball {largest.ball}); {told}."
    )


def _which(told: Sequence[str], whole: int) -> str:
    if len(told) == whole:
        return "all are"
    if len(told) > _NAMED:
        return f"{len(told)} are"
    return f"{'ball' if len(told) == 1 else 'balls'} {', '.join(told)} {'is' if len(told) == 1 else 'are'}"


def _why(one: RollProduct) -> str:
    reasons = dict.fromkeys(ball.reason for ball in one.balls if ball.reason)
    return "; ".join(list(reasons)[:2])


def ball_sentence(ball: BallOffset) -> str:
    """Say how far a ball's mass centre lies off its middle, and where its heavy spot is."""
    if not math.isfinite(ball.offset):
        return f"ball {ball.ball}: no offset as a whole: {ball.reason}"
    if not ball.told:
        decimals = max(decimals_for(0.0, ball.high, 4), 0)
        return f"ball {ball.ball}: not told from a balanced ball; offset at most {format_value(ball.high, decimals)} mm"
    return f"ball {ball.ball}: offset {_value(ball)}; {heavy_words(ball)}"


def heavy_words(ball: BallOffset) -> str:
    """Say where the heavy spot lies, as degrees of arc from the three marks."""
    if not ball.heavy:
        return "where its heavy spot lies takes more runs"
    arcs = ", ".join(f"{angle:.0f}° from {axis}" for angle, axis in zip(ball.heavy, "ABC", strict=True))
    return f"heavy spot {arcs}, within {max(ball.cone, 1.0):.0f}°"


def axis_sentence(one: AxisOffset) -> str:
    """Say the part of the offset along one axis."""
    if one.reason:
        return f"axis {one.axis}: nothing, for {one.reason}"
    runs = f"{one.placed} + {one.turned} runs"
    if math.isnan(one.low):
        return f"axis {one.axis}: {with_sign(one.offset, 3)} mm, {runs}, scatter not known"
    decimals = max(decimals_for(one.low, one.high, 4), 0)
    return f"axis {one.axis}: {with_sign(one.offset, decimals)} mm ({span_words(one.low, one.high, decimals)}), {runs}"


def lean_sentence(one: RampLean) -> str:
    """Say how the ramp leaned, and what that would have done to balls that were not turned."""
    where = f"The ramp ({one.sitting})" if one.sitting else "The ramp"
    side = "right" if one.lean > 0.0 else "left"
    what = (
        f"unturned, every ball would have seemed off balance by {format_value(abs(one.like_offset), 3)} mm; turning "
        "the balls took it out"
    )
    if math.isnan(one.low):
        return f"{where} leaned by about {abs(one.lean):.2g} mrad to the {side}: {what}."
    decimals = max(decimals_for(one.low, one.high, 3), 0)
    if one.low <= 0.0 <= one.high:
        most = max(-one.low, one.high)
        return f"{where} is not told from level across: a lean of at most {format_value(most, decimals)} mrad."
    low, high = sorted((abs(one.low), abs(one.high)))
    ends = f"{format_value(low, decimals)} to {format_value(high, decimals)}"
    return f"{where} leaned by {format_value(abs(one.lean), decimals)} mrad ({ends}) to the {side}: {what}."


def noise_sentence(noise: RollNoise) -> str:
    """Say how single runs scatter, and how that is known."""
    if not noise.dof:
        return "Nothing is known of how runs scatter: no interval is given; roll the axes again, or state u"
    sd = f"{format_value(noise.sd, max(decimals_of(noise.sd, 3), 0))} mm"
    if noise.origin == "stated":
        return f"Runs scatter by {sd} (SD, as stated: the runs themselves show no more)"
    origin = {
        "repeats": "from runs that were repeated", "turnings": "from half-sums of turned axes, if the ramp stood still",
        "repeats and turnings": "from repeats and from half-sums of turned axes, if the ramp stood still",
    }[noise.origin]  # fmt: skip
    return f"Runs scatter by {sd} (SD, {noise.dof:g} degrees of freedom, {origin})"


def pair_sentence(pair: RollPair) -> str:
    """Say which of two products is more off balance, or that they are a tie, or why they are not compared."""
    if pair.reason:
        return f"{pair.a} and {pair.b}: not compared: {pair.reason}."
    sign = -1.0 if pair.difference < 0.0 else 1.0
    more, less = (pair.a, pair.b) if sign > 0.0 else (pair.b, pair.a)
    low, high = sorted((sign * pair.low, sign * pair.high))
    decimals = max(decimals_for(low, high, 4), 0)
    size = f"{format_value(abs(pair.difference), decimals)} mm ({span_words(low, high, decimals)})"
    if not pair.told_apart:
        return f"{pair.a} and {pair.b}: a tie in balance; the difference of the mean offsets is {size}."
    return f"{more} veers more than {less}: its balls are further off balance by {size} on average."


def clause_sentence(one: RollClause) -> str:
    """Say the decision on a clause, with the veer that decides, or why it is not tested."""
    limits = allowed_words(one.lower, one.upper)
    head = f"{one.product}, {one.clause} ({limits or 'no limit'}): {one.decision}"
    if one.reason:
        return f"{head}: {one.reason}."
    decimals = max(decimals_of(one.u, 2), 0)
    value = f"{with_sign(one.value, decimals)} mm, standard uncertainty {format_value(one.u, max(decimals, 1))} mm"
    more = f"; surely outside: {', '.join(one.outside[:_NAMED])}" if one.outside else ""
    return (
        f"{head} on the axes rolled: ball {one.ball} comes furthest with {value}, the lean of the ramp taken out; "
        f"{plural(one.balls, 'ball')}, {one.inside} surely inside{more}."
    )


def assumed(*, angle: bool, lengths: bool, one_size: bool) -> tuple[str, ...]:
    """Say what was taken for granted.

    Parameters
    ----------
    angle : bool
        Some angle came without its uncertainty.
    lengths : bool
        Lengths of the ramp are there, each known to its last decimal.
    one_size : bool
        All balls are of one size.
    """
    words = [
        "The ball starts from rest, rolls without sliding or bouncing, and the foot of the slope is rounded.",
        "Single runs scatter alike for all balls and axes.",
        (
            "The three marks are at right angles, and each is to the side when its axis is rolled, to 1 mm on the ball "
            "(standard uncertainty, own choice)."
        ),
    ]
    if angle:
        words.append("An angle that came without its uncertainty is known to 0.5 degrees (own choice); it scales every "
                     "offset alike, and changes nothing about which ball is off balance.")  # fmt: skip
    if lengths:
        words.append(
            "Slope, run-out, rise and ball are known to one unit of the last decimal written, a hundredth at worst "
            "(own choice)."
        )
    if not one_size:
        words.append("Balls of several sizes were rolled; the lean of the ramp is taken to be the same for all.")
    return tuple(words)


def roll_notes(products: Sequence[RollProduct], noise: RollNoise) -> Iterator[str]:
    """Say what a reader must know of these runs."""
    if math.isfinite(noise.p_steady) and noise.p_steady < _MOVED:
        yield (
            "half-sums of one sitting scatter more than repeats do: the ramp moved, or balls were not put back as they "
            "lay; name a new sitting whenever something was moved"
        )
    if sum(one.whole for one in products) > 1:
        yield "one balanced ball in forty is called off balance by chance, for each is told at 95 %"
    spoiled = sum(one.spoiled for one in products)
    if spoiled:
        yield f"{plural(spoiled, 'spoiled attempt')}, counted and left out"
    yield "an oval ball does not veer for its shape, a pear-shaped one does, as if it were off balance"


def offset_decimals(ball: BallOffset) -> int:
    """Decimals of an offset and its interval; as many as show that a ball which is told has a low end above 0."""
    decimals = max(decimals_for(ball.low, ball.high, 4), 0)
    if ball.told and round(ball.low, decimals) == 0.0:
        decimals = min(max(decimals_of(ball.low), decimals), 5)
    return decimals


def _value(ball: BallOffset) -> str:
    decimals = offset_decimals(ball)
    return f"{format_value(ball.offset, decimals)} mm ({span_words(ball.low, ball.high, decimals)})"
