"""Findings as JSON, format ``ballbench/findings/1``."""

from __future__ import annotations

from ballbench.findings.results import (
    BallFinding,
    BudgetFinding,
    BudgetLine,
    ClauseFinding,
    Findings,
    FirstOrderCheck,
    Influence,
    Outlier,
    Population,
    ProductFinding,
    QuantityFinding,
    Settle,
    VariantFinding,
    WholeBall,
    WithoutCorrections,
)
from ballbench.presentation.json_text import Json, json_text, truth_json

__all__ = ["FORMAT", "ball_json", "budget_json", "findings_to_json"]

FORMAT = "ballbench/findings/1"


def findings_to_json(findings: Findings) -> str:
    """Write a judgement as JSON.

    Parameters
    ----------
    findings : Findings
        The judgement.

    Returns
    -------
    str
        Format ``ballbench/findings/1``; the same findings give the same text. Probabilities are 0 to 1, values stand
        in their clause's unit, and what could not be said (None, NaN) is null.
    """
    return json_text(
        {
            "format": FORMAT,
            "spec": {
                "id": findings.requirement.id,
                "title": findings.requirement.title,
                "edition": findings.requirement.edition,
                "digest": findings.requirement.digest,
                "source": findings.requirement.source.place,
            },
            "rule": {"name": findings.rule, "risk": findings.risk, "risk_of_look": findings.deciding_risk},
            "look": findings.look,
            "planned_looks": findings.planned_looks,
            "seed": findings.seed,
            "draws": findings.draws,
            "readings_digest": findings.readings_digest,
            "invented": findings.footing.invented,
            "assumptions": findings.footing.assumptions,
            "questions": findings.questions,
            "amendments": findings.amendments,
            "cautions": findings.footing.cautions,
            "notes": findings.footing.notes,
            "products": [_product(product) for product in findings.products],
        }
    )


def _product(product: ProductFinding) -> Json:
    return {
        "product": product.product,
        "balls": product.balls,
        "readings": product.readings,
        "excluded": product.excluded,
        "corrected": product.corrected,
        "spoiled": product.spoiled,
        "decision": product.decision,
        "probability_met": product.probability_met,
        "tested": product.tested,
        "clauses_in_all": product.clauses_in_all,
        "headline": product.headline,
        "clauses": [_clause(clause) for clause in product.clauses],
        "quantities": [_quantity(quantity) for quantity in product.quantities],
        "outliers": [_outlier(outlier) for outlier in product.outliers],
        "influence": [_influence(influence) for influence in product.influence],
        "without_corrections": _without(product.without_corrections),
        "draws": product.draws,
        "notes": product.notes,
    }


def _clause(clause: ClauseFinding) -> Json:
    return {
        "id": clause.id,
        "text": clause.text,
        "quantity": clause.quantity,
        "unit": clause.unit,
        "statistic": {"ball": clause.ball, "sample": clause.sample},
        "lower": clause.lower,
        "upper": clause.upper,
        "lower_text": clause.lower_text,
        "upper_text": clause.upper_text,
        "strict": clause.strict,
        "allowed_outside": clause.allowed_outside,
        "seen": clause.seen,
        "source": clause.source,
        "as_read": {"value": clause.as_read, "outside": clause.outside},
        "truth": truth_json(clause.truth),
        "bound": clause.bound,
        "probability_met": clause.probability_met,
        "decision": clause.decision,
        "margin": clause.margin,
        "scope": clause.scope,
        "whole_ball": _whole_ball(clause.whole_ball),
        "population": _population(clause.population),
        "variants": [_variant(variant) for variant in clause.variants],
        "settle": [_settle(settle) for settle in clause.settle],
        "balls": [ball_json(ball) for ball in clause.balls],
        "notes": clause.notes,
    }


def _whole_ball(whole: WholeBall | None) -> Json:
    if whole is None:
        return None
    return {
        "probability_met": whole.probability_met,
        "truth": truth_json(whole.truth),
        "probability_low": whole.probability_low,
        "probability_high": whole.probability_high,
    }


