"""JSON that is the same for the same results: ten significant digits, no NaN, a fixed order, a trailing newline."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence

from ballbench.findings.footing import Footing
from ballbench.findings.results import Truth

__all__ = ["Json", "footing_json", "json_text", "truth_json"]

Json = Mapping[str, "Json"] | Sequence["Json"] | str | float | int | bool | None


def json_text(value: Json) -> str:
    """Write JSON text.

    Parameters
    ----------
    value : mapping, sequence, text, number, bool or None
        Floats keep ten significant digits; NaN and infinities become null, since JSON has no word for them.

    Returns
    -------
    str
        Indented by two, keys in the order given, ending in a newline.
    """
    return json.dumps(_clean(value), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _clean(value: Json) -> Json:
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        return float(f"{value:.10g}") + 0.0 if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _clean(part) for key, part in value.items()}
    return [_clean(part) for part in value]


def truth_json(truth: Truth | None) -> Json:
    """Give a truth as an object, or null."""
    if truth is None:
        return None
    return {"median": truth.median, "low": truth.low, "high": truth.high, "confidence": truth.confidence}


def footing_json(one: Footing) -> dict[str, Json]:
    """Give the lists that every result ends on: what was taken for granted, what to beware of, what else to know."""
    return {"assumptions": one.assumptions, "cautions": one.cautions, "notes": one.notes}
