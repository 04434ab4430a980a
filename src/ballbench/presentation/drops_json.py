"""What filmed drops tell as JSON, format ``ballbench/drops/1``."""

from __future__ import annotations

import math
from dataclasses import replace

from ballbench.findings.bouncing.results import BallBounce, BounceSettings
from ballbench.findings.watching.results import DropFindings, FilmedClip, FilmedImpact, Seen, SizeCheck
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.result_json import (
    bounce_clause_json,
    known_json,
    requirement_json,
    spread_json,
)

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
        "spec": requirement_json(found.requirement),
        "marks_digest": found.marks_digest or None,
        "command": found.command,
        "invented": found.footing.invented,
        **footing_json(found.footing),
        "sentences": found.sentences,
        "settings": _settings(found.settings, found.ruler),
        "clips": [_clip(one, picture=picture) for one in found.clips],
        "balls": [_ball(one) for one in found.balls],
        "clauses": [bounce_clause_json(one) for one in found.clauses],
    }


def _settings(one: BounceSettings, ruler: float) -> Json:
    return {
        "diameter": known_json(one.diameter, "mm"),
        "mass": known_json(one.mass, "g"),
        "weighed": known_json(one.weighed, "g"),
        "drop_height": known_json(one.drop_height, "mm"),
        "contact_time": known_json(one.contact, "s"),
        "drag": {"value": one.drag_seen, "u": one.drag_seen * one.drag_u, "stated": one.drag is not None},
        "air_density": known_json(one.air_density, "kg/m3"),
        "gravity": known_json(one.gravity, "m/s2"),
        "effective_gravity": one.effective_gravity,
        "ruler": ruler if math.isfinite(ruler) else None,
    }


def _clip(clip: FilmedClip, *, picture: bool) -> Json:
    one = _unmeasured(clip) if clip.refused else clip
    first = one.impacts[0] if one.impacts else None
    out: dict[str, Json] = {
        "file": one.file,
        "digest": one.digest or None,
        "product": one.product,
        "ball": one.ball,
        "refused": one.refused or None,
        "rebound": spread_json(one.rebound, "mm"),
        "restitution": None if first is None else spread_json(first.restitution, "1"),
        "scale": spread_json(one.scale, "mm/px"),
        "fell": spread_json(one.fell, "mm"),
        "rebound_at_drop_height": spread_json(one.at_height, "mm"),
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


def _unmeasured(one: FilmedClip) -> FilmedClip:
    """Leave of a clip that was refused what the file itself is: what was worked out of it before is no result."""
    return replace(
        one, rebound=None, fell=None, at_height=None, impacts=(), scale=None, checks=(), budget=(), tilt=0.0, roll=0.0,
        scatter=0.0,
    )  # fmt: skip


def _impact(one: FilmedImpact) -> Json:
    return {
        "impact": one.impact,
        "time_s": one.time,
        "speed": one.speed,
        "speed_u": one.speed_u,
        "restitution": spread_json(one.restitution, "1"),
        "rebound": spread_json(one.rebound, "mm"),
    }


def _check(one: SizeCheck) -> Json:
    return {
        "by": one.by, "scale": spread_json(one.scale, "mm/px"), "gravity_over_it": spread_json(one.ratio, "1"),
        "agrees": one.agrees,
    }  # fmt: skip


def _seen(one: Seen) -> Json:
    return {
        "times": one.times, "heights": one.heights, "used": one.used, "by_hand": one.by_hand, "x": one.xs, "y": one.ys,
        "curve_times": one.curve_times, "curve_heights": one.curve_heights, "width": one.width, "height": one.height,
    }  # fmt: skip


def _ball(one: BallBounce) -> Json:
    return {
        "product": one.product,
        "ball": one.ball,
        "drops": one.drops,
        "left_out": one.left_out,
        "rebound": spread_json(one.rebound, "mm"),
        "restitution": spread_json(one.first, "1"),
        "restitution_later": spread_json(one.later, "1"),
        "rebound_sd": one.scatter,
    }
