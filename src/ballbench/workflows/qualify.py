"""Qualify an instrument: a repeat study, a log of checks, readings at two forces; out comes its entry for the bench."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import polars as pl

from ballbench.errors import BadRequest, Fault
from ballbench.findings.budgets import budgets_of
from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.findings.qualification import (
    CalibrationFound,
    CheckFound,
    DriftFound,
    Qualification,
    RepeatsFound,
    SqueezeFound,
    ToleranceShare,
)
from ballbench.findings.qualifying.checking import calibration_of, checks_of, drifts_of
from ballbench.findings.qualifying.entry import (
    people_notes,
    people_sd,
    with_calibration,
    with_noise,
    with_repeats,
)
from ballbench.findings.qualifying.repeats import repeats_of
from ballbench.findings.qualifying.round_balls import LOOKED_AT, round_balls
from ballbench.findings.qualifying.squeezing import FORCE_U, FRICTION, BallMaterial, Hanging, squeeze_found
from ballbench.findings.qualifying.words import qualification_sentences
from ballbench.findings.results import BudgetFinding
from ballbench.quantities.coverage import Rectangular
from ballbench.records import Bench, Instrument, Squeeze
from ballbench.records.bench_text import as_written, instruments_toml, squeezes_toml
from ballbench.records.check_log import CheckReading
from ballbench.records.default_instruments import default_instrument
from ballbench.records.force_readings import ForceReadings, read_force_readings
from ballbench.specs import Requirement, find_requirement
from ballbench.statistics.preparation import prepare
from ballbench.workflows.qualify_inputs import (
    bench_of,
    checks_of_tool,
    first_sample,
    only_instrument,
    quantity_of,
    size_of,
    study_of,
    tool_of,
)
from ballbench.workflows.taking_in import TakenIn, take_in
from ballbench.workflows.what_to_read import limits_of_a_ball

__all__ = ["QualifyRequest", "bench_entry", "qualify"]

NO_CHECKS = "Without checks against a reference piece a shared offset uncertainty of"
"""How the assumption begins by which an offset_sd is known to be taken for granted."""

SQUEEZE_CAUTION = (
    "Hang weights low and guarded, fingers and feet away, eye protection on: a slipping weight or a cracking ball "
    "hurts."
)


POISSON = (0.30, 0.45)
"""Poisson's ratio of a plastic or rubber ball, where nothing is said (own choice: the usual range of textbooks)."""


@dataclass(frozen=True, slots=True)
class QualifyRequest:
    """What a person asks of `qualify`.

    Parameters
    ----------
    readings : Path or None
        Repeat study: a readings file with `operator` and `repeat`.
    quantity : str
        Empty: the only one of the file, else diameter.
    instrument : str
        Empty: the only one of the file for that quantity.
    bench : Path or None
        What is stated of the instrument so far.
    checks : Path or None
        Log of readings of reference pieces.
    u_common : float
        Standard uncertainty that all pieces share, base unit.
    forces : Path or None
        Readings at stated forces.
    ball : {"shell", "solid"}
        What gives way under force.
    at_force : float or None
        Force of ordinary readings, N; None: the smallest that was read.
    slide, friction : float or None
        Of weights that hang on the slide: the mass of slide and jaw, g (None: the stated masses hold it), and the pull
        that the slide just resists, N (None: a usual one, and said).
    modulus, poisson, wall : pair of float, or None
        Ranges of the balls' Young's modulus (GPa), Poisson's ratio and, for shells, wall (mm); without a modulus the
        squeeze is not held against a model.
    corrections : Path or None
        Corrections and exclusions of the readings.
    spec : str or None
        A requirement whose clauses are held against the instrument.
    one_person : bool
        One of the study's people reads everything later, and read the checks: differences between people are left out.
    seed : int
        Of everything random.
    """

    readings: Path | None = None
    quantity: str = ""
    instrument: str = ""
    bench: Path | None = None
    checks: Path | None = None
    u_common: float = 0.0
    forces: Path | None = None
    ball: Literal["shell", "solid"] = "shell"
    at_force: float | None = None
    slide: float | None = None
    friction: float | None = None
    modulus: tuple[float, float] | None = None
    poisson: tuple[float, float] = POISSON
    wall: tuple[float, float] | None = None
    corrections: Path | None = None
    spec: str | None = None
    one_person: bool = False
    seed: int = 1


