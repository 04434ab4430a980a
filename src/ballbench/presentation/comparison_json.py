"""A comparison as JSON, format ``ballbench/comparison/1``."""

from __future__ import annotations

from ballbench.findings.comparisons import ComparedProduct, Comparison, Pair
from ballbench.findings.results import Truth
from ballbench.presentation.findings_json import ball_json, budget_json
from ballbench.presentation.json_text import Json, footing_json, json_text, truth_json

__all__ = ["FORMAT", "comparison_to_json"]

FORMAT = "ballbench/comparison/1"


def comparison_to_json(comparison: Comparison) -> str:
    """Write a comparison as JSON.

    Parameters
    ----------
    comparison : Comparison
        The comparison.

    Returns
    -------
    str
        Format ``ballbench/comparison/1``; values stand in `Comparison.unit`, ratios are pure numbers, and what could
        not be said (None, NaN) is null.
    """
    return json_text(
        {
            "format": FORMAT,
            "quantity": comparison.quantity,
            "unit": comparison.unit,
            "seed": comparison.seed,
            "draws": comparison.draws,
            "readings_digest": comparison.readings_digest,
            "invented": comparison.footing.invented,
            **footing_json(comparison.footing),
            "sentences": comparison.sentences,
            "products": [_product(product) for product in comparison.products],
            "pairs": [_pair(pair) for pair in comparison.pairs],
        }
    )


def _product(product: ComparedProduct) -> Json:
    return {
        "product": product.product,
        "balls": product.balls,
        "readings": product.readings,
        "mean": truth_json(product.mean),
        "sd": truth_json(product.sd),
        "form": truth_json(product.form),
        "form_raw": product.form_raw,
        "balls_found": [ball_json(ball) for ball in product.balls_found],
    }


def _flat(name: str, truth: Truth | None) -> dict[str, Json]:
    return {
        name: truth.median if truth else None,
        f"{name}_low": truth.low if truth else None,
        f"{name}_high": truth.high if truth else None,
    }


def _pair(pair: Pair) -> Json:
    return {
        "a": pair.a,
        "b": pair.b,
        "difference": pair.difference.median,
        "low": pair.difference.low,
        "high": pair.difference.high,
        "confidence": pair.difference.confidence,
        **_flat("sd_ratio", pair.sd_ratio),
        **_flat("form_ratio", pair.form_ratio),
        "share_a_rounder": pair.share_a_rounder,
        "told_apart": pair.told_apart,
        "p": pair.p,
        "p_adjusted": pair.p_adjusted,
        "welch_p": pair.welch_p,
        "rank_p": pair.rank_p,
        "spread_p": pair.spread_p,
        "smallest_told": pair.smallest_told,
        "consequences": [{"name": c.name, **_flat("percent", c.percent)} for c in pair.consequences],
        "notes": pair.notes,
        "budget": budget_json(pair.budget) if pair.budget is not None else None,
    }
