"""Balance of balls from a ramp, or from floats and spins: a file in, what it tells out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadReadings, Fault
from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.findings.rolling.clauses import clauses_of, veer_clauses
from ballbench.findings.rolling.offsets import products_of, roll_pairs
from ballbench.findings.rolling.results import RollFindings
from ballbench.findings.rolling.spot_words import spot_assumed, spot_notes, spot_sentences
from ballbench.findings.rolling.spots import spot_balls
from ballbench.findings.rolling.turnings import leans_of, noise_of, turnings_of
from ballbench.findings.rolling.words import assumed, noise_sentence, roll_notes, roll_sentences
from ballbench.records import Bench
from ballbench.records.importers.named_table import read_named_table
from ballbench.records.readings import SAYS_INVENTED
from ballbench.records.roll_log import ROLL_COLUMNS, RollLog, read_roll_log
from ballbench.records.spot_log import SPOT_COLUMNS, SpotLog, read_spot_log
from ballbench.specs import Requirement
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.rule_and_bench import rule_and_bench
from ballbench.workflows.typed_table import typed_table

__all__ = ["RAMP_CAUTIONS", "SPOT_CAUTIONS", "RollRequest", "roll", "roll_typed"]

RAMP_CAUTIONS = (
    "Tape the edges of glass and of boards, and carry glass with gloves; fix the ramp so that it cannot slide or tip.",
    "Catch balls in a box lined with cloth: a ball on the floor is one to slip on. Keep fingers away from heavy balls.",
)
SPOT_CAUTIONS = (
    (
        "Salt baths: dissolve the salt in cold water, never heat the bath; eye protection and gloves, keep it from "
        "children, from electric things and from drains that corrode; wipe spills at once, they are slippery."
    ),
    (
        "Rinse and dry balls after the bath. Celluloid (cellulose nitrate) is highly flammable: no heat, no flame, no "
        "sun, no solvent to dry or clean it. Do not float leather or pressurised balls; water spoils them."
    ),
)


@dataclass(frozen=True, slots=True)
class RollRequest:
    """What a person asks of `roll`.

    Parameters
    ----------
    log : Path
        CSV or XLSX: runs of a ramp (`ballbench.records.roll_log`), or trials of balls that were floated or spun
        (`ballbench.records.spot_log`); the columns tell which.
    spec : str or None
        A requirement whose clauses on veer are looked at.
    bench : Path or None
        Bench file with further conditions, such as the temperature.
    accept_unverified : bool
        Limits seen only in memory may decide.
    """

    log: Path
    spec: str | None = None
    bench: Path | None = None
    accept_unverified: bool = False


def roll(request: RollRequest) -> RollFindings:
    """Say what the log of a ramp, or of floats and spins, tells of balance.

    Parameters
    ----------
    request : RollRequest
        What is asked.

    Returns
    -------
    RollFindings
        The same for the same request.

    Raises
    ------
    BadInput
        A file or the requirement cannot be used.
    """
    requirement, bench = rule_and_bench(request.spec, request.bench)
    return _found(request.log, requirement, bench, accept_unverified=request.accept_unverified)


def roll_typed(csv: str, spec: str = "") -> RollFindings:
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
        As `roll`.
    """
    requirement = requirement_of(spec)[0] if spec.strip() else None
    with typed_table(csv) as path:
        return _found(path, requirement, Bench(), accept_unverified=False)


def _found(path: Path, requirement: Requirement | None, bench: Bench, *, accept_unverified: bool) -> RollFindings:
    if _kind(path) == "spot":
        return _of_spots(read_spot_log(path), requirement)
    return _of_ramp(read_roll_log(path), requirement, bench, accept_unverified=accept_unverified)


def _kind(path: Path) -> str:
    """Say by the columns what a file holds: ``veer`` or ``spot``."""
    columns = tuple(dict.fromkeys((*ROLL_COLUMNS, *SPOT_COLUMNS)))
    table, _ = read_named_table(path, columns, ("product", "ball"), BadReadings)
    kinds = [name for name in ("veer", "spot") if name in table.present]
    if len(kinds) != 1:
        found = "both a column veer and a column spot" if kinds else "neither a column veer nor a column spot"
        allowed = "veer for runs of a ramp, spot for balls that were floated or spun"
        raise BadReadings(Fault(table.where, found, allowed, "put each kind into a file of its own"))
    return kinds[0]


def _of_ramp(log: RollLog, requirement: Requirement | None, bench: Bench, *, accept_unverified: bool) -> RollFindings:
    turnings = turnings_of(log.rows)
    noise = noise_of(log.rows, turnings)
    products, leans = products_of(turnings, noise, log.spoiled), leans_of(turnings, noise)
    pairs = roll_pairs(products)
    asked = () if requirement is None else veer_clauses(requirement.clauses)
    clauses = tuple(clauses_of(turnings, noise, asked, bench, accept_unverified=accept_unverified))
    notes = [noise_sentence(noise), *roll_notes(products, noise)]
    notes += [note for note in log.notes if note != SAYS_INVENTED]
    if requirement is not None and not clauses:
        notes.append(f"{requirement.title} says nothing of veer in millimetres")
    ramps = {one.ramp for one in turnings}
    taken = assumed(
        angle=any(not ramp.angle_said for ramp in ramps), lengths=True,
        one_size=len({ramp.diameter for ramp in ramps}) == 1,
    )  # fmt: skip
    footing = Footing(
        SAYS_INVENTED in log.notes, taken, (*RAMP_CAUTIONS, *cautions_for(requirement, ["veer"])),
        tuple(notes),
    )  # fmt: skip
    return RollFindings(
        products, pairs, clauses, leans, noise, (), len(log.rows), log.digest, requirement, footing, accept_unverified,
        roll_sentences(products, pairs, leans, clauses),
    )  # fmt: skip


def _of_spots(log: SpotLog, requirement: Requirement | None) -> RollFindings:
    balls = spot_balls(log.rows)
    notes = [*spot_notes(balls), *(note for note in log.notes if note != SAYS_INVENTED)]
    if log.spoiled:
        notes.append(f"{len(log.spoiled)} spoiled attempts, counted and left out")
    if requirement is not None:
        notes.append("counts of spots are held against no requirement here: its clauses on veer need a ramp")
    floated = any(ball.test == "float" for ball in balls)
    footing = Footing(
        SAYS_INVENTED in log.notes, spot_assumed(balls),
        (*(SPOT_CAUTIONS if floated else ()), *cautions_for(requirement, [])), tuple(notes),
    )  # fmt: skip
    return RollFindings(
        (), (), (), (), None, balls, len(log.rows), log.digest, requirement, footing, sentences=spot_sentences(balls)
    )
