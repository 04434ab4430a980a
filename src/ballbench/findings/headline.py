"""The first sentences of a product's finding: the answer, how sure, what to do."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.deciding import Rule
from ballbench.findings.results import ClauseFinding, ProductFinding

__all__ = ["headline", "per_cent"]


SURE = 1.0 - 3.0 / 200.0
"""200 of 200 simulated truths say no more than this (rule of three, 95 %)."""


def per_cent(chance: float, threshold: float | None = None) -> str:
    """Print a chance with no more than the draws can tell, and never on the wrong side of a threshold."""
    if chance >= 0.9995:
        return "over 99.9 %"
    if chance <= 0.0005:
        return "under 0.1 %"
    start = 1 if chance >= 0.99 or chance <= 0.01 else 0
    for decimals in range(start, 4):
        text = f"{100 * chance:.{decimals}f}"
        if threshold is None or (float(text) >= 100 * threshold) == (chance >= threshold):
            break
    return f"{text} %"


def headline(finding: ProductFinding, rule: Rule, asked: int | None = None) -> tuple[str, ...]:
    """Say the answer, how sure it is, and what to do next, a sentence each.

    Parameters
    ----------
    finding : ProductFinding
        With everything but the headline.
    rule : Rule
        The decision rule.
    asked : int or None
        How many balls the requirement asks for; fewer is said in the answer.
    """
    balls = "1 ball" if finding.balls == 1 else f"{finding.balls} balls"
    if asked is not None and finding.balls < asked:
        balls = f"{finding.balls} of the {asked} balls asked for"
    answer = f"{finding.product}, {balls}: {finding.decision}"
    return (answer + ".", _how_sure(finding, rule), _next_step(finding))


def _count_words(clauses: Sequence[ClauseFinding]) -> str:
    parts = []
    for decision in ("met", "not met", "undecided", "not tested"):
        number = sum(c.decision == decision for c in clauses)
        if number:
            parts.append(f"{number} {decision}")
    return ", ".join(parts)


def _how_sure(finding: ProductFinding, rule: Rule) -> str:
    """Clauses by decision, and the joint chance with the rule that was stated beforehand."""
    text = f"Clauses: {_count_words(finding.clauses)}"
    if rule.name == "simple":
        return text + "; raw values against the limits, without any uncertainty."
    if finding.probability_met is None:
        return text + "."
    text += f"; the chance that all that were tested are met is {per_cent(finding.probability_met, 1 - rule.spent)}"
    text += f" (met from {per_cent(1 - rule.spent)}, said beforehand)"
    if finding.decision == "undecided" and finding.probability_met >= 1.0 - rule.spent:
        return f"{text}; but not every clause is met by itself, so that the whole is not either."
    return f"{text}."


def _next_step(finding: ProductFinding) -> str:
    """One thing to do."""
    if finding.decision == "not tested":
        return "Nothing was tested; each clause says what is missing."
    if finding.decision == "not met":
        ids = [c for c in finding.clauses if c.decision == "not met"]
        return f"Look first at: {ids[0].text}" if ids else "Look at the clauses below."
    if finding.decision == "undecided":
        return _to_settle(finding)
    missing = [c for c in finding.clauses if c.decision == "not tested"]
    if missing:
        return f"Not tested: {_what_is_missing(finding.clauses)}; each clause says why."
    return "Keep the readings with this result, so that it can be rebuilt."


def _what_is_missing(clauses: Sequence[ClauseFinding]) -> str:
    """Quantities of which nothing was tested, and how many clauses on the others."""
    whole, part = [], []
    for quantity in dict.fromkeys(c.quantity for c in clauses):
        own = [c.decision for c in clauses if c.quantity == quantity]
        missing, words = own.count("not tested"), quantity.replace("_", " ")
        if missing == len(own):
            whole.append(words)
        elif missing:
            part.append(f"{missing} of {len(own)} clauses on {words}")
    return ", ".join((*whole, *part))


def _to_settle(finding: ProductFinding) -> str:
    """What would settle the clause that is hardest to settle."""
    undecided = [c for c in finding.clauses if c.decision == "undecided"]
    if not undecided:
        close = min(
            (c for c in finding.clauses if c.probability_met is not None), key=lambda c: c.probability_met or 0.0
        )
        return f"Every clause is decided by itself, but not all of them together; the closest is: {close.text}"
    with_options = [c for c in undecided if c.settle]
    if not with_options:
        return f"Undecided: {undecided[0].text}"
    if all(c.settle and math.isnan(c.settle[0].minutes) for c in undecided):
        return f"To settle it: {undecided[0].settle[0].change}."
    hardest = min(with_options, key=lambda c: c.settle[0].probability_decided)
    best = hardest.settle[0]
    if best.enough:
        chance = "over 98 %" if best.probability_decided > SURE else per_cent(best.probability_decided)
        return f"To settle it: {best.change} (about {best.minutes:.0f} min; decides with {chance})."
    return (
        "Nothing within reach is likely to settle it; the best would be to "
        f"{best.change} (decides with {math.floor(100 * best.probability_decided)} %)."
    )
