"""How balls rebound, from films of their drops: clips in, rebound and restitution out, gravity as the ruler."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ballbench.errors import BadRecording, BadRequest, Fault
from ballbench.findings.bouncing.balls import BallDraws, HeardDrop, ball_bounces
from ballbench.findings.bouncing.clauses import bounce_clauses, clauses_of
from ballbench.findings.bouncing.results import BounceClause
from ballbench.findings.bouncing.words import settings_words
from ballbench.findings.cautions import cautions_for
from ballbench.findings.watching.reading import read_drop
from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.findings.watching.words import METHOD_WORDS, drop_sentences
from ballbench.records import Bench, read_bench
from ballbench.records.clip_marks import ClipMarks, read_marks
from ballbench.records.media.said_invented import calls_itself_invented
from ballbench.records.readings import SAYS_INVENTED
from ballbench.specs import Requirement, find_requirement
from ballbench.workflows.listen_names import names_note, whose
from ballbench.workflows.listen_settings import FlightWords, Prepared, settings_of

__all__ = ["WATCH_CAUTIONS", "WatchRequest", "watch"]

WATCH_CAUTIONS = (
    "Light the ball with a cool lamp: celluloid balls (cellulose nitrate) are highly flammable; no hot lamp near them.",
)
_NOT_ASKED = "The drop height is known to"
"""How an assumption begins that is none here: what the ball fell from is measured."""
_MOST_FILES = 500
_RULER = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(mm|cm|um|µm)\s*/\s*(\d+(?:\.\d+)?)?\s*(?:px|pixels?)\s*$")
_LENGTHS = {"mm": 1.0, "cm": 10.0, "um": 1e-3, "µm": 1e-3}


@dataclass(frozen=True, slots=True)
class WatchRequest:
    """What a person asks of `watch`.

    Parameters
    ----------
    files : tuple of Path
        Clips, a drop of one ball in each.
    ball : str
        Diameter and mass, ``"40 mm, 2.7 g"``.
    drop_height : str
        From the ball's underside to the plate, ``"305 mm"``; empty: that of the bench file, or not known. It is not
        needed for the rebound; with it the rebound is carried to it, and a requirement can be looked at.
    ruler : str
        Size of a pixel of the clip in the plane of the fall, ``"0.85 mm/px"`` or ``"300 mm/412 px"``; a check.
    spec : str or None
        A requirement whose clauses on rebound and restitution are looked at.
    bench : Path or None
        Bench file with conditions.
    marks : Path or None
        Places of the ball that a person put, in place of those that were found.
    seed : int
        Of the simulation of uncertainty.
    contact_time, drag, temperature, pressure, humidity : str
        Where they are known; with limits behind ± where wanted.
    latitude, altitude : float or None
        Of the place, degrees and m.
    true_mass : bool
        The mass is without the air's buoyancy, not what a balance shows.
    surface : str
        What the balls fell on; else what the bench file says.
    names : str
        How the files' names say product and ball.
    accept_unverified : bool
        Limits seen only in memory may decide.
    whose : tuple of (str, str)
        Product and ball of each file, where it is known otherwise than from names.
    """

    files: tuple[Path, ...]
    ball: str
    drop_height: str = ""
    ruler: str = ""
    spec: str | None = None
    bench: Path | None = None
    marks: Path | None = None
    seed: int = 1
    contact_time: str = ""
    drag: str = ""
    temperature: str = ""
    pressure: str = ""
    humidity: str = ""
    latitude: float | None = None
    altitude: float | None = None
    true_mass: bool = False
    surface: str = ""
    names: str = ""
    accept_unverified: bool = False
    whose: tuple[tuple[str, str], ...] = ()


def watch(request: WatchRequest) -> DropFindings:
    """Say what films of drops tell.

    Parameters
    ----------
    request : WatchRequest
        What is asked.

    Returns
    -------
    DropFindings
        The same for the same request. A clip that cannot be used says so in its `refused`, and the others count.

    Raises
    ------
    BadInput
        The request, the bench file, the marks or the requirement cannot be used.
    """
    ruler = _check(request)
    requirement = find_requirement(request.spec) if request.spec is not None else None
    declared = {clause.quantity: clause.base_unit for clause in requirement.clauses} if requirement else {}
    bench = read_bench(request.bench, declared) if request.bench is not None else Bench()
    marks = read_marks(request.marks) if request.marks is not None else ClipMarks("", ())
    owners = request.whose or whose(request.files, request.names)
    prepared = settings_of(_flight_words(request), bench)
    clips: list[FilmedClip] = []
    balls: dict[tuple[str, str], list[HeardDrop]] = {}
    left_out: dict[tuple[str, str], int] = {}
    for file, owner in zip(request.files, owners, strict=True):
        clip, drop = _clip(file, owner, marks, prepared, ruler, request.seed)
        clips.append(clip)
        balls.setdefault(owner, []).extend([drop] if drop is not None else [])
        left_out[owner] = left_out.get(owner, 0) + (drop is None)
    bounces, draws = ball_bounces(balls, left_out, request.seed)
    clauses = () if requirement is None else _clauses(request, requirement, bench, draws, prepared)
    said = [text for text in prepared.assumptions if not text.startswith(_NOT_ASKED)]
    found = DropFindings(
        tuple(clips), bounces, clauses, prepared.settings, ruler, request.seed,
        requirement.id if requirement else "", requirement.title if requirement else "",
        requirement.digest if requirement else "", marks.digest,
        assumptions=(*METHOD_WORDS, *settings_words(prepared.settings), *said),
        cautions=(*cautions_for(requirement, ["rebound"])[:-2], *WATCH_CAUTIONS, *cautions_for(None, [])),
        notes=tuple(_notes(request, owners, clips, marks, requirement, clauses)), command=_command(request),
        invented=SAYS_INVENTED in marks.notes or any(map(calls_itself_invented, request.files)),
    )  # fmt: skip
    return replace(found, sentences=drop_sentences(found))


def _check(request: WatchRequest) -> float:
    """Refuse what cannot be asked; give the ruler's scale, mm a pixel, NaN where there is none."""
    faults = []
    if not request.files:
        faults.append(Fault("watch", "no file", "clips of drops", "name one, such as Curlew_07.mp4"))
    if len(request.files) > _MOST_FILES:
        faults.append(Fault("watch", f"{len(request.files)} files", f"{_MOST_FILES} at most", "name fewer at a time"))
    if request.seed < 0:
        faults.append(Fault("option --seed", str(request.seed), "a number from 0 up", "change it"))
    names = [str(file) for file in request.files]
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    faults += [Fault(name, "the same file twice", "each clip once", "name it once") for name in twice]
    ruler = math.nan
    if request.ruler.strip():
        match = _RULER.match(request.ruler)
        if match is not None:
            ruler = float(match[1]) * _LENGTHS[match[2]] / float(match[3] or 1.0) if float(match[3] or 1.0) else 0.0
        if match is None or not 1e-4 < ruler < 1e3:
            allowed = "the size of a pixel, such as 0.85 mm/px, or 300 mm/412 px"
            faults.append(Fault("option --ruler", repr(request.ruler[:60]), allowed, "write it so"))
    if faults:
        raise BadRequest(faults)
    return ruler


