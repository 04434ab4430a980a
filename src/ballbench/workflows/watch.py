"""How balls rebound, from films of their drops: clips in, rebound and restitution out, gravity as the ruler."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ballbench.errors import BadRecording, BadRequest, Fault
from ballbench.findings.bouncing.balls import HeardDrop, ball_bounces
from ballbench.findings.bouncing.clauses import bounce_clauses
from ballbench.findings.bouncing.results import BounceClause
from ballbench.findings.bouncing.words import settings_words
from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.findings.watching.reading import read_drop
from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.findings.watching.words import METHOD_WORDS, drop_sentences
from ballbench.records.clip_marks import ClipMarks, read_marks
from ballbench.records.media.said_invented import calls_itself_invented
from ballbench.records.readings import SAYS_INVENTED
from ballbench.specs import Requirement
from ballbench.workflows.flight_clauses import flight_clauses
from ballbench.workflows.flight_command import flight_command
from ballbench.workflows.flight_settings import Prepared, settings_of
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.recording_files import (
    by_hand_notes,
    copies_notes,
    file_faults,
    names_notes,
    refusal,
    shown_name,
    whose,
)
from ballbench.workflows.rule_and_bench import rule_and_bench

if TYPE_CHECKING:
    from ballbench.records.media.held_clip import HeldClip
    from ballbench.signals.track import Looks

__all__ = ["WATCH_CAUTIONS", "Opened", "WatchRequest", "watch"]

Opened = Callable[[Path], tuple["HeldClip", "Looks"]]

WATCH_CAUTIONS = (
    "Light the ball with a cool lamp: celluloid balls (cellulose nitrate) are highly flammable; no hot lamp near them.",
)
_NOT_ASKED = "The drop height is known to"
"""How an assumption begins that is none here: what the ball fell from is measured."""
_RULER = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(mm|cm|um|µm)\s*/\s*(\d+(?:\.\d+)?)?\s*(?:px|pixels?)\s*$")
_LENGTHS = {"mm": 1.0, "cm": 10.0, "um": 1e-3, "µm": 1e-3}


@dataclass(frozen=True, slots=True)
class WatchRequest:
    """What a person asks of `watch`.

    Parameters
    ----------
    files : tuple of Path
        Clips, a drop of one ball in each.
    flight : FlightWords
        What is said of ball, drop and place. The drop height is not needed for the rebound; with it, here or in the
        bench file, the rebound is carried to it, and a requirement can be looked at.
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
    names : str
        How the files' names say product and ball.
    accept_unverified : bool
        Limits seen only in memory may decide.
    whose : tuple of (str, str)
        Product and ball of each file, where it is known otherwise than from names.
    """

    files: tuple[Path, ...]
    flight: FlightWords
    ruler: str = ""
    spec: str | None = None
    bench: Path | None = None
    marks: Path | None = None
    seed: int = 1
    names: str = ""
    accept_unverified: bool = False
    whose: tuple[tuple[str, str], ...] = ()


def watch(request: WatchRequest, opened: Opened | None = None) -> DropFindings:
    """Say what films of drops tell.

    Parameters
    ----------
    request : WatchRequest
        What is asked.
    opened : callable, optional
        Opens a clip, with what was seen in it before, for whoever looks at one again and again.

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
    requirement, bench = rule_and_bench(request.spec, request.bench)
    marks = read_marks(request.marks) if request.marks is not None else ClipMarks("", ())
    owners = request.whose or whose(request.files, request.names)
    prepared = settings_of(request.flight, bench)
    clips: list[FilmedClip] = []
    balls: dict[tuple[str, str], list[HeardDrop]] = {}
    left_out: dict[tuple[str, str], int] = {}
    for file, owner in zip(request.files, owners, strict=True):
        clip, drop = _clip(file, owner, marks, prepared, ruler, request.seed, opened or _opened)
        clips.append(clip)
        balls.setdefault(owner, []).extend([drop] if drop is not None else [])
        left_out[owner] = left_out.get(owner, 0) + (drop is None)
    bounces, draws = ball_bounces(balls, left_out, request.seed)
    if prepared.settings.drop_height is None:  # measured, and nobody's word for the height of the requirement
        draws = tuple(replace(one, rebound=None) for one in draws)
    clauses = flight_clauses(
        requirement, draws, request.flight, prepared, bench, accept_unverified=request.accept_unverified
    )
    said = [text for text in prepared.assumptions if not text.startswith(_NOT_ASKED)]
    used = any(not one.refused for one in clips)
    footing = Footing(
        SAYS_INVENTED in marks.notes or any(map(calls_itself_invented, request.files)),
        (*METHOD_WORDS, *settings_words(prepared.settings), *said) if used else (),
        (*cautions_for(requirement, ["rebound"])[:-2], *WATCH_CAUTIONS, *cautions_for(None, [])),
        tuple(_notes(request, owners, clips, marks, requirement, clauses)),
    )  # fmt: skip
    found = DropFindings(
        tuple(clips), bounces, clauses, prepared.settings, ruler, request.seed, requirement, footing, marks.digest,
        command=_command(request),
    )  # fmt: skip
    return replace(found, sentences=drop_sentences(found))


