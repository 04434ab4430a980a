"""The words of a decision: one place for page, PDF, terminal and pictures, so that all say the same."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from ballbench.findings.results import ClauseFinding, Findings, ProductFinding, Settle
from ballbench.presentation.numbers import as_read_number, measured, percent, truth_decimals, with_unit
from ballbench.quantities.kinds import KINDS
from ballbench.quantities.printed import plural

__all__ = [
    "INVENTED",
    "as_read_sentence",
    "as_read_text",
    "as_sentence",
    "balls_behind",
    "clause_title",
    "decision_rule_sentences",
    "decision_word",
    "duration_words",
    "edition_words",
    "limit_words",
    "limits_words",
    "plural",
    "quantity_words",
    "seen_short",
    "seen_words",
    "settle_chance",
    "settle_sentence",
    "simulated_share",
    "thresholds",
    "value_sentence",
    "variants_sentence",
    "whole_ball_sentence",
]

INVENTED = "Invented data, for demonstration"

_PULL = 0.02  # the prior's pull on the whole ball's chance is said from two points in a hundred (own choice)
_SEEN = {
    "official": "read on a page of the governing body",
    "quoted": "the governing body's text, quoted elsewhere",
    "paraphrased": "from a secondary page, in its own words",
    "memory": "from memory, not seen in writing",
    "practice": "common practice, no source",
    "own": "the user's own requirement",
}
_DECIMALS = re.compile(r"\d\.(\d+)")
_SEEN_SHORT = {"memory": "limit from memory", "practice": "limit: common practice, no source"}

RULE_OF_THREE = 3.0 / 200.0
"""200 of 200 simulations say no more than "over 98.5 %" (95 % bound)."""
ENOUGH = 0.80
"""Chance of a decision from which a change is said to settle a clause; never printed as reached when it is not."""


def quantity_words(quantity: str) -> str:
    """Name a quantity as a sentence does."""
    kind = KINDS.get(quantity)
    return kind.words if kind else quantity.replace("_", " ")


def seen_words(seen: str) -> str:
    """Say how a number was seen."""
    return _SEEN.get(seen, seen)


def seen_short(seen: str) -> str:
    """Say it in few words beside a limit; empty where the limit was seen in writing."""
    return _SEEN_SHORT.get(seen, "")


def decision_word(clause: ClauseFinding) -> str:
    """Give the decision with its scope, ``"met on the axes read"``."""
    if clause.decision == "met" and clause.scope == "axes read":
        return "met on the axes read"
    return clause.decision


def _ball_words(ball: str, quantity: str) -> str:
    name = quantity_words(quantity)
    return {
        "max": f"largest {name}",
        "min": f"smallest {name}",
        "midrange": f"midpoint {name}",
        "median": f"median {name}",
        "range": f"{name} variation",
    }.get(ball, name)


def clause_title(clause: ClauseFinding) -> str:
    """Name a clause by what it looks at, ``"Largest diameter of each ball"``."""
    if clause.ball == "answers":
        return _capital(f"{quantity_words(clause.quantity)}, yes or no")
    ball = _ball_words(clause.ball, clause.quantity)
    if clause.sample in {"max", "min"} and clause.ball == clause.sample:
        return _capital(f"{ball} in the sample")
    words = {
        "each": f"{ball} of each ball",
        "mean": f"mean {ball} of the balls",
        "sd": f"spread of {ball} between balls (SD)",
        "max": f"largest ball by {ball}",
        "min": f"smallest ball by {ball}",
        "range": f"range of {ball} over the balls",
    }
    return _capital(words.get(clause.sample, f"{ball}, {clause.sample}"))


def as_sentence(note: str) -> str:
    """Give a note a capital letter and a full stop."""
    text = note.strip()
    return _capital(text) + ("" if text.endswith((".", "!", "?", ":")) else ".") if text else ""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def limit_words(clause: ClauseFinding, side: str) -> str:
    """Print one limit as its source writes it, with the relation; empty where there is none."""
    text = clause.lower_text if side == "lower" else clause.upper_text
    value = clause.lower if side == "lower" else clause.upper
    if value is None:
        return ""
    text = text or with_unit(f"{value:.10g}", clause.unit)
    words = ("over", "under") if clause.strict else ("at least", "at most")
    return f"{words[0] if side == 'lower' else words[1]} {text}"


def limits_words(clause: ClauseFinding) -> str:
    """Print what is allowed, ``"at least 40.00 mm and at most 40.60 mm"``, and how it was seen where that matters."""
    sides = [words for words in (limit_words(clause, "lower"), limit_words(clause, "upper")) if words]
    allowed = " and ".join(sides)
    if clause.sample == "each" and clause.allowed_outside:
        allowed += f"; {plural(clause.allowed_outside, 'ball')} may be outside"
    doubt = seen_short(clause.seen)
    return f"{allowed} ({doubt})" if allowed and doubt else allowed


def balls_behind(product: ProductFinding, clause: ClauseFinding) -> int:
    """Say how many balls stand behind a clause: those of its quantity, else those it lists, else the product's."""
    counts = [found.balls for found in product.quantities if found.quantity == clause.quantity]
    return counts[0] if counts else len(clause.balls) or product.balls


def edition_words(edition: str, *, start: bool = False) -> str:
    """Name an edition: ``"edition 2026"``, but a description such as "common practice" by itself."""
    words = f"edition {edition}" if edition[:1].isdigit() else edition
    return words[:1].upper() + words[1:] if start else words


def thresholds(risk: float) -> tuple[float, float]:
    """Give the probabilities at which the guarded rule decides."""
    return risk, 1.0 - risk


