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
    first = (
        f"{words.capitalize()} of {names}: {apart} of {len(pairs)} pairs are told apart at 95 %, all pairs together."
    )
    return (first, *(_pair_sentence(pair, unit) for pair in pairs))


def _pair_sentence(pair: Pair, unit: str) -> str:
    if not pair.told_apart:
        span = _span(pair.difference, unit)
        told = f"{_two(pair.smallest_told)} {unit}"
        return f"{pair.a} and {pair.b} are a tie: the difference is {span}, and this sample tells apart about {told}."
    larger, smaller, difference = pair.a, pair.b, pair.difference
    if difference.median < 0:
        larger, smaller = smaller, larger
        difference = Truth(-difference.median, -difference.high, -difference.low)
    return f"{larger} is larger than {smaller} by {_span(difference, unit)}."


def _two(value: float) -> str:
    """Two significant figures."""
    return f"{value:.2g}"


def _span(truth: Truth, unit: str) -> str:
    """Value with its interval, to two figures of the interval's width."""
    width = max(truth.high - truth.low, 1e-12)
    decimals = 0
    while width * 10**decimals < 10 and decimals < 9:
        decimals += 1
    unit_text = "" if unit == "1" else f" {unit}"
    return f"{truth.median:.{decimals}f}{unit_text} ({truth.low:.{decimals}f} to {truth.high:.{decimals}f})".replace(
        "(-0.0 ", "(0.0 "
    )