def qualify(request: QualifyRequest) -> Qualification:
    """Qualify one instrument for one quantity.

    Parameters
    ----------
    request : QualifyRequest
        What is asked.

    Returns
    -------
    Qualification
        The same for the same request.

    Raises
    ------
    BadInput
        A file or an option cannot be used; nothing that could be studied was given.
    """
    _check(request)
    requirement = find_requirement(request.spec) if request.spec is not None else None
    taken = None
    if request.readings is not None:
        taken = take_in(request.readings, request.bench, request.corrections, None, requirement)
    quantity, unit = quantity_of(request.quantity, taken, requirement)
    study = None if taken is None else study_of(taken.readings, quantity, request.instrument)
    bench = bench_of(request.bench, taken, quantity, unit, requirement)
    tool = tool_of(bench, quantity, request.instrument or only_instrument(study))
    log, notes = checks_of_tool(request.checks, unit, tool)
    return _qualified(request, requirement, taken, study, bench, tool, log, notes)


def bench_entry(found: Qualification) -> str:
    """Write what a qualification found as a bench file: the instrument's entry, and the squeeze of each make.

    What is only taken for granted is left out, so that it is taken for granted, and said, by whoever reads the file.
    An offset_sd that is taken for granted and holds differences between people too is written, with a word on it.
    """
    tool = found.instrument
    squeezes = {one.product: Squeeze(one.value, one.sd) for one in found.squeeze}
    usual = default_instrument(tool.quantity, tool.unit, tool.resolution).offset_sd
    assumed = any(text.startswith(NO_CHECKS) for text in found.footing.assumptions)
    written = as_written(tool, repeatability=not tool.assumed, calibration=not assumed or tool.offset_sd != usual)
    word = f"# {usual:.2g} {tool.unit} of offset_sd is taken for granted, the rest is between people\n"
    parts = [(word if assumed and written.offset_sd is not None else "") + instruments_toml([written])]
    return "\n".join(parts + ([squeezes_toml(squeezes)] if squeezes else []))


def _qualified(
    request: QualifyRequest, requirement: Requirement | None, taken: TakenIn | None, study: pl.DataFrame | None,
    bench: Bench, tool: Instrument, log: Sequence[CheckReading], notes: tuple[str, ...],
) -> Qualification:  # fmt: skip
    known: list[str] = []
    stated = tool
    where = f"{request.readings.name if request.readings else 'readings'}, {tool.quantity}"
    repeats = None if study is None else repeats_of(study, tool.resolution, where)
    noise = tool  # of one person and one piece, as the checks are read
    if repeats is not None:
        noise = with_noise(tool, repeats)
        known.append("repeatability")
    size, reach = size_of(study)
    line = calibration_of(log, noise, size, reach, request.u_common)
    drifts = drifts_of(log, noise)
    if line is not None:
        tool = with_calibration(tool, line[1], line[2], drifts)
        known.append("calibration")
    if repeats is not None:
        tool = with_repeats(tool, repeats, one_person=request.one_person)
    squeezes, more = _squeeze(request, noise)
    checks = checks_of(log, replace(stated, sd=noise.sd, dof=noise.dof))
    people = _people(request, repeats, bench, stated, known)
    budget = _budget(taken, study, bench, tool)
    found = Qualification(
        quantity=tool.quantity, unit=tool.unit, instrument=tool, known=tuple(known), repeats=repeats, checks=checks,
        calibration=None if line is None else line[0], drift=drifts, squeeze=squeezes, budget=budget,
        tolerance=_shares(requirement, tool, budget), sentence="", sentences=(), seed=request.seed,
        readings_digest="" if taken is None else taken.readings.digest,
        footing=Footing(
            taken is not None and taken.first_written.invented,
            _assumed(taken, bench, stated, tool, known, squeezes),
            (*((SQUEEZE_CAUTION,) if squeezes else ()), *cautions_for(requirement, [tool.quantity])),
            tuple(dict.fromkeys((*_notes(taken, repeats, checks), *people, *_of_checks(line, drifts), *more, *notes))),
        ),
        round_ball=round_balls(tool, LOOKED_AT, request.seed) if repeats and tool.quantity == "diameter" else (),
    )  # fmt: skip
    sentence, *rest = qualification_sentences(found)
    return replace(found, sentence=sentence, sentences=tuple(rest))


