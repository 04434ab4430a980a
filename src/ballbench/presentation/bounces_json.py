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
)
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.result_json import (
    bounce_clause_json,
    known_json,
    requirement_json,
    spread_json,
)
from ballbench.quantities.uncertain import Uncertain

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
        "spec": requirement_json(found.requirement),
        "picks_digest": found.picks_digest or None,
        "command": found.command,
        "invented": found.footing.invented,
        **footing_json(found.footing),
        "sentences": found.sentences,
        "settings": _settings(found.settings),
        "recordings": [_recording(one, height, picture=picture) for one in found.recordings],
        "balls": [_ball(one) for one in found.balls],
        "products": [_product(one) for one in found.products],
        "clauses": [bounce_clause_json(one, each=_each(one)) for one in found.clauses],
    }


def _settings(one: BounceSettings) -> Json:
    return {
        "diameter": known_json(one.diameter, "mm"),
        "mass": known_json(one.mass, "g"),
        "weighed": known_json(one.weighed, "g"),
        "drop_height": known_json(one.drop_height, "mm"),
        "contact_time": known_json(one.contact, "s"),
        "contact_slowing": known_json(one.slowing, "1"),
        "drag": {"value": one.drag_seen, "u": one.drag_seen * one.drag_u, "stated": one.drag is not None},
        "air_density": known_json(one.air_density, "kg/m3"),
        "gravity": known_json(one.gravity, "m/s2"),
        "displaced_share": one.displaced,
        "effective_gravity": one.effective_gravity,
        "terminal_speed": one.terminal_speed,
    }


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
        "drops": [] if one.refused else [_drop(drop, height) for drop in one.drops],
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
        "drop_height": known_json(height, "mm"),
        "rebound": spread_json(one.rebound, "mm"),
        "notes": one.notes,
    }


def _impact(one: HeardImpact) -> Json:
    return {"time_s": one.time, "u": one.u, "above_db": one.above, "picked": one.picked}


def _flight(one: Flight) -> Json:
    return {"time_s": one.time, "u": one.u, "launch_speed": one.launch, "rise": spread_json(one.rise, "mm")}


def _bounce(one: BounceAt) -> Json:
    spread = one.restitution
    return {
        "impact": one.impact, "value": spread.value, "u": spread.u, "low": spread.low, "high": spread.high,
        "impact_speed": one.speed, "impact_speed_u": one.speed_u, "speed_from": one.before,
    }  # fmt: skip


def _ball(one: BallBounce) -> Json:
    return {
        "product": one.product,
        "ball": one.ball,
        "drops": one.drops,
        "left_out": one.left_out,
        "restitution": spread_json(one.first, "1"),
        "restitution_later": spread_json(one.later, "1"),
        "rebound": spread_json(one.rebound, "mm"),
        "rebound_sd": one.scatter,
        "speed_dependence": _trend(one.trend),
    }


def _product(one: ProductBounce) -> Json:
    ends = {"lowest": one.lowest, "highest": one.highest}
    return {
        "product": one.product,
        "balls": one.balls,
        "drops": one.drops,
        "rebound": spread_json(one.rebound, "mm"),
        **{name: {"ball": ball, "rebound": value} for name, (ball, value) in ends.items()},
    }


def _trend(one: BounceTrend | None) -> Json:
    if one is None:
        return None
    return {
        "per_speed": spread_json(one.per_speed, "s/m"), "slowest": one.slowest, "fastest": one.fastest,
        "impacts": one.impacts, "told": one.told,
    }  # fmt: skip


def _each(one: BounceClause) -> Json:
    return [
        {"ball": ball, "value": mean.value, "u": mean.u, "low": mean.low, "high": mean.high} for ball, mean in one.each
    ]
