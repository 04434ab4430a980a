"""What a ramp, or floats and spins, tell of balance as JSON, format ``ballbench/rolls/1``."""

from __future__ import annotations

from ballbench.findings.rolling.results import (
    AxisOffset,
    BallOffset,
    RampLean,
    RollClause,
    RollFindings,
    RollPair,
    RollProduct,
    SpotBall,
    SpotCount,
)
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.result_json import limit_json, requirement_json

__all__ = ["FORMAT", "rolls_to_json"]

FORMAT = "ballbench/rolls/1"


def rolls_to_json(found: RollFindings) -> str:
    """Write what a ramp, or floats and spins, tell of balance as JSON.

    Parameters
    ----------
    found : RollFindings
        As found.

    Returns
    -------
    str
        Format ``ballbench/rolls/1``; lengths in mm, angles in degrees, leans in mrad, times in s; what could not be
        said is null.
    """
    noise = found.noise
    return json_text(
        {
            "format": FORMAT,
            "seed": None,  # nothing here is drawn
            "readings": found.readings,
            "readings_digest": found.readings_digest,
            "spec": requirement_json(found.requirement),
            "invented": found.footing.invented,
            **footing_json(found.footing),
            "sentences": found.sentences,
            "noise": None
            if noise is None
            else {"sd": noise.sd, "dof": noise.dof or None, "origin": noise.origin, "p_steady": noise.p_steady},
            "leans": [_lean(one) for one in found.leans],
            "products": [_product(one) for one in found.products],
            "pairs": [_pair(one) for one in found.pairs],
            "clauses": [_clause(one) for one in found.clauses],
            "spots": [_spot_ball(one) for one in found.spots],
        }
    )


def _lean(one: RampLean) -> Json:
    return {
        "sitting": one.sitting or None,
        "lean": one.lean,
        "low": one.low,
        "high": one.high,
        "veer": one.veer,
        "like_offset": one.like_offset,
        "turnings": one.turnings,
    }


def _product(one: RollProduct) -> Json:
    return {
        "product": one.product,
        "balls": len(one.balls),
        "whole": one.whole,
        "told": one.told,
        "median": one.median,
        "largest": one.largest or None,
        "spoiled": one.spoiled,
        "balls_found": [_ball(ball) for ball in one.balls],
    }


def _ball(one: BallOffset) -> Json:
    return {
        "ball": one.ball,
        "offset": one.offset,
        "low": one.low,
        "high": one.high,
        "raw": one.raw,
        "p": one.p,
        "told": one.told,
        "scale_u": one.scale_u,
        "marks_u": one.marks_u,
        "heavy_spot": {"from_a": one.heavy[0], "from_b": one.heavy[1], "from_c": one.heavy[2], "within": one.cone}
        if one.heavy
        else None,
        "worst_veer": {"value": one.worst, "low": one.worst_low, "high": one.worst_high},
        "ramp": None
        if one.ramp is None
        else {"slope": one.ramp.slope, "run_out": one.ramp.run_out, "angle": one.ramp.angle},
        "reason": one.reason or None,
        "axes": [_axis(axis) for axis in one.axes],
    }


def _axis(one: AxisOffset) -> Json:
    return {
        "axis": one.axis,
        "runs_as_placed": one.placed,
        "runs_turned": one.turned,
        "veer": one.veer,
        "veer_u": one.veer_u,
        "half_sum": one.half_sum,
        "offset": one.offset,
        "u": one.offset_u,
        "low": one.low,
        "high": one.high,
        "reason": one.reason or None,
    }


def _pair(one: RollPair) -> Json:
    return {
        "a": one.a,
        "b": one.b,
        "balls_a": one.balls_a,
        "balls_b": one.balls_b,
        "difference": one.difference,
        "low": one.low,
        "high": one.high,
        "p": one.p,
        "p_adjusted": one.p_adjusted,
        "p_ranks": one.p_ranks,
        "told_apart": one.told_apart,
        "reason": one.reason or None,
    }


def _clause(one: RollClause) -> Json:
    return {
        "product": one.product,
        "clause": one.clause,
        "text": one.text,
        "seen": one.seen,
        "lower": limit_json(one.lower),
        "upper": limit_json(one.upper),
        "decision": one.decision,
        "balls": one.balls,
        "outside": one.outside,
        "inside": one.inside,
        "value": one.value,
        "u": one.u,
        "ball": one.ball or None,
        "reason": one.reason or None,
    }


def _spot_ball(one: SpotBall) -> Json:
    return {
        "product": one.product,
        "ball": one.ball,
        "test": one.test,
        "trials": one.trials,
        "restless": one.restless,
        "sectors": one.sectors or None,
        "p": one.p,
        "p_adjusted": one.p_adjusted,
        "told": one.told,
        "trials_that_would_tell": one.least or None,
        "seconds": {"median": one.seconds, "shortest": one.fastest, "longest": one.slowest, "timed": one.timed},
        "spots": [_spot(spot) for spot in one.spots],
    }


def _spot(one: SpotCount) -> Json:
    return {
        "spot": one.spot,
        "count": one.count,
        "chance": one.chance,
        "share": one.share,
        "low": one.low,
        "high": one.high,
        "p": one.p,
        "more_than_chance": one.more,
    }
