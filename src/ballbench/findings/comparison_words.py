"""What a comparison says in sentences: told apart or a tie, which way, how much, what it means for the ball."""

from __future__ import annotations

from collections.abc import Sequence

from ballbench.findings.comparisons import ComparedProduct, Pair
from ballbench.findings.results import Truth
from ballbench.quantities.kinds import KINDS

__all__ = ["comparison_sentences"]


def comparison_sentences(
    quantity: str, unit: str, products: Sequence[ComparedProduct], pairs: Sequence[Pair]
) -> tuple[str, ...]:
    """Give one sentence on all products and one a pair.

    Parameters
    ----------
    quantity, unit : str
        What was compared.
    products, pairs : sequences
        From `comparing.compare_samples`.
    """
    words = KINDS[quantity].words if quantity in KINDS else quantity.replace("_", " ")
    apart = sum(pair.told_apart for pair in pairs)
    names = ", ".join(f"{p.product} ({p.balls} balls)" for p in products)
    told = f"{apart} of {len(pairs)} pairs are told apart at 95 %, all pairs together"
    if len(pairs) == 1:
        told = "the two are told apart (95 %)" if apart else "the two are a tie (95 %)"
    return (f"{words.capitalize()} of {names}: {told}.", *(_pair_sentence(pair, words, unit) for pair in pairs))


def _pair_sentence(pair: Pair, words: str, unit: str) -> str:
    if not pair.told_apart:
        span = _span(pair.difference, unit)
        told = f"{_two(pair.smallest_told)} {unit}"
        return f"{pair.a} and {pair.b} are a tie: the difference is {span}, and this sample tells apart about {told}."
    larger, smaller, difference = pair.a, pair.b, pair.difference
    if difference.median < 0:
        larger, smaller = smaller, larger
        difference = Truth(-difference.median, -difference.high, -difference.low)
    return f"{larger} has the larger mean {words}: {_span(difference, unit)} more than {smaller}."


def _two(value: float) -> str:
    """Two significant figures."""
    return f"{value:.2g}"


def _span(truth: Truth, unit: str) -> str:
    """Value with its interval, to two figures of its width, and finer where an end would round to 0."""
    width = max(truth.high - truth.low, 1e-12)
    decimals = 0
    while decimals < 9 and (width * 10**decimals < 10 or _rounds_away(truth, decimals)):
        decimals += 1
    low, median, high = (f"{v:.{decimals}f}".replace("-", "\u2212") for v in (truth.low, truth.median, truth.high))
    unit_text = "" if unit == "1" else f" {unit}"
    return f"{median}{unit_text} ({low} to {high})"


def _rounds_away(truth: Truth, decimals: int) -> bool:
    """Whether an end of the interval is not 0 and would be printed as 0."""
    return any(round(end, decimals) == 0.0 and end != 0.0 for end in (truth.low, truth.high))
