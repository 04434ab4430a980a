"""Form from an indicator over balls that are turned in a vee: a file in, what it tells out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ballbench.errors import BadRequest, Fault
from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.findings.form_clauses import form_clauses
from ballbench.findings.vee.forms import clauses_of, products_of
from ballbench.findings.vee.noise import noise_of
from ballbench.findings.vee.results import VeeFindings
from ballbench.findings.vee.words import assumed, vee_sentences
from ballbench.form.two_point import ODD_LOBES
from ballbench.records.readings import SAYS_INVENTED
from ballbench.records.vee_readings import VeeReadings, read_vee_readings
from ballbench.specs import Requirement, find_requirement
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.typed_table import typed_table

__all__ = ["VEE_CAUTIONS", "VeeRequest", "vee", "vee_typed"]

VEE_CAUTIONS = (
    ("Clamp the vee and the stand; fingers away from weights that hold the ball down; eye protection with hard balls."),
    (
        "Celluloid balls (cellulose nitrate) are highly flammable: light the bench with a cool lamp; no heat, no "
        "flame, no solvent to clean them."
    ),
)
_MOST_LOBES = 50


@dataclass(frozen=True, slots=True)
class VeeRequest:
    """What a person asks of `vee`.

    Parameters
    ----------
    readings : Path
        CSV or XLSX, as `ballbench.records.vee_readings` has it.
    lobes : int or None
        Crests over a turn that hold for all balls; None: those of the file, else those thought possible.
    spec : str or None
        A requirement whose clauses on form are looked at.
    seed : int
        Of simulated noise floors.
    """

    readings: Path
    lobes: int | None = None
    spec: str | None = None
    seed: int = 1


def vee(request: VeeRequest) -> VeeFindings:
    """Say what indications in vees tell of the form of balls.

    Parameters
    ----------
    request : VeeRequest
        What is asked.

    Returns
    -------
    VeeFindings
        The same for the same request.

    Raises
    ------
    BadInput
        The file, the lobes or the requirement cannot be used.
    """
    _check(request.lobes, request.seed)
    requirement = find_requirement(request.spec) if request.spec is not None else None
    return _found(read_vee_readings(request.readings), request.lobes or 0, requirement, request.seed)


def vee_typed(csv: str, lobes: int | None = None, spec: str = "") -> VeeFindings:
    """Say the same of a table that was typed, as the bench's page sends it.

    Parameters
    ----------
    csv : str
        The table, as a file would hold it; faults name it ``entries.csv``.
    lobes : int or None
        As in `VeeRequest`.
    spec : str
        An id of the catalogue, or the text of a requirement; empty: none.

    Raises
    ------
    BadInput
        As `vee`.
    """
    _check(lobes, 1)
    requirement = requirement_of(spec)[0] if spec.strip() else None
    with typed_table(csv) as path:
        readings = read_vee_readings(path)
    return _found(readings, lobes or 0, requirement, 1)


def _check(lobes: int | None, seed: int) -> None:
    faults = []
    if lobes is not None and not 2 <= lobes <= _MOST_LOBES:
        todo = "count the crests over a turn; one alone is eccentricity, which no vee shows"
        faults.append(Fault("option --lobes", str(lobes), f"2 to {_MOST_LOBES}", todo))
    if seed < 0:
        faults.append(Fault("option --seed", str(seed), "a number from 0 up", "change it"))
    if faults:
        raise BadRequest(faults)


def _found(readings: VeeReadings, lobes: int, requirement: Requirement | None, seed: int) -> VeeFindings:
    rows, noise = readings.rows, noise_of(readings.rows)
    products = products_of(rows, noise, lobes, np.random.default_rng(seed))
    on_form = () if requirement is None else form_clauses(requirement.clauses)
    clauses = tuple(clauses_of(products, on_form))
    notes = [note for note in readings.notes if note != SAYS_INVENTED]
    if requirement is not None and not clauses:
        notes.append(f"{requirement.title} has no limit of form that a vee could be held against")
    unsaid = any(not math.isfinite(row.u) for row in rows) and not noise.dof
    angles = any(not math.isfinite(row.angle_u) and row.angle < 180.0 for row in rows)
    footing = Footing(
        SAYS_INVENTED in readings.notes, assumed(products, steps=unsaid, angles=angles),
        (*VEE_CAUTIONS, *cautions_for(requirement, ["outline_form"])), (ODD_LOBES, *notes),
    )  # fmt: skip
    sentences = vee_sentences(products, clauses)
    return VeeFindings(products, clauses, lobes, len(rows), readings.digest, seed, requirement, footing, sentences)
