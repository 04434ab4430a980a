"""What a press tells as JSON, format ``ballbench/press/1``."""

from __future__ import annotations

from ballbench.findings.pressing.results import (
    PressClause,
    PressFindings,
    PressGroupFound,
    PressPair,
    PressProduct,
    ReturnFound,
)
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.result_json import limit_json, requirement_json

__all__ = ["FORMAT", "press_to_json"]

FORMAT = "ballbench/press/1"


def press_to_json(found: PressFindings) -> str:
    """Write what a press tells as JSON.

    Parameters
    ----------
    found : PressFindings
        As found.

    Returns
    -------
    str
        Format ``ballbench/press/1``; lengths in mm, forces in N, times in s, and what could not be said is null.
    """
    return json_text(
        {
            "format": FORMAT,
            "label": found.label,
            "readings": found.readings,
            "readings_digest": found.readings_digest,
            "spec": requirement_json(found.requirement),
            "invented": found.footing.invented,
            **footing_json(found.footing),
            "sentences": found.sentences,
            "products": [_product(one) for one in found.products],
            "pairs": [_pair(one) for one in found.pairs],
            "clauses": [_clause(one) for one in found.clauses],
        }
    )


def _product(one: PressProduct) -> Json:
    return {
        "product": one.product,
        "balls": one.balls,
        "readings": one.readings,
        "groups": [_group(group) for group in one.groups],
        "returns": [_return(back) for back in one.returns],
    }


def _group(one: PressGroupFound) -> Json:
    group = one.group
    return {
        "quantity": one.quantity,
        "orientation": group.orientation,
        "direction": group.direction,
        "load": group.load_n,
        "preload": group.preload_n,
        "balls": group.balls,
        "readings": group.readings,
        "mean": group.mean,
        "low": one.low,
        "high": one.high,
        "sd": group.sd,
        "seconds": group.seconds,
        "creep": group.creep,
        "balls_found": [{"ball": ball, "mean": mean} for ball, mean in one.balls],
        "label": one.label,
    }


def _return(one: ReturnFound) -> Json:
    back = one.back
    return {
        "quantity": one.quantity,
        "orientation": back.orientation,
        "load": back.load_n,
        "preload": back.preload_n,
        "balls": back.balls,
        "mean": back.mean,
        "low": one.low,
        "high": one.high,
        "sd": back.sd,
        "label": one.label,
    }


def _pair(one: PressPair) -> Json:
    return {
        "a": one.a,
        "b": one.b,
        "quantity": one.quantity,
        "orientation": one.orientation,
        "direction": one.direction,
        "load": one.load_n,
        "preload": one.preload_n,
        "balls_a": one.balls_a,
        "balls_b": one.balls_b,
        "difference": one.difference,
        "low": one.low,
        "high": one.high,
        "p": one.p,
        "p_adjusted": one.p_adjusted,
        "told_apart": one.told_apart,
        "reason": one.reason or None,
        "label": one.label,
    }


def _clause(one: PressClause) -> Json:
    return {
        "product": one.product,
        "clause": one.clause,
        "text": one.text,
        "seen": one.seen,
        "lower": limit_json(one.lower),
        "upper": limit_json(one.upper),
        "decision": one.decision,
        "balls": one.balls,
        "balls_read": one.read,
        "sample": one.sample,
        "value": one.value,
        "u": one.u,
        "outside": one.outside,
        "reason": one.reason or None,
        "label": one.label,
    }
