"""Deformation and hardness from the log of a press: a file in, what it tells out, for that rig alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.findings.pressing.clauses import clauses_of, press_clauses
from ballbench.findings.pressing.groups import pairs_of, press_products, pressed
from ballbench.findings.pressing.results import PressFindings
from ballbench.findings.pressing.words import assumed, press_sentences, unit_notes
from ballbench.records import Bench
from ballbench.records.fault_list import FaultList
from ballbench.records.press_log import PressLog, read_press_log
from ballbench.records.readings import SAYS_INVENTED
from ballbench.specs import Requirement
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.rule_and_bench import rule_and_bench
from ballbench.workflows.typed_table import typed_table

__all__ = ["PRESS_CAUTIONS", "PressRequest", "press", "press_typed"]

PRESS_CAUTIONS = (
    (
        "A press stores energy: secure and guard it, stand clear, eyes and fingers away, eye protection on, feet out "
        "from under weights. Hardness comes last: an indenter marks the ball."
    ),
    (
        "Balls can burst: do not puncture or over-inflate them; press no celluloid ball (cellulose nitrate, highly "
        "flammable) to breaking."
    ),
)
_SAID_ALREADY = "Weights and presses:"
"""So the catalogue begins its own caution of the same."""


@dataclass(frozen=True, slots=True)
class PressRequest:
    """What a person asks of `press`.

    Parameters
    ----------
    readings : Path
        CSV or XLSX, as `ballbench.records.press_log` has it.
    spec : str or None
        A requirement whose clauses on deformation and hardness are looked at.
    bench : Path or None
        Bench file with further conditions, such as the temperature.
    accept_unverified : bool
        Limits seen only in memory may decide.
    """

    readings: Path
    spec: str | None = None
    bench: Path | None = None
    accept_unverified: bool = False


def press(request: PressRequest) -> PressFindings:
    """Say what the log of a press tells.

    Parameters
    ----------
    request : PressRequest
        What is asked.

    Returns
    -------
    PressFindings
        The same for the same request.

    Raises
    ------
    BadInput
        A file or the requirement cannot be used.
    """
    requirement, bench = rule_and_bench(request.spec, request.bench)
    log, faults = read_press_log(request.readings)
    return _found(log, faults, requirement, bench, accept_unverified=request.accept_unverified)


def press_typed(csv: str, spec: str = "") -> PressFindings:
    """Say the same of a table that was typed, as the bench's page sends it.

    Parameters
    ----------
    csv : str
        The table, as a file would hold it; faults name it ``entries.csv``.
    spec : str
        An id of the catalogue, or the text of a requirement; empty: none.

    Raises
    ------
    BadInput
        As `press`.
    """
    requirement = requirement_of(spec)[0] if spec.strip() else None
    with typed_table(csv) as path:
        log, faults = read_press_log(path)
    return _found(log, faults, requirement, Bench(), accept_unverified=False)


def _found(
    log: PressLog, faults: FaultList, requirement: Requirement | None, bench: Bench, *, accept_unverified: bool
) -> PressFindings:
    several = pressed(log, faults)
    products, creep = press_products(several)
    pairs = pairs_of(products)
    asked = () if requirement is None else press_clauses(requirement.clauses)
    clauses = tuple(clauses_of(several, asked, bench, accept_unverified=accept_unverified))
    notes = [note for note in log.notes if note != SAYS_INVENTED]
    if requirement is not None and not clauses:
        notes.append(f"{requirement.title} says nothing of deformation or hardness in millimetres")
    tested = any(not clause.reason for clause in clauses)
    footing = Footing(
        SAYS_INVENTED in log.notes, assumed(unsaid=tested and any(row.u is None for row in log.rows)),
        _cautions(requirement), (*creep, *unit_notes(products), *notes),
    )  # fmt: skip
    sentences = press_sentences(products, pairs, clauses)
    return PressFindings(products, pairs, clauses, len(log.rows), log.digest, requirement, footing, sentences)


def _cautions(requirement: Requirement | None) -> tuple[str, ...]:
    """Give the press's own cautions and those of the requirement, with presses spoken of once."""
    others = [text for text in cautions_for(requirement, ()) if not text.startswith(_SAID_ALREADY)]
    return (*PRESS_CAUTIONS, *others)
