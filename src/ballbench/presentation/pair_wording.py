"""The words of a pair of products: told apart or a tie, by how much, and what that means."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.comparisons import Pair
from ballbench.findings.results import Truth
from ballbench.presentation.numbers import interval, measured, number, percent, truth_decimals, with_unit
from ballbench.presentation.wording import quantity_words

__all__ = ["TIE", "TOLD", "pair_sentences", "value_and_span"]

UNKNOWN = 10.0
"""A ratio whose interval spans a factor of ten has no middle worth printing."""
TOLD, TIE = "told apart", "tie: not told apart"


def value_and_span(truth: Truth, limits: Sequence[float] = ()) -> tuple[str, str]:
    """Print a value and its interval as two cells."""
    decimals = truth_decimals(truth, limits)
    return number(truth.median, decimals), interval(truth, decimals)


def pair_sentences(pair: Pair, quantity: str, unit: str) -> tuple[str, ...]:
    """Say of two products whether they are told apart, by how much, and what that means."""
    difference = measured(pair.difference, unit, (0.0,))
    if pair.told_apart:
        larger = "larger" if pair.difference.median > 0 else "smaller"
        first = f"{pair.a} has the {larger} mean {quantity_words(quantity)}: {pair.a} minus {pair.b} is {difference}."
    else:
        told = with_unit(f"{pair.smallest_told:.2g}", unit)
        first = f"{pair.a} and {pair.b} are a tie: {pair.a} minus {pair.b} is {difference}."
        first += f" This sample tells {told} apart four times in five." if not math.isnan(pair.smallest_told) else ""
    words = [first]
    if pair.consequences and pair.told_apart:
        parts = [f"{c.name} {_percent_change(c.percent)}" for c in pair.consequences]
        words.append(f"{pair.a} against {pair.b}: {', '.join(parts)}.")
    if pair.form_ratio is not None:
        times = _ratio(pair.form_ratio)
        word = f"Variation within a ball: {pair.a} has {times} that of {pair.b}"
        if pair.share_a_rounder is not None:
            word += f"; a ball of {pair.a} is the rounder of the two in {percent(pair.share_a_rounder)} of pairs"
        words.append(word + ".")
    words.append(f"Spread between balls: {pair.a} has {_ratio(pair.sd_ratio)} that of {pair.b}.")
    return tuple(words)


def _ratio(truth: Truth) -> str:
    if truth.low <= 0 or truth.high / truth.low > UNKNOWN:
        return f"between {_one_figure(truth.low)} and {_one_figure(truth.high)} times"
    median, span = value_and_span(truth)
    return f"{median} times ({span})"


def _one_figure(value: float) -> str:
    """One significant figure, never as a power of ten."""
    return f"{float(f'{value:.1g}'):g}"


def _percent_change(truth: Truth) -> str:
    median, span = value_and_span(truth, (0.0,))
    sign = "+" if truth.median > 0 else ""
    return f"{sign}{median} % ({span})"