def value_sentence(clause: ClauseFinding, risk: float) -> str:
    """Say what the balls are and how likely the clause is met; empty where nothing could be said."""
    if clause.truth is None:
        return ""
    who = "Worst ball" if clause.sample == "each" and clause.ball != "answers" else "These balls"
    value = measured(clause.truth, clause.unit, (clause.lower, clause.upper))
    sentence = f"{who}: {value}"
    if clause.probability_met is not None:
        sentence += f"; inside with {percent(clause.probability_met, thresholds(risk))}"
        sentence += f" on {_axes_words(clause)}" if clause.whole_ball is not None else ""
    return sentence + "."


def _axes_words(clause: ClauseFinding) -> str:
    return "the rule's own axes" if clause.scope == "as prescribed" else "the axes read"


def as_read_text(clause: ClauseFinding) -> str:
    """Print the raw value no finer than the truth's interval, and with the decimals of the limits at least."""
    if clause.as_read is None:
        return ""
    decimals = truth_decimals(clause.truth, (clause.lower, clause.upper)) if clause.truth else 3
    least = max(len(found) for found in (_DECIMALS.findall(clause.lower_text + " " + clause.upper_text) or [""]))
    return as_read_number(clause.as_read, decimals, least)


def as_read_sentence(clause: ClauseFinding) -> str:
    """Say what the instrument read; empty where there is nothing."""
    if clause.as_read is None or clause.ball == "answers":
        return ""
    sentence = f"As read {with_unit(as_read_text(clause), clause.unit)}, noise included"
    if clause.sample == "each":
        count = "no ball" if clause.outside == 0 else plural(clause.outside, "ball")
        sentence += f"; {count} outside"
    return sentence + "."


def whole_ball_sentence(clause: ClauseFinding, risk: float) -> str:
    """Say the whole-ball chance beside the axes read; empty where form plays no part."""
    whole = clause.whole_ball
    if whole is None:
        return ""
    value = measured(whole.truth, clause.unit, (clause.lower, clause.upper))
    sentence = "Over the whole ball, unseen form included: "
    sentence += f"inside with {percent(whole.probability_met, thresholds(risk))}, {value}"
    if whole.probability_high - whole.probability_low >= _PULL:
        low, high = percent(whole.probability_low), percent(whole.probability_high)
        sentence += f"; {low} to {high} by how the unseen form is shared out"
    return sentence + "."


def duration_words(minutes: float) -> str:
    """Print bench time; NaN is an empty text."""
    if math.isnan(minutes):
        return ""
    if minutes < 90:
        return f"about {max(1, round(minutes))} min"
    hours = round(minutes / 60 * 2) / 2
    return f"about {hours:g} h"


def settle_chance(settle: Settle) -> str:
    """Print the share decided, no surer than 200 simulated truths can be; a dash where none were simulated."""
    if math.isnan(settle.probability_met):
        return "\u2013"
    return simulated_share(settle.probability_decided, (ENOUGH,))


def simulated_share(share: float, thresholds: Iterable[float] = ()) -> str:
    """Print a share of 200 simulated truths."""
    if share > 1.0 - RULE_OF_THREE:
        return "over 98 %"
    return "under 2 %" if share < RULE_OF_THREE else percent(share, thresholds)


def settle_sentence(settle: tuple[Settle, ...]) -> str:
    """Give the one next step that would settle an undecided clause; empty where none was worked out."""
    if not settle:
        return ""
    first = settle[0]
    change = first.change.rstrip(".")
    if math.isnan(first.probability_met):
        return f"To settle it: {change}; no reading more would."
    chance = settle_chance(first)
    if not first.enough:
        return f"Nothing simulated reaches 80 %. Most helps: {change} (decided with {chance})."
    time = duration_words(first.minutes)
    return f"To settle it: {change} (decided with {chance}{', ' + time if time else ''})."


def decision_rule_sentences(findings: Findings) -> tuple[str, ...]:
    """State the decision rule in words, as it was stated beforehand."""
    low, high = (f"{100 * t:.3g} %" for t in thresholds(findings.deciding_risk))
    rule: tuple[str, ...]
    if findings.rule == "guarded":
        clause = f"Guarded rule, stated beforehand: a clause is met when the chance that it is met is {high} or more, "
        clause += f"not met when it is {low} or less, and undecided between the two."
        each = f"An each-ball clause is met only if every ball by itself is inside with {high} or more."
        product = f"A product is met when the chance that all its clauses are met is {high} or more, and not met when "
        product += f"some clause is met with a chance of {low} divided by the number of clauses or less."
        rule = (clause, each, product, "Terms after JCGM 106:2012 and ISO 14253-1.")
    else:
        simple = "Simple rule, on request: the raw value is held against the limit, with no regard to what the "
        simple += "instrument can tell. Another set of readings might say the opposite."
        rule = (simple,)
    if findings.planned_looks > 1 or findings.look > 1:
        look = f"This is look {findings.look} at these balls, of {findings.planned_looks} planned; the first decision"
        return (*rule, look + " is kept, and planned looks share the risk.")
    return rule


def variants_sentence(clause: ClauseFinding) -> str:
    """Say whether the readings of an ambiguous text agree; empty where the text is plain."""
    if not clause.variants:
        return ""
    words = sorted({variant.decision for variant in clause.variants})
    if len(words) == 1:
        return f"The text can be read in {len(clause.variants)} ways; each gives: {words[0]}."
    return f"The text can be read in {len(clause.variants)} ways, and they disagree: {', '.join(words)}."
