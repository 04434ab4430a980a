"""What vees tell as JSON, format ``ballbench/vee/1``."""

from __future__ import annotations

from ballbench.findings.vee.results import BallForm, SectionForm, VeeFindings, VeeProduct
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.result_json import form_clause_json, requirement_json

__all__ = ["FORMAT", "vee_to_json"]

FORMAT = "ballbench/vee/1"


def vee_to_json(found: VeeFindings) -> str:
    """Write what vees tell as JSON.

    Parameters
    ----------
    found : VeeFindings
        As found.

    Returns
    -------
    str
        Format ``ballbench/vee/1``; lengths in mm, angles in degrees, and what could not be said is null.
    """
    return json_text(
        {
            "format": FORMAT,
            "seed": found.seed,
            "readings": found.readings,
            "readings_digest": found.readings_digest,
            "spec": requirement_json(found.requirement),
            "invented": found.footing.invented,
            **footing_json(found.footing),
            "lobes": found.lobes or None,
            "sentences": found.sentences,
            "products": [_product(one) for one in found.products],
            "clauses": [form_clause_json(one) for one in found.clauses],
        }
    )


def _product(one: VeeProduct) -> Json:
    return {
        "product": one.product,
        "balls": len(one.balls),
        "counted": one.counted,
        "median": {"low": one.median_low, "high": one.median_high},
        "largest": {"low": one.largest_low, "high": one.largest_high},
        "one_form": one.one_form,
        "odd": one.odd,
        "blind": one.blind,
        "balls_found": [_ball(ball) for ball in one.balls],
    }


def _ball(one: BallForm) -> Json:
    return {
        "ball": one.ball,
        "low": one.low,
        "high": one.high,
        "sections": [_section(section) for section in one.sections],
    }


def _section(one: SectionForm) -> Json:
    return {
        "section": one.section,
        "vees": [
            {
                "angle": vee.angle,
                "angle_u": vee.angle_u,
                "setting": vee.setting,
                "range": vee.range,
                "added_by_noise": vee.added,
                "u": vee.u,
                "readings": vee.readings,
                "floor": vee.floor,
            }
            for vee in one.vees
        ],
        "lobes_counted": one.lobes_known or None,
        "low": one.low,
        "high": one.high,
        "beyond_noise": one.beyond_noise,
        "form": one.form,
        "u": one.u,
        "lobes": one.lobes or None,
        "blind": one.blind,
        "floor": one.floor,
        "told_from_round": one.told_from_round,
        "by_lobes": [
            {
                "lobes": item.lobes,
                "factors": item.factors,
                "form": None if item.form is None else item.form.value,
                "u": None if item.form is None else item.form.u,
                "p": item.p,
                "agrees": item.agrees,
            }
            for item in one.by_lobes
        ],
        "notes": one.notes,
    }
