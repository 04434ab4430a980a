"""Parts that results of several ways of measuring have in common, as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ballbench.findings.bouncing.results import BounceClause, Spread
from ballbench.findings.bouncing.words import clause_sentence
from ballbench.presentation.json_text import Json
from ballbench.quantities.uncertain import Uncertain
from ballbench.specs import Limit, Requirement

if TYPE_CHECKING:
    from ballbench.findings.form_clauses import FormClause

__all__ = [
    "bounce_clause_json",
    "form_clause_json",
    "known_json",
    "limit_json",
    "requirement_json",
    "spread_json",
]


def requirement_json(one: Requirement | None) -> Json:
    """Give the requirement that a result was held against, or null."""
    return None if one is None else {"id": one.id, "title": one.title, "digest": one.digest}


def limit_json(limit: Limit | None) -> Json:
    """Give a limit in the unit of its clause, or null."""
    return None if limit is None else limit.value


def known_json(value: Uncertain | None, unit: str = "") -> Json:
    """Give a value with its standard uncertainty, or null; its unit is its own where none is said."""
    return None if value is None else {"value": value.value, "u": value.u, "unit": unit or value.unit}


def spread_json(one: Spread | None, unit: str) -> Json:
    """Give a value with its standard uncertainty and its 95 % interval, or null."""
    if one is None:
        return None
    return {"value": one.value, "u": one.u, "unit": unit, "low": one.low, "high": one.high}


def bounce_clause_json(one: BounceClause, **more: Json) -> Json:
    """Give a clause on rebound or restitution; `more` stands before its reason."""
    return {
        "product": one.product,
        "clause": one.clause,
        "text": one.text,
        "seen": one.seen,
        "quantity": one.quantity,
        "unit": one.unit,
        "lower": limit_json(one.lower),
        "upper": limit_json(one.upper),
        "decision": one.decision,
        "probability_met": one.probability,
        "balls": one.balls,
        "value": spread_json(one.value, one.unit),
        **more,
        "reason": one.reason or None,
        "sentence": clause_sentence(one),
    }


def form_clause_json(one: FormClause) -> Json:
    """Give a clause on form, with the balls that are surely beyond its limit and surely within."""
    return {
        "product": one.product,
        "clause": one.clause,
        "text": one.text,
        "upper": one.limit.value,
        "upper_text": f"{one.limit.text} {one.limit.unit}",
        "seen": one.seen,
        "outcome": one.outcome,
        "beyond": one.beyond,
        "within": one.within,
        "balls": one.balls,
        "reasons": one.reasons,
    }
