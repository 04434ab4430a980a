"""What floated and spun balls tell, in sentences: the same spot more often than chance or not, and how fast."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ballbench.findings.rolling.results import SpotBall, SpotCount
from ballbench.quantities.printed import plural
from ballbench.quantities.rounding import decimals_of, format_value, percent

__all__ = [
    "chance_words",
    "named_spot",
    "seconds_words",
    "spot_assumed",
    "spot_notes",
    "spot_sentence",
    "spot_sentences",
]

_FEWEST = 5


def spot_sentences(balls: Sequence[SpotBall]) -> tuple[str, ...]:
    """Give one sentence a product and test, which counts its balls, and one a ball where there are few.

    Parameters
    ----------
    balls : sequence of SpotBall
        As found.
    """
    groups = dict.fromkeys((ball.product, ball.test) for ball in balls)
    head = []
    for product, test in groups:
        own = [ball for ball in balls if (ball.product, ball.test) == (product, test)]
        told = [ball.ball for ball in own if ball.told]
        what = "floated" if test == "float" else "spun"
        if len(own) == 1:
            head.append(f"{product}, {spot_sentence(own[0])}.")
            continue
        which = "none" if not told else f"{'ball' if len(told) == 1 else 'balls'} {', '.join(told[:12])}"
        head.append(f"{product}, {len(own)} balls {what}: more often than chance with the same spot up: {which}.")
    return tuple(head)


def spot_sentence(ball: SpotBall) -> str:
    """Say of one ball whether a spot is up more often than chance."""
    name = f"ball {ball.ball}, {'floated' if ball.test == 'float' else 'spun'}"
    if not ball.spots:
        return f"{name}: never came to rest in {ball.restless} trials"
    first = ball.spots[0]
    expected = f"{ball.trials * first.chance:.1f}"
    up = (
        f"{named_spot(first.spot)} up in {first.count} of {ball.trials} trials where chance gives {expected} on average"
    )
    if not math.isfinite(ball.p):
        return f"{name}: one spot is the whole sphere, so nothing can be told"
    by_chance = f"any spot so often by chance alone: {chance_words(ball.p_adjusted)}"
    if ball.told:
        others = [named_spot(spot.spot) for spot in ball.spots[1:] if spot.more]
        more = f"; besides it {', '.join(others)}" if others else ""
        return f"{name}: more often than chance: {up}; {by_chance}{more}{_seconds(ball)}"
    need = f"; {ball.least} of {ball.trials} would tell" if ball.least else "; so few trials cannot tell"
    return f"{name}: no spot more often than chance: {up}; {by_chance}{need}{_seconds(ball)}"


def named_spot(spot: str) -> str:
    """Name a spot in a sentence: a bare number reads as a count, so it is said to be a spot."""
    return f"spot {spot}" if spot.isdigit() else spot


def chance_words(p: float) -> str:
    """Print a chance, ``"0.4 %"``; tiny ones as a bound."""
    if math.isnan(p):
        return "not tested"
    if p < 1e-4:
        return "under 0.01 %"
    return f"{format_value(100.0 * p, max(min(decimals_of(20.0 * p), 2), 0))} %"


def share_words(spot: SpotCount) -> str:
    """Print the share of the trials with its interval."""
    return percent(spot.low, spot.high, 0)


def seconds_words(ball: SpotBall) -> str:
    """Say how long a ball took to come to rest."""
    if not ball.timed:
        return "not timed"
    if ball.timed == 1:
        return f"{ball.seconds:.3g} s, once"
    return f"median {ball.seconds:.3g} s ({ball.fastest:.3g} to {ball.slowest:.3g}), {ball.timed} timed"


def _seconds(ball: SpotBall) -> str:
    return f"; at rest after {seconds_words(ball)}" if ball.timed else ""


def spot_assumed(balls: Sequence[SpotBall]) -> tuple[str, ...]:
    """Say what was taken for granted."""
    words = [
        (
            "Each trial started with the ball turned anew in the hand, without looking, and its end does not depend on "
            "the trial before."
        ),
        "Without a heavy spot, a sector is up as often as its share of the sphere says.",
    ]
    if any(ball.sectors for ball in balls):
        words.append("Sectors that are only counted are of equal size.")
    return tuple(words)


def spot_notes(balls: Sequence[SpotBall]) -> Iterator[str]:
    """Say what a reader must know of these trials."""
    if any(sum(spot.more for spot in ball.spots) > 1 for ball in balls):
        yield (
            "a rigid ball has one mass centre, so one way to rest: a second resting place points to a bubble that "
            "clings, a seam, skin of the water, or trials that were ended too early"
        )
    if any(ball.test == "float" and ball.told for ball in balls):
        yield "a floating ball turns its light side up: the heavy spot lies opposite the spot that is named"
    restless = sum(ball.restless for ball in balls)
    if restless:
        yield f"{plural(restless, 'trial')} without rest, left out of the counts"
    if any(0 < ball.trials < _FEWEST for ball in balls):
        yield f"fewer than {_FEWEST} trials of a ball tell little: one float is no verdict"
    if len(balls) > 1:
        yield "chances are adjusted for the number of balls (Holm)"
    yield "that a ball rests with one spot up says that it is off balance, not by how much; the ramp says that"
