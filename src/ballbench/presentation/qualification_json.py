"""A qualification as JSON, format ``ballbench/qualification/1``."""

from __future__ import annotations

from ballbench.findings.qualification import (
    CalibrationFound,
    CheckFound,
    ComponentFound,
    DriftFound,
    PersonFound,
    Qualification,
    RepeatsFound,
    RoundBallFound,
    SqueezeFound,
    Telling,
    ToleranceShare,
)
from ballbench.presentation.findings_json import budget_json
from ballbench.presentation.instrument_json import instrument_json
from ballbench.presentation.json_text import Json, footing_json, json_text

__all__ = ["FORMAT", "qualification_to_json", "round_ball_json"]

FORMAT = "ballbench/qualification/1"


def qualification_to_json(found: Qualification) -> str:
    """Write a qualification as JSON.

    Parameters
    ----------
    found : Qualification
        The qualification.

    Returns
    -------
    str
        Format ``ballbench/qualification/1``; the same qualification gives the same text. Values stand in `unit`, a
        squeeze in mm, and what could not be said (None, NaN) is null.
    """
    repeats = found.repeats
    return json_text(
        {
            "format": FORMAT,
            "seed": found.seed,
            "readings_digest": found.readings_digest,
            "invented": found.footing.invented,
            **footing_json(found.footing),
            "quantity": found.quantity,
            "unit": found.unit,
            "sentence": found.sentence,
            "sentences": found.sentences,
            "instrument": instrument_json(found.instrument),
            "known": found.known,
            "components": [] if repeats is None else [_component(one) for one in repeats.components],
            "repeats": None if repeats is None else _repeats(repeats),
            "checks": [_check(one) for one in found.checks],
            "calibration": None if found.calibration is None else _calibration(found.calibration),
            "drift": [_drift(one) for one in found.drift],
            "squeeze": [_squeeze(one) for one in found.squeeze],
            "budget": None if found.budget is None else budget_json(found.budget),
            "tolerance": [_share(one) for one in found.tolerance],
            "round_ball": [round_ball_json(one) for one in found.round_ball],
        }
    )


def round_ball_json(one: RoundBallFound) -> Json:
    """Write what a round ball shows on so many axes."""
    return {"axes": one.axes, "mean": one.mean, "high": one.high}


def _component(one: ComponentFound) -> Json:
    return {"name": one.name, "sd": one.sd, "low": one.low, "high": one.high, "dof": one.dof, "negative": one.negative}


def _repeats(found: RepeatsFound) -> Json:
    return {
        "product": found.product,
        "balls": found.balls,
        "places": found.places,
        "people": found.people,
        "readings": found.readings,
        "balanced": found.balanced,
        "method": found.method,
        "coarse": found.coarse,
        "by_person": [_person(one) for one in found.people_found],
        "told_apart": [_telling(one) for one in found.telling],
        "notes": found.notes,
    }


def _person(one: PersonFound) -> Json:
    return {
        "person": one.person,
        "readings": one.readings,
        "difference": one.difference,
        "low": one.low,
        "high": one.high,
        "sd": one.sd,
        "dof": one.dof,
        "departures": one.departures,
    }


def _telling(one: Telling) -> Json:
    return {
        "readings": one.readings,
        "same_person": one.same,
        "same_person_high": one.same_high,
        "different_people": one.different,
        "different_people_high": one.different_high,
    }


def _check(one: CheckFound) -> Json:
    return {
        "piece": one.piece,
        "known": one.known,
        "u_known": one.u_known,
        "value": one.value,
        "error": one.error,
        "expected": one.expected,
        "allowed": one.allowed,
        "passed": one.passed,
        "time": one.time or None,
        "place": one.place or None,
        "readings_touched": one.touched,
    }


def _calibration(found: CalibrationFound) -> Json:
    return {
        "pieces": found.pieces,
        "readings": found.readings,
        "at": found.at,
        "offset": found.offset,
        "offset_sd": found.offset_sd,
        "error_low": found.error_low,
        "error_high": found.error_high,
        "dof": found.dof,
        "slope": found.slope,
        "slope_sd": found.slope_sd,
        "correlation": found.correlation,
        "low": found.low,
        "high": found.high,
        "fit_p": found.fit_p,
        "notes": found.notes,
    }


def _drift(one: DriftFound) -> Json:
    return {
        "piece": one.piece,
        "checks": one.checks,
        "hours": one.hours,
        "rate": one.rate,
        "low": one.low,
        "high": one.high,
        "largest": one.largest,
        "carried": one.carried,
        "beyond_noise": one.beyond_noise,
        "steady": one.steady,
        "jump": one.jump,
        "notes": one.notes,
    }


def _squeeze(one: SqueezeFound) -> Json:
    return {
        "product": one.product,
        "model": one.model,
        "force": one.force,
        "value": one.value,
        "sd": one.sd,
        "expected_low": one.expected_low,
        "expected_high": one.expected_high,
        "notes": one.notes,
    }


def _share(one: ToleranceShare) -> Json:
    return {
        "requirement": one.requirement,
        "title": one.title,
        "room": one.room,
        "expanded": one.expanded,
        "share": one.share,
    }
