"""A plan as text and back, every number as it was: the notebook keeps plans for years."""

from __future__ import annotations

import json
import types
from collections.abc import Mapping
from dataclasses import MISSING, asdict, fields, is_dataclass, replace
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from ballbench.findings.plans import Plan

__all__ = ["plan_from_text", "plan_to_text"]


def plan_to_text(plan: Plan) -> str:
    """Write a plan as JSON with the names of its own fields; a number that is none is NaN (RFC 8259 has no such)."""
    return json.dumps(asdict(plan), ensure_ascii=False)


def plan_from_text(text: str) -> Plan | None:
    """Read what `plan_to_text` wrote.

    Returns
    -------
    Plan or None
        Equal to what was written; what an older version did not write yet has its default. None where another version
        wrote it with fields that this one does not know.
    """
    try:
        plan: Plan = _made(Plan, json.loads(text))
    except (KeyError, TypeError, ValueError):
        return None
    tried = plan.settings
    chosen = plan.how_many.chosen
    same = next((one for one in tried if chosen is not None and one.design == chosen.design), None)
    return replace(plan, how_many=replace(plan.how_many, tried=tried, chosen=same))


def _made(kind: Any, value: Any) -> Any:
    """Make a value of a kind: a record, a tuple, a mapping, one of several kinds, or the value itself."""
    if isinstance(kind, type) and is_dataclass(kind):
        hints = _hints(kind)
        have, needed = {one.name for one in fields(kind)}, {one.name for one in fields(kind) if one.default is MISSING}
        if not needed <= set(value) <= have:
            raise KeyError(f"fields of {kind}")
        return kind(**{name: _made(hints[name], part) for name, part in value.items()})
    origin, parts = get_origin(kind), get_args(kind)
    if origin in {Union, types.UnionType}:
        if value is None:
            return None
        return _made(next(part for part in parts if part is not types.NoneType), value)
    if origin is tuple:
        inner = (parts[0],) * len(value) if parts[-1] is ... else parts
        return tuple(_made(part, one) for part, one in zip(inner, value, strict=True))
    if origin in {dict, Mapping}:
        return {name: _made(parts[1], part) for name, part in value.items()}
    if origin is not Literal and not isinstance(value, (float, int) if kind is float else kind):
        raise TypeError(f"{value!r} for {kind}")
    return value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
