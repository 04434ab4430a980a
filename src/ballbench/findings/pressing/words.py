"""What a press tells, in sentences; every one of them says that it holds for this rig only."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ballbench.findings.limit_words import allowed_words
from ballbench.findings.pressing.results import PressClause, PressGroupFound, PressPair, PressProduct, ReturnFound
from ballbench.physics.deformation import RIG_LABEL
from ballbench.quantities.printed import span_words, with_sign
from ballbench.quantities.rounding import decimals_for, decimals_of, format_value

__all__ = ["clause_sentence", "group_sentence", "pair_sentence", "press_sentences", "return_sentence", "way_words"]


def press_sentences(
    products: Sequence[PressProduct], pairs: Sequence[PressPair], clauses: Sequence[PressClause]
) -> tuple[str, ...]:
    """Give one sentence a pair, or a group where there is no pair, then one a clause.

    Parameters
    ----------
    products, pairs, clauses : sequences
        As found.
    """
    first = [pair_sentence(pair) for pair in pairs]
    if not pairs:
        first = [f"{one.product}: {group_sentence(group)}" for one in products for group in one.groups]
    return (*first, *(clause_sentence(clause) for clause in clauses))


def way_words(quantity: str, orientation: str, direction: str, load: float) -> str:
    """Name a way of reading, ``"seam, forward, 80.07 N"``; hardness is said."""
    first = "" if quantity == "deformation" else f"{quantity}, "
    return f"{first}{orientation}, {direction}, {load:.4g} N"


def group_sentence(found: PressGroupFound) -> str:
    """Say mean with interval and SD between balls of one group."""
    one = found.group
    way = way_words(found.quantity, one.orientation, one.direction, one.load_n)
    if one.balls < 2:
        return f"{way}: {format_value(one.mean, 3)} mm, one ball, so nothing of the scatter ({RIG_LABEL})."
    decimals = _decimals(found.low, found.high)
    sd = format_value(one.sd, max(decimals_of(one.sd, 4), 0))
    creep = "" if not math.isfinite(one.creep) else f"; {with_sign(one.creep, 3)} mm for ten times the time"
    ends = span_words(found.low, found.high, decimals)
    return (
        f"{way}: mean {format_value(one.mean, decimals)} mm ({ends}), SD between balls {sd} mm, {one.balls} balls"
        f"{creep} ({RIG_LABEL})."
    )


def return_sentence(found: ReturnFound) -> str:
    """Say how much further in balls still were on the way back."""
    one = found.back
    way = f"{one.orientation}, {one.load_n:.4g} N"
    if one.balls < 2:
        return f"{way}: on the way back {with_sign(one.mean, 3)} mm, one ball ({RIG_LABEL})."
    decimals = _decimals(found.low, found.high)
    ends = span_words(found.low, found.high, decimals)
    return f"{way}: on the way back {with_sign(one.mean, decimals)} mm ({ends}), {one.balls} balls ({RIG_LABEL})."


def pair_sentence(pair: PressPair) -> str:
    """Say which of two products gives way more, or that they are a tie, or why they are not compared."""
    way = way_words(pair.quantity, pair.orientation, pair.direction, pair.load_n)
    if pair.reason:
        return f"{pair.a} and {pair.b}, {way}: not compared: {pair.reason} ({RIG_LABEL})."
    if not math.isfinite(pair.low):
        return f"{pair.a} and {pair.b}, {way}: not compared: no ball of either differs from its fellows ({RIG_LABEL})."
    sign = -1.0 if pair.difference < 0.0 else 1.0
    more, less = (pair.a, pair.b) if sign > 0.0 else (pair.b, pair.a)
    low, high = sorted((sign * pair.low, sign * pair.high))
    decimals = _decimals(low, high)
    size = f"{format_value(abs(pair.difference), decimals)} mm ({span_words(low, high, decimals)})"
    if not pair.told_apart:
        return f"{pair.a} and {pair.b}, {way}: a tie; the difference is {size} ({RIG_LABEL})."
    return f"{more} gives way more than {less}, {way}: by {size} ({RIG_LABEL})."


def clause_sentence(one: PressClause) -> str:
    """Say the decision on a clause, with its value, or why it is not tested."""
    limits = allowed_words(one.lower, one.upper)
    head = f"{one.product}, {one.clause} ({limits or 'no limit'}): {one.decision}"
    if one.reason:
        return f"{head}: {one.reason} ({RIG_LABEL})."
    decimals = max(decimals_of(one.u, 4), 0)
    value = f"{format_value(one.value, decimals)} mm, standard uncertainty {format_value(one.u, max(decimals, 3))} mm"
    balls = f"{one.balls} balls" if one.balls == one.read else f"{one.balls} of {one.read} balls were read as it says"
    which = "the mean is" if one.sample == "mean" else "the ball nearest to a limit, or furthest beyond it, has"
    return f"{head}: {which} {value}; {balls} ({RIG_LABEL})."


def assumed(*, unsaid: bool) -> tuple[str, ...]:
    """Say what was taken for granted; `unsaid`: a clause was tested with readings that came without uncertainty."""
    words = (
        (
            "What the rig itself does wrong (friction, plates not parallel, a gauge that is off) is in no interval; "
            "between products read on it alike it mostly cancels."
        ),
    )
    if unsaid:
        more = "The uncertainty of a reading that came without one is one step of its display (own choice), beside the "
        return (
            *words,
            more
            + "scatter of a ball's own repeats; the rig's own error may be larger. Read a spring or a ball of known "
            "stiffness, and state it as u.",
        )
    return words


def unit_notes(products: Sequence[PressProduct]) -> Iterator[str]:
    """Say what was read once only."""
    for product in products:
        if all(group.group.direction == "forward" for group in product.groups):
            yield f"{product.product} was read forward only, so nothing is said of the way back"


def _decimals(low: float, high: float) -> int:
    return max(decimals_for(low, high, 4), 0)
