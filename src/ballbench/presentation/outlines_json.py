"""What outlines tell as JSON, format ``ballbench/outlines/1``."""

from __future__ import annotations

import math

from ballbench.findings.tracing.results import Lobe, OutlineClause, OutlineFindings, PhotoOutline, Separation
from ballbench.form.form_interval import FormFound
from ballbench.form.predicted_diameters import PredictedDiameters
from ballbench.presentation.json_text import Json, json_text
from ballbench.quantities.uncertain import Uncertain

__all__ = ["FORMAT", "outlines_to_json"]

FORMAT = "ballbench/outlines/1"


def outlines_to_json(found: OutlineFindings) -> str:
    """Write what outlines tell as JSON.

    Parameters
    ----------
    found : OutlineFindings
        As found.

    Returns
    -------
    str
        Format ``ballbench/outlines/1``: r = R + sum of amplitude cos(n theta + phase), before the filter; forms after
        it; lengths in ``unit``, angles in degrees, and what could not be said is null.
    """
    return json_text(
        {
            "format": FORMAT,
            "seed": found.seed,
            "unit": found.unit,
            "filter": {"name": "gaussian", "cutoff_upr": found.cutoff},
            "spec": {"id": found.spec_id, "title": found.spec_title, "digest": found.spec_digest}
            if found.spec_id
            else None,
            "invented": found.invented,
            "options": dict(found.options),
            "assumptions": found.assumptions,
            "cautions": found.cautions,
            "notes": found.notes,
            "sentences": found.sentences,
            "photos": [_photo(one) for one in found.photos],
            "separation": None if found.separation is None else _separation(found.separation),
            "clauses": [_clause(one) for one in found.clauses],
        }
    )


def _photo(one: PhotoOutline) -> Json:
    told = not one.refused
    return {
        "file": one.file,
        "digest": one.digest or None,
        "product": one.product,
        "ball": one.ball,
        "refused": one.refused or None,
        "scale": _uncertain(one.scale),
        "diameter": _uncertain(one.diameter),
        "diameter_given": one.diameter_given if told else None,
        "form": _forms(one.forms, one.unit) if told else None,
        "lobes": [_lobe(lobe) for lobe in one.lobes],
        "diameters": None if one.diameters is None else _diameters(one.diameters),
        "edge_count": one.edge_count if told else None,
        "coverage": one.coverage if told else None,
        "edge": {
            "radius_px": one.radius_px,
            "noise_px": one.edge_noise_px,
            "width_px": one.edge_width_px,
            "oval_px": one.oval_px,
            "off_axis_deg": _known(one.axis_angle),
            "distance_in_radii": _known(one.distance),
        }
        if told
        else None,
        "notes": one.notes,
    }


def _forms(forms: tuple[FormFound, ...], unit: str) -> Json:
    return {
        form.kind.replace(" ", "_"): {
            "value": form.value,
            "u": form.u,
            "unit": unit,
            "low": form.low,
            "high": form.high,
            "as_seen": form.seen,
            "floor": form.floor,
            "told_from_round": form.told,
        }
        for form in forms
    }


def _lobe(one: Lobe) -> Json:
    return {
        "n": one.n,
        "amplitude": one.amplitude,
        "phase_deg": one.phase_deg,
        "u": one.u,
        "without_noise": one.freed,
        "told": one.told,
        "crests_deg": one.crests_deg if one.told else None,
    }


def _diameters(one: PredictedDiameters) -> Json:
    return {
        "variation": {"value": one.variation, "u": _known(one.u)},
        "largest_at_deg": _known(one.largest_at),
        "smallest_at_deg": _known(one.smallest_at),
        "by_axes": [{"axes": by.axes, "mean": by.mean, "low": by.low, "high": by.high} for by in one.by_axes],
        "odd_form": {"value": one.odd_form, "u": _known(one.odd_u)},
    }


def _separation(one: Separation) -> Json:
    return {
        "turns_deg": one.turns,
        "files": one.files,
        "form": _forms(one.forms, one.unit),
        "lobes": [_lobe(lobe) for lobe in one.lobes],
        "camera": [_lobe(lobe) for lobe in one.camera],
        "blind": one.blind,
        "closure": {"sum": _known(one.closure), "dof": one.dof, "p": _known(one.p), "agrees": one.agrees},
        "worst": one.worst or None,
        "notes": one.notes,
    }


def _clause(one: OutlineClause) -> Json:
    return {
        "product": one.product,
        "clause": one.clause,
        "text": one.text,
        "upper": one.limit.value,
        "upper_text": f"{one.limit.text} {one.limit.unit}",
        "seen": one.seen,
        "outcome": one.outcome,
        "beyond": one.beyond,
        "within": one.within,
        "balls": one.balls,
        "reasons": one.reasons,
    }


def _uncertain(one: Uncertain | None) -> Json:
    return None if one is None else {"value": one.value, "u": one.u, "unit": one.unit}


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
