"""A plan as JSON, format ``ballbench/plan/1``."""

from __future__ import annotations

from ballbench.findings.plan_form_words import form_sentences
from ballbench.findings.planning import (
    Gain,
    HowMany,
    SettingChances,
    ShapeCaught,
    Share,
    Surface,
    TellingApart,
    TruthAt,
)
from ballbench.findings.plans import BoxPlan, Plan
from ballbench.presentation.instrument_json import instrument_json
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.qualification_json import round_ball_json

__all__ = ["FORMAT", "plan_to_json"]

FORMAT = "ballbench/plan/1"


def plan_to_json(plan: Plan) -> str:
    """Write a plan as JSON.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    str
        Format ``ballbench/plan/1``; the same plan gives the same text. Chances are 0 to 1, values stand in `unit`, and
        what could not be said (None, NaN) is null.
    """
    return json_text(
        {
            "format": FORMAT,
            "spec": {
                "id": plan.requirement.id,
                "title": plan.requirement.title,
                "edition": plan.requirement.edition,
                "digest": plan.requirement.digest,
            },
            "rule": {"name": plan.rule, "risk": plan.risk},
            "seed": plan.seed,
            "tests": plan.tests,
            "sample_size": plan.sample_size,
            "quantity": plan.quantity,
            "unit": plan.unit,
            "instrument": instrument_json(plan.instrument),
            "limits": {"lower": plan.lower, "upper": plan.upper},
            "truth": _truth(plan.truth),
            "clauses": [{"id": name, "text": text} for name, text in plan.clauses],
            **footing_json(plan.footing),
            "sentence": plan.sentence,
            "sentences": plan.sentences,
            "settings": [_setting(one) for one in plan.settings],
            "how_many": _how_many(plan.how_many),
            "changes": [_gain(one) for one in plan.gains],
            "surface": None if plan.surface is None else _surface(plan.surface),
            "comparison": None if plan.telling is None else _telling(plan.telling),
            "boxes": [_box(one) for one in plan.boxes],
            "form_sentences": form_sentences(plan),
            "caught": [_caught(one) for one in plan.caught],
            "round_ball": [round_ball_json(one) for one in plan.round_ball],
        }
    )


def _truth(truth: TruthAt) -> dict[str, Json]:
    return {"mean": truth.mean, "sd": truth.sd, "form_sd": truth.form_sd, "form_spread": truth.form_spread}


def _share(share: Share) -> Json:
    return {"value": share.value, "se": share.se, "low": share.low, "high": share.high}


def _setting(one: SettingChances) -> dict[str, Json]:
    return {
        "balls": one.design.balls,
        "axes": one.design.axes,
        "repeats": one.design.repeats,
        "minutes": one.minutes,
        "in_question": one.in_question,
        "one_place": one.one_place,
        "tests": one.tests,
        "chance_met": one.met.value,
        "chance_not_met": one.not_met.value,
        "chance_undecided": one.undecided.value,
        "se": max(one.met.se, one.not_met.se, one.undecided.se),
        "met": _share(one.met),
        "not_met": _share(one.not_met),
        "undecided": _share(one.undecided),
        "right": _share(one.right),
        "false_met": _share(one.false_met),
        "false_not_met": _share(one.false_not_met),
        "clauses": [
            {
                "id": clause.clause,
                "chance_met": clause.met.value,
                "chance_not_met": clause.not_met.value,
                "chance_undecided": clause.undecided.value,
                "se": max(clause.met.se, clause.not_met.se, clause.undecided.se),
                "right": clause.right.value,
                "false_met": clause.false_met.value,
            }
            for clause in one.clauses
        ],
        "left_out": one.left_out,
        "judged_in_full": one.in_full,
        "not_drawn": one.not_drawn,
    }


def _how_many(found: HowMany) -> Json:
    chosen = None if found.chosen is None else found.chosen.design
    return {
        "wanted": found.wanted,
        "chosen": None if chosen is None else {"balls": chosen.balls, "axes": chosen.axes, "repeats": chosen.repeats},
        "sure": found.sure,
        "limited_by": found.limited_by or None,
        "with_calibration": None if found.with_calibration is None else _share(found.with_calibration.right),
        "with_noise": None if found.with_noise is None else _share(found.with_noise.right),
    }


def _gain(gain: Gain) -> Json:
    return {"change": gain.change, **_setting(gain.chances)}


def _surface(found: Surface) -> Json:
    return {
        "across": found.across,
        "means": found.means,
        "spreads": found.spreads,
        "settings": [{**_setting(one), "truth": _truth(one.truth)} for one in found.settings],
    }


def _telling(found: TellingApart) -> Json:
    design = found.design
    return {
        "balls": design.balls,
        "axes": design.axes,
        "repeats": design.repeats,
        "minutes": found.minutes,
        "tests": found.tests,
        "wanted": found.wanted,
        "smallest": found.smallest,
        "low": found.low,
        "high": found.high,
        "differences": [
            {"difference": difference, "told": _share(told)}
            for difference, told in zip(found.differences, found.told, strict=True)
        ],
        "judged_in_full": found.in_full,
    }


def _box(one: BoxPlan) -> Json:
    return {
        "lot": one.lot,
        "share": one.share,
        "confidence": one.confidence,
        "balls": one.balls,
        "bad_in_lot": one.bad_in_lot,
        "good": one.good,
        "measured": one.measured,
        "factor": one.factor,
        "letter": one.letter or None,
    }


def _caught(one: ShapeCaught) -> Json:
    return {"over": one.over, "lobes": one.lobes, "axes": one.axes, "mean": one.mean, "twentieth": one.twentieth}
