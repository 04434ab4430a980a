"""What outlines tell as JSON, format ``ballbench/outlines/1``."""

from __future__ import annotations

from ballbench.findings.tracing.results import Lobe, OutlineFindings, PhotoOutline, Separation
from ballbench.form.form_interval import FormFound
from ballbench.form.predicted_diameters import PredictedDiameters
from ballbench.presentation.json_text import Json, footing_json, json_text
from ballbench.presentation.result_json import form_clause_json, known_json, requirement_json

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
            "spec": requirement_json(found.requirement),
            "invented": found.footing.invented,
            "options": dict(found.options),
            **footing_json(found.footing),
            "sentences": found.sentences,
            "photos": [_photo(one) for one in found.photos],
            "separation": None if found.separation is None else _separation(found.separation),
            "clauses": [form_clause_json(one) for one in found.clauses],
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
        "scale": known_json(one.scale) if told else None,
        "diameter": known_json(one.diameter) if told else None,
        "diameter_given": one.diameter_given if told else None,
        "form": _forms(one.forms, one.unit) if told else None,
        "lobes": [_lobe(lobe) for lobe in one.lobes] if told else [],
        "diameters": None if one.diameters is None or not told else _diameters(one.diameters),
        "edge_count": one.edge_count if told else None,
        "coverage": one.coverage if told else None,
        "edge": {
            "radius_px": one.radius_px,
            "noise_px": one.edge_noise_px,
            "width_px": one.edge_width_px,
            "oval_px": one.oval_px,
            "off_axis_deg": one.axis_angle,
            "distance_in_radii": one.distance,
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
        "variation": {"value": one.variation, "u": one.u},
        "largest_at_deg": one.largest_at,
        "smallest_at_deg": one.smallest_at,
        "by_axes": [{"axes": by.axes, "mean": by.mean, "low": by.low, "high": by.high} for by in one.by_axes],
        "odd_form": {"value": one.odd_form, "u": one.odd_u},
    }


def _separation(one: Separation) -> Json:
    return {
        "turns_deg": one.turns,
        "files": one.files,
        "form": _forms(one.forms, one.unit),
        "lobes": [_lobe(lobe) for lobe in one.lobes],
        "camera": [_lobe(lobe) for lobe in one.camera],
        "blind": one.blind,
        "closure": {"sum": one.closure, "dof": one.dof, "p": one.p, "agrees": one.agrees},
        "worst": one.worst or None,
        "notes": one.notes,
    }