def _population(population: Population | None) -> Json:
    if population is None:
        return None
    return {
        "share_outside": truth_json(population.share_outside),
        "outside_seen": population.outside_seen,
        "share_bound": population.share_bound,
        "low": population.low,
        "high": population.high,
    }


def _variant(variant: VariantFinding) -> Json:
    return {
        "text": variant.text,
        "lower": variant.lower,
        "upper": variant.upper,
        "as_read": {"value": variant.as_read, "outside": variant.outside},
        "truth": truth_json(variant.truth),
        "probability_met": variant.probability_met,
        "decision": variant.decision,
    }


def _settle(settle: Settle) -> Json:
    return {
        "change": settle.change,
        "probability_decided": settle.probability_decided,
        "probability_met": settle.probability_met,
        "probability_not_met": settle.probability_not_met,
        "minutes": settle.minutes,
        "enough": settle.enough,
    }


def ball_json(ball: BallFinding) -> Json:
    """Give one ball as an object."""
    return {
        "ball": ball.ball,
        "box": ball.box,
        "as_read": ball.as_read,
        "truth": truth_json(ball.truth),
        "probability_inside": ball.probability_inside,
    }


def _quantity(quantity: QuantityFinding) -> Json:
    return {
        "quantity": quantity.quantity,
        "unit": quantity.unit,
        "balls": quantity.balls,
        "readings": quantity.readings,
        "axes": quantity.axes,
        "mean": truth_json(quantity.mean),
        "ball_sd": truth_json(quantity.ball_sd),
        "noise_sd": quantity.noise_sd,
        "shared_sd": quantity.shared_sd,
        "form_sd": truth_json(quantity.form_sd),
        "variation_raw": quantity.variation_raw,
        "variation": truth_json(quantity.variation),
        "budgets": [budget_json(budget) for budget in quantity.budgets],
    }


def budget_json(budget: BudgetFinding) -> Json:
    """Give one budget as an object; degrees of freedom that are not finite are null."""
    return {
        "of": budget.of,
        "unit": budget.unit,
        "value": budget.value,
        "u": budget.u,
        "dof": budget.dof,
        "factor": budget.factor,
        "expanded": budget.expanded,
        "confidence": budget.confidence,
        "lines": [_budget_line(line) for line in budget.lines],
        "dominant": budget.dominant,
        "sentence": budget.sentence,
        "drawn_u": budget.drawn_u,
        "drawn_expanded": budget.drawn_expanded,
        "check": _check(budget.check),
        "notes": budget.notes,
    }


def _budget_line(line: BudgetLine) -> Json:
    return {
        "name": line.name,
        "words": line.words,
        "kind": line.kind,
        "u": line.u,
        "u_unit": line.u_unit,
        "sensitivity": line.sensitivity,
        "contribution": line.contribution,
        "dof": line.dof,
        "share": line.share,
        "note": line.note,
    }


def _check(check: FirstOrderCheck | None) -> Json:
    if check is None:
        return None
    return {
        "low": check.low,
        "high": check.high,
        "d_low": check.d_low,
        "d_high": check.d_high,
        "delta": check.delta,
        "validated": check.validated,
        "settled": check.settled,
        "draws": check.draws,
    }


def _outlier(outlier: Outlier) -> Json:
    return {
        "quantity": outlier.quantity,
        "unit": outlier.unit,
        "ball": outlier.ball,
        "value": outlier.value,
        "statistic": outlier.statistic,
        "critical": outlier.critical,
    }


def _influence(influence: Influence) -> Json:
    return {
        "clause": influence.clause,
        "ball": influence.ball,
        "axis": influence.axis,
        "repeat": influence.repeat,
        "value": influence.value,
        "decision_without": influence.decision_without,
        "probability_without": influence.probability_without,
    }


def _without(without: WithoutCorrections | None) -> Json:
    if without is None:
        return None
    return {
        "decision": without.decision,
        "probability_met": without.probability_met,
        "changed": without.changed,
    }
