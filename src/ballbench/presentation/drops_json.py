"""What filmed drops tell as JSON, format ``ballbench/drops/1``."""

from __future__ import annotations

import math

from ballbench.findings.bouncing.results import BallBounce, BounceClause, BounceSettings, Spread
from ballbench.findings.bouncing.words import clause_sentence
from ballbench.findings.watching.results import DropFindings, FilmedClip, FilmedImpact, Seen, SizeCheck
from ballbench.presentation.json_text import Json, json_text
from ballbench.quantities.uncertain import Uncertain
from ballbench.specs import Limit

__all__ = ["FORMAT", "drops_json", "drops_to_json"]

FORMAT = "ballbench/drops/1"


def drops_to_json(found: DropFindings, *, picture: bool = False) -> str:
    """Write what filmed drops tell as JSON text.

    Parameters
    ----------
    found : DropFindings
        As found.
    picture : bool
        With the ball's way through each clip, for drawing.

    Returns
    -------
    str
        Format ``ballbench/drops/1``; times in s, heights in mm, speeds in m/s, and what is not known is null.
    """
    return json_text(drops_json(found, picture=picture))


def drops_json(found: DropFindings, *, picture: bool = False) -> dict[str, Json]:
    """Give the same as an object."""
    return {
        "format": FORMAT,
        "seed": found.seed,
        "spec": {"id": found.spec_id, "title": found.spec_title, "digest": found.spec_digest}
        if found.spec_id
        else None,
        "marks_digest": found.marks_digest or None,
        "command": found.command,
        "invented": found.invented,
        "assumptions": found.assumptions,
        "cautions": found.cautions,
        "notes": found.notes,
        "sentences": found.sentences,
        "settings": _settings(found.settings, found.ruler),
        "clips": [_clip(one, picture=picture) for one in found.clips],
        "balls": [_ball(one) for one in found.balls],
        "clauses": [_clause(one) for one in found.clauses],
    }


def _settings(one: BounceSettings, ruler: float) -> Json:
    return {
        "diameter": _known(one.diameter, "mm"),
        "mass": _known(one.mass, "g"),
        "weighed": _known(one.weighed, "g"),
        "drop_height": _known(one.drop_height, "mm"),
        "contact_time": _known(one.contact, "s"),
        "drag": {"value": one.drag_seen, "u": one.drag_seen * one.drag_u, "stated": one.drag is not None},
        "air_density": _known(one.air_density, "kg/m3"),
        "gravity": _known(one.gravity, "m/s2"),
        "effective_gravity": one.effective_gravity,
        "ruler": ruler if math.isfinite(ruler) else None,
    }


def _known(value: Uncertain | None, unit: str) -> Json:
    return None if value is None else {"value": value.value, "u": value.u, "unit": unit}


def _clip(one: FilmedClip, *, picture: bool) -> Json:
    first = one.impacts[0] if one.impacts and not one.refused else None
    out: dict[str, Json] = {
        "file": one.file,
        "digest": one.digest or None,
        "product": one.product,
        "ball": one.ball,
        "refused": one.refused or None,
        "rebound": _spread(one.rebound, "mm"),
        "restitution": None if first is None else _spread(first.restitution, "1"),
        "scale": _spread(one.scale, "mm/px"),
        "fell": _spread(one.fell, "mm"),
        "rebound_at_drop_height": _spread(one.at_height, "mm"),
        "impacts": [_impact(hit) for hit in one.impacts],
        "scale_checks": [_check(check) for check in one.checks],
        "scale_change_percent": one.tilt if one.rebound is not None else None,
        "lean_degrees": one.roll if one.rebound is not None else None,
        "budget": [{"cause": words, "u": u, "unit": "mm"} for words, u in one.budget],
        "frames": one.frames,
        "frames_in_flight": one.in_flight,
        "frames_repeated": one.repeated,
        "frames_left_out": one.left_out,
        "frames_by_hand": one.by_hand,
        "rate": one.rate or None,
        "scatter": one.scatter if one.rebound is not None else None,
        "seconds": one.seconds,
        "notes": one.notes,
    }
    if picture:
        out["picture"] = _seen(one.seen)
    return out


def _impact(one: FilmedImpact) -> Json:
    return {
        "impact": one.impact,
        "time_s": one.time,
        "speed": one.speed,
        "speed_u": one.speed_u,
        "restitution": _spread(one.restitution, "1"),
        "rebound": _spread(one.rebound, "mm"),
    }


def _check(one: SizeCheck) -> Json:
    return {
        "by": one.by, "scale": _spread(one.scale, "mm/px"), "gravity_over_it": _spread(one.ratio, "1"),
        "agrees": one.agrees,
    }  # fmt: skip


def _seen(one: Seen) -> Json:
    return {
        "times": one.times, "heights": one.heights, "used": one.used, "by_hand": one.by_hand, "x": one.xs, "y": one.ys,
        "curve_times": one.curve_times, "curve_heights": one.curve_heights, "width": one.width, "height": one.height,
    }  # fmt: skip


def _spread(one: Spread | None, unit: str) -> Json:
    if one is None:
        return None
    return {"value": one.value, "u": one.u, "unit": unit, "low": one.low, "high": one.high}


def _ball(one: BallBounce) -> Json:
    return {
        "product": one.product,
        "ball": one.ball,
        "drops": one.drops,
        "left_out": one.left_out,
        "rebound": _spread(one.rebound, "mm"),
        "restitution": _spread(one.first, "1"),
        "restitution_later": _spread(one.later, "1"),
        "rebound_sd": one.scatter,
    }


def _clause(one: BounceClause) -> Json:
    return {
        "product": one.product,
        "clause": one.clause,
        "text": one.text,
        "seen": one.seen,
        "quantity": one.quantity,
        "unit": one.unit,
        "lower": _limit(one.lower),
        "upper": _limit(one.upper),
        "decision": one.decision,
        "probability_met": one.probability,
        "balls": one.balls,
        "value": _spread(one.value, one.unit),
        "reason": one.reason or None,
        "sentence": clause_sentence(one),
    }


def _limit(limit: Limit | None) -> Json:
    return None if limit is None else limit.value