def _check(request: WatchRequest) -> float:
    """Refuse what cannot be asked; give the ruler's scale, mm a pixel, NaN where there is none."""
    faults = file_faults("watch", request.files, request.seed, "clips of drops", "each clip", "Curlew_07.mp4")
    ruler = math.nan
    if request.ruler.strip():
        match = _RULER.match(request.ruler)
        if match is not None:
            ruler = float(match[1]) * _LENGTHS[match[2]] / float(match[3] or 1.0) if float(match[3] or 1.0) else 0.0
        if match is None or not 1e-4 < ruler < 1e3:
            allowed = "the size of a pixel, such as 0.85 mm/px, or 300 mm/412 px"
            todo = "write a decimal point, no decimal comma" if "," in request.ruler else "write it so"
            faults.append(Fault("option --ruler", repr(request.ruler[:60]), allowed, todo))
    if faults:
        raise BadRequest(faults)
    return ruler


def _opened(file: Path) -> tuple[HeldClip, Looks]:
    """Open a clip that was never looked at."""
    from ballbench.records.media.clip_file import read_clip  # noqa: PLC0415 - decoders load only when used
    from ballbench.records.media.held_clip import HeldClip  # noqa: PLC0415 - as above
    from ballbench.signals.track import Looks  # noqa: PLC0415 - as above

    return HeldClip(read_clip(file)), Looks()


def _clip(
    file: Path, owner: tuple[str, str], marks: ClipMarks, prepared: Prepared, ruler: float, seed: int, opened: Opened
) -> tuple[FilmedClip, HeardDrop | None]:
    """Watch one clip; one that cannot be used is refused with its reason."""
    from ballbench.signals.track import Mark, track_ball  # noqa: PLC0415 - as above

    product, ball = owner
    begun = FilmedClip(shown_name(file), "", product, ball)
    try:
        held, looks = opened(file)
        clip = held.clip
        begun = replace(begun, digest=clip.file.digest, seconds=clip.seconds, notes=clip.notes)
        own = tuple(
            Mark(one.seconds, one.x / clip.shrunk, one.y / clip.shrunk, one.u / clip.shrunk)
            for one in marks.of(file.name, clip.file.digest)
        )
        track = track_ball(held, own, looks)
    except BadRecording as refused:
        return replace(begun, refused=refusal(refused)), None
    read = read_drop(begun, track, prepared.settings, prepared.viscosity, clip.shrunk, ruler, seed)
    return read.clip, read.drop


def _notes(
    request: WatchRequest,
    owners: Sequence[tuple[str, str]],
    clips: Sequence[FilmedClip],
    marks: ClipMarks,
    requirement: Requirement | None,
    clauses: Sequence[BounceClause],
) -> list[str]:
    notes = []
    if not request.whose:
        used = [not one.refused for one in clips]
        notes = names_notes("whose drops a file holds", request.files, owners, used, request.names)
    notes += copies_notes((one.file, one.digest) for one in clips if not one.refused)
    known = {text for clip in clips for text in (clip.file, clip.digest)}
    notes += by_hand_notes(marks, known, "marks")
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
    own = (("ruler", request.ruler), ("names", request.names), ("spec", request.spec or ""))
    files = (("bench", request.bench), ("marks", request.marks))
    return flight_command("ballbench watch CLIPS", request.flight, own, files, request.seed)
