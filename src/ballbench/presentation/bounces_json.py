"""What recordings of drops tell as JSON, format ``ballbench/bounces/1``."""

from __future__ import annotations

from ballbench.findings.bouncing.results import (
    BallBounce,
    BounceAt,
    BounceClause,
    BounceDrop,
    BounceFindings,
    BounceRecording,
    BounceSettings,
    BounceTrend,
    Flight,
    HeardImpact,
    ProductBounce,
    Spread,
)
from ballbench.findings.bouncing.words import clause_sentence
from ballbench.presentation.json_text import Json, json_text
from ballbench.quantities.uncertain import Uncertain
from ballbench.specs import Limit

__all__ = ["FORMAT", "bounces_json", "bounces_to_json"]

FORMAT = "ballbench/bounces/1"


def bounces_to_json(found: BounceFindings, *, picture: bool = False) -> str:
    """Write what recordings of drops tell as JSON text.

    Parameters
    ----------
    found : BounceFindings
        As found.
    picture : bool
        With the outline of each sound, for drawing.

    Returns
    -------
    str
        Format ``ballbench/bounces/1``; times in s, heights in mm, speeds in m/s, and what is not known is null.
    """
    return json_text(bounces_json(found, picture=picture))


def bounces_json(found: BounceFindings, *, picture: bool = False) -> dict[str, Json]:
    """Give the same as an object."""
    height = found.settings.drop_height
    return {
        "format": FORMAT,
        "seed": found.seed,
        "draws": found.draws,
        "spec": {"id": found.spec_id, "title": found.spec_title, "digest": found.spec_digest}
        if found.spec_id
        else None,
        "picks_digest": found.picks_digest or None,
        "command": found.command,
        "invented": found.invented,
        "assumptions": found.assumptions,
        "cautions": found.cautions,
        "notes": found.notes,
        "sentences": found.sentences,
        "settings": _settings(found.settings),
        "recordings": [_recording(one, height, picture=picture) for one in found.recordings],
        "balls": [_ball(one) for one in found.balls],
        "products": [_product(one) for one in found.products],
        "clauses": [_clause(one) for one in found.clauses],
    }


def _settings(one: BounceSettings) -> Json:
    return {
        "diameter": _known(one.diameter, "mm"),
        "mass": _known(one.mass, "g"),
        "weighed": _known(one.weighed, "g"),
        "drop_height": _known(one.drop_height, "mm"),
        "contact_time": _known(one.contact, "s"),
        "contact_slowing": _known(one.slowing, "1"),
        "drag": {"value": one.drag_seen, "u": one.drag_seen * one.drag_u, "stated": one.drag is not None},
        "air_density": _known(one.air_density, "kg/m3"),
        "gravity": _known(one.gravity, "m/s2"),
        "displaced_share": one.displaced,
        "effective_gravity": one.effective_gravity,
        "terminal_speed": one.terminal_speed,
    }


def _known(value: Uncertain | None, unit: str) -> Json:
    return None if value is None else {"value": value.value, "u": value.u, "unit": unit}


def _recording(one: BounceRecording, height: Uncertain | None, *, picture: bool) -> Json:
    out: dict[str, Json] = {
        "file": one.file,
        "digest": one.digest or None,
        "product": one.product,
        "ball": one.ball,
        "refused": one.refused or None,
        "seconds": one.seconds,
        "rate": one.rate,
        "picked": "by hand" if one.by_hand else "found",
        "notes": one.notes,
        "drops": [_drop(drop, height) for drop in one.drops],
    }
    if picture:
        out["picture"] = {"times": one.picture.times, "lows": one.picture.lows, "highs": one.picture.highs}
    return out


def _drop(one: BounceDrop, height: Uncertain | None) -> Json:
    return {
        "drop": one.number,
        "counted": one.counted,
        "impacts_s": [impact.time for impact in one.impacts],
        "impacts": [_impact(impact) for impact in one.impacts],
        "flights": [_flight(flight) for flight in one.flights],
        "restitution": [_bounce(bounce) for bounce in one.bounces],
        "drop_height": _known(height, "mm"),
        "rebound": _spread(one.rebound, "mm"),
        "notes": one.notes,
    }


def _impact(one: HeardImpact) -> Json:
    return {"time_s": one.time, "u": one.u, "above_db": one.above, "picked": one.picked}


def _flight(one: Flight) -> Json:
    return {"time_s": one.time, "u": one.u, "launch_speed": one.launch, "rise": _spread(one.rise, "mm")}


def _bounce(one: BounceAt) -> Json:
    spread = one.restitution
    return {
        "impact": one.impact, "value": spread.value, "u": spread.u, "low": spread.low, "high": spread.high,
        "impact_speed": one.speed, "impact_speed_u": one.speed_u, "speed_from": one.before,
    }  # fmt: skip


def _spread(one: Spread | None, unit: str) -> Json:
    if one is None:
        return None
    return {"value": one.value, "u": one.u, "unit": unit, "low": one.low, "high": one.high}


def _plain(one: Spread) -> dict[str, Json]:
    return {"value": one.value, "u": one.u, "low": one.low, "high": one.high}


def _ball(one: BallBounce) -> Json:
    return {
        "product": one.product,
        "ball": one.ball,
        "drops": one.drops,
        "left_out": one.left_out,
        "restitution": _spread(one.first, "1"),
        "restitution_later": _spread(one.later, "1"),
        "rebound": _spread(one.rebound, "mm"),
        "rebound_sd": one.scatter,
        "speed_dependence": _trend(one.trend),
    }


def _product(one: ProductBounce) -> Json:
    ends = {"lowest": one.lowest, "highest": one.highest}
    return {
        "product": one.product,
        "balls": one.balls,
        "drops": one.drops,
        "rebound": _spread(one.rebound, "mm"),
        **{name: {"ball": ball, "rebound": value} for name, (ball, value) in ends.items()},
    }


def _trend(one: BounceTrend | None) -> Json:
    if one is None:
        return None
    return {
        "per_speed": _spread(one.per_speed, "s/m"), "slowest": one.slowest, "fastest": one.fastest,
        "impacts": one.impacts, "told": one.told,
    }  # fmt: skip


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
        "each": [{"ball": ball, **_plain(spread)} for ball, spread in one.each],
        "reason": one.reason or None,
        "sentence": clause_sentence(one),
    }


def _limit(limit: Limit | None) -> Json:
    return None if limit is None else limit.value