def _flight_words(request: WatchRequest) -> FlightWords:
    return FlightWords(
        request.ball, request.drop_height, request.contact_time, request.drag, request.temperature, request.pressure,
        request.humidity, request.latitude, request.altitude, request.true_mass,
    )  # fmt: skip


def _clip(
    file: Path, owner: tuple[str, str], marks: ClipMarks, prepared: Prepared, ruler: float, seed: int
) -> tuple[FilmedClip, HeardDrop | None]:
    """Watch one clip; one that cannot be used is refused with its reason."""
    from ballbench.records.media.clip_file import read_clip  # noqa: PLC0415 - decoders load only when used
    from ballbench.signals.track import Mark, track_ball  # noqa: PLC0415 - as above

    product, ball = owner
    begun = FilmedClip(file.name, "", product, ball)
    try:
        clip = read_clip(file)
        begun = replace(begun, digest=clip.file.digest, seconds=clip.seconds, notes=clip.notes)
        own = tuple(
            Mark(one.seconds, one.x / clip.shrunk, one.y / clip.shrunk, one.u / clip.shrunk)
            for one in marks.of(file.name, clip.file.digest)
        )
        track = track_ball(clip, own)
    except BadRecording as refused:
        return replace(begun, refused=_refusal(refused)), None
    read = read_drop(begun, track, prepared.settings, prepared.viscosity, clip.shrunk, ruler, seed)
    return read.clip, read.drop