def _check(request: QualifyRequest) -> None:
    """Refuse a request with nothing to study, and options outside their range."""
    faults = []
    if request.readings is None and request.checks is None and request.forces is None:
        todo = "give a repeat study, a log of checks (--checks) or readings at two forces (--forces)"
        faults.append(Fault("qualify", "no file", "one of three", todo))
    if request.at_force is not None and not request.at_force > 0.0:
        faults.append(Fault("option --at-force", f"{request.at_force:g}", "newtons above 0", "change it"))
    for name, number in (("--slide", request.slide), ("--friction", request.friction)):
        if number is not None and not 0.0 <= number < math.inf:
            faults.append(Fault(f"option {name}", f"{number:g}", "0 or more", "change it"))
    if not request.u_common >= 0.0:
        faults.append(Fault("option --u-common", f"{request.u_common:g}", "0 or more", "change it"))
    for name, pair in (("--modulus", request.modulus), ("--poisson", request.poisson), ("--wall", request.wall)):
        if pair is not None and not 0.0 < pair[0] < pair[1]:
            found = f"{pair[0]:g} to {pair[1]:g}"
            faults.append(Fault(f"option {name}", found, "two numbers above 0, the smaller first", "change it"))
    if request.ball not in ("shell", "solid"):
        faults.append(Fault("option --ball", request.ball, "shell or solid", "choose one of them"))
    if request.seed < 0:
        faults.append(Fault("option --seed", str(request.seed), "a number from 0 up", "change it"))
    if faults:
        raise BadRequest(faults)


def _material(request: QualifyRequest) -> BallMaterial | None:
    """Give what the balls are made of, where it was said."""
    if request.modulus is None:
        return None
    wall = None if request.wall is None else Rectangular(*request.wall)
    return BallMaterial(Rectangular(*request.modulus), Rectangular(*request.poisson), wall)


def _squeeze(request: QualifyRequest, tool: Instrument) -> tuple[tuple[SqueezeFound, ...], tuple[str, ...]]:
    if request.forces is None:
        return (), ()
    if tool.quantity != "diameter":
        raise BadRequest(Fault("option --forces", tool.quantity, "diameters only", "leave it out"))
    read: ForceReadings = read_force_readings(request.forces)
    hanging = Hanging(request.slide, FRICTION if request.friction is None else request.friction)
    found = squeeze_found(
        read.readings, tool, request.ball, request.at_force, material=_material(request), hanging=hanging
    )
    return found, (*(note for one in found for note in one.notes), *_of_forces(request, read), *read.notes)


def _of_forces(request: QualifyRequest, read: ForceReadings) -> Iterator[str]:
    """Say how well the forces are taken to be known, and what they have in common."""
    hung = [math.isfinite(row.hung) for row in read.readings]
    if not all(hung):
        known = f"each force in newtons is taken as known to {100.0 * FORCE_U:g} %"
        yield f"{known}, independent of the others and the same for all balls (own choice)"
    if any(hung):
        usual = f"{FRICTION:g} N unless said by --friction (own choice)" if request.friction is None else ""
        friction = usual or f"{request.friction:g} N as stated"
        yield (
            f"of hung weights half the slide's friction, {friction}, is taken off: between none and all of it carries; "
            "weights and balls share that, so it does not average out"
        )
    if any(hung) and request.slide is None:
        yield "the slide's own mass is not stated (--slide): the masses are taken to hold it"