def _refusal(refused: BadRecording) -> str:
    return "; ".join(f"{fault.found} (allowed: {fault.allowed}); {fault.todo}" for fault in refused.faults)


def _clauses(
    request: WatchRequest, requirement: Requirement, bench: Bench, draws: Sequence[BallDraws], prepared: Prepared
) -> tuple[BounceClause, ...]:
    height = prepared.settings.drop_height
    facts = {} if height is None else {"drop_height": f"{height.value!r} mm"}
    facts |= {name: text.strip() for name, text in (("surface", request.surface),) if text.strip()}
    facts |= {"temperature": request.temperature} if request.temperature.strip() else {}
    if height is None:  # what it fell from was measured, and is nobody's word for the height of the requirement
        draws = [replace(one, rebound=None) for one in draws]
    return tuple(
        clauses_of(
            draws, bounce_clauses(requirement.clauses), bench, facts, prepared.settings.diameter.value,
            accept_unverified=request.accept_unverified,
        )
    )  # fmt: skip


def _notes(
    request: WatchRequest,
    owners: Sequence[tuple[str, str]],
    clips: Sequence[FilmedClip],
    marks: ClipMarks,
    requirement: Requirement | None,
    clauses: Sequence[BounceClause],
) -> list[str]:
    notes = [] if request.whose else [names_note(request.files, owners, request.names)]
    notes += [note for note in marks.notes if note != SAYS_INVENTED]
    known = {text for clip in clips for text in (clip.file, clip.digest)}
    unused = [name for name in marks.files() if name not in known]
    if unused:
        notes.append(f"{marks.where} has marks of {', '.join(unused[:5])}, which was not given")
    if requirement is not None and not clauses:
        notes.append(
            "no clip could be held against the requirement"
            if bounce_clauses(requirement.clauses)
            else f"{requirement.title} has no clause on rebound or restitution that a film could answer"
        )
    if any(not clip.refused for clip in clips):
        notes.append("the sound of the same clip times impacts better: `ballbench listen` takes it as it is")
    return notes


def _command(request: WatchRequest) -> str:
    """Give the options that rebuild the result."""
    parts = ["ballbench watch CLIPS", f'--ball "{request.ball}"']
    for option, text in (
        ("drop-height", request.drop_height), ("ruler", request.ruler), ("contact-time", request.contact_time),
        ("drag", request.drag), ("temperature", request.temperature), ("pressure", request.pressure),
        ("humidity", request.humidity), ("surface", request.surface), ("names", request.names),
        ("spec", request.spec or ""),
    ):  # fmt: skip
        parts += [f'--{option} "{text}"'] if text.strip() else []
    parts += [f"--latitude {request.latitude:g}"] if request.latitude is not None else []
    parts += [f"--altitude {request.altitude:g}"] if request.altitude is not None else []
    parts += ["--true-mass"] if request.true_mass else []
    parts += ["--bench BENCH"] if request.bench is not None else []
    parts += ["--marks MARKS"] if request.marks is not None else []
    return " ".join([*parts, f"--seed {request.seed}"])