def _budget(taken: TakenIn | None, study: pl.DataFrame | None, bench: Bench, tool: Instrument) -> BudgetFinding | None:
    """Give the budget of one reading with the instrument as it is now known."""
    if taken is None or study is None:
        return None
    known = replace(bench, instruments={key: tool if old.name == tool.name else old for key, old in
                                        bench.instruments.items()})  # fmt: skip
    sample = replace(first_sample(taken, tool), sse=0.0, sse_dof=0)  # its repeats are in the entry already
    found = budgets_of(prepare(sample, known), known, None, {}, unit=tool.unit, seed=None)
    return found[0]


def _shares(
    requirement: Requirement | None, tool: Instrument, budget: BudgetFinding | None
) -> tuple[ToleranceShare, ...]:
    """Hold the expanded uncertainty of one reading against the room that the requirement leaves a single ball."""
    if requirement is None or budget is None:
        return ()
    lower, upper = limits_of_a_ball(requirement, tool.quantity)
    if lower is None or upper is None or not upper > lower:
        return ()
    room = upper - lower
    return (ToleranceShare(requirement.id, requirement.title, room, budget.expanded, 2.0 * budget.expanded / room),)


def _assumed(
    taken: TakenIn | None, bench: Bench, stated: Instrument, tool: Instrument, found: Sequence[str],
    squeezes: Sequence[SqueezeFound],
) -> tuple[str, ...]:  # fmt: skip
    """Give what is still taken for granted, now that some of it was found."""
    out = []
    if stated.assumed and "repeatability" not in found:
        out.append(
            f"Without a repeat study a repeatability SD of {tool.sd:.2g} {tool.unit} with {tool.dof:g} degrees of "
            "freedom is taken. Common practice, no source."
        )
    if not _offset_stated(bench, stated) and "calibration" not in found:
        out.append(f"{NO_CHECKS} {stated.offset_sd:.2g} {tool.unit} is taken. Common practice, no source.")
    answered = (f"no repeatability for {stated.name}:", f"no offset_sd for {stated.name}:")
    gone = ("No bench file", "is assumed", *answered)
    out += [text for text in bench.assumptions if not any(part in text for part in gone)]
    if squeezes or taken is None:
        out = [text for text in out if not text.startswith("No squeeze is given")]
    return tuple(dict.fromkeys(out))


def _offset_stated(bench: Bench, tool: Instrument) -> bool:
    """Say whether a bench file states the instrument's offset_sd; its assumptions say what it does not."""
    said = [text for text in bench.assumptions if f" for {tool.name}:" in text]
    in_file = not tool.assumed or any("gives no repeatability for" in text for text in said)
    return in_file and not any("gives no offset_sd for" in text for text in said)


def _people(
    request: QualifyRequest, repeats: RepeatsFound | None, bench: Bench, stated: Instrument, known: Sequence[str]
) -> tuple[str, ...]:
    """Say what of the differences between people is in the entry."""
    if repeats is None:
        return ()
    twice = "calibration" not in known and _offset_stated(bench, stated) and people_sd(repeats) > 0.0
    return people_notes(repeats, stated.unit, one_person=request.one_person, added=twice)


def _of_checks(line: tuple[CalibrationFound, float, float] | None, drifts: Sequence[DriftFound]) -> tuple[str, ...]:
    """Give what must be known of the calibration line and of the drift."""
    return (*(() if line is None else line[0].notes), *(note for one in drifts for note in one.notes))


def _notes(taken: TakenIn | None, repeats: RepeatsFound | None, checks: Sequence[CheckFound]) -> tuple[str, ...]:
    notes: list[str] = [] if repeats is None else [*repeats.notes]
    if taken is not None and repeats is None:
        notes.append("nothing was read twice, so nothing is said of repeats")
    if not checks:
        notes.append("without checks against a reference piece nothing is known of the instrument's own error here")
    notes += [] if taken is None else [*taken.amendments, *taken.questions, *taken.readings.notes]
    return tuple(dict.fromkeys(notes))
