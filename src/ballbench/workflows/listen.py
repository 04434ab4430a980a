"""How balls bounce, from the sound of their drops: recordings in, restitution and rebound out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ballbench.errors import BadInput, BadRecording, BadRequest
from ballbench.findings.bouncing.balls import HeardDrop, ball_bounces, products_of
from ballbench.findings.bouncing.clauses import bounce_clauses
from ballbench.findings.bouncing.draws import DRAWS, SharedDraws, named_rng, share
from ballbench.findings.bouncing.drops import drop_of, flown
from ballbench.findings.bouncing.results import (
    BounceClause,
    BounceDrop,
    BounceFindings,
    BounceRecording,
    HeardImpact,
    Picture,
)
from ballbench.findings.bouncing.words import bounce_sentences, settings_words
from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.records.media.said_invented import calls_itself_invented
from ballbench.records.picks import Picks, read_picks
from ballbench.records.readings import SAYS_INVENTED
from ballbench.specs import Requirement
from ballbench.workflows.flight_clauses import flight_clauses
from ballbench.workflows.flight_command import flight_command
from ballbench.workflows.flight_settings import settings_of
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
    from ballbench.records.media.sound_file import Sound
    from ballbench.signals.heard import DropHeard, Heard, Impact

__all__ = ["ListenRequest", "listen"]

_SAME = 1e-6
Drops = dict[tuple[str, str], list[HeardDrop]]


@dataclass(frozen=True, slots=True)
class ListenRequest:
    """What a person asks of `listen`.

    Parameters
    ----------
    files : tuple of Path
        Recordings of drops: sound, or film with sound.
    flight : FlightWords
        What is said of ball, drop and place. Without a drop height, here or in the bench file, only the restitution at
        later impacts is told.
    spec : str or None
        A requirement whose clauses on rebound and restitution are looked at.
    bench : Path or None
        Bench file with conditions.
    picks : Path or None
        Impacts that a person picked, in place of those that would be found.
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
    spec: str | None = None
    bench: Path | None = None
    picks: Path | None = None
    seed: int = 1
    names: str = ""
    accept_unverified: bool = False
    whose: tuple[tuple[str, str], ...] = ()


def listen(request: ListenRequest) -> BounceFindings:
    """Say what recordings of drops tell.

    Parameters
    ----------
    request : ListenRequest
        What is asked.

    Returns
    -------
    BounceFindings
        The same for the same request. A recording that cannot be used says so in its `refused`, and the others count.

    Raises
    ------
    BadInput
        The request, the bench file, the picks or the requirement cannot be used.
    """
    _check(request)
    requirement, bench = rule_and_bench(request.spec, request.bench)
    picks = read_picks(request.picks) if request.picks is not None else Picks("", ())
    owners = request.whose or whose(request.files, request.names)
    prepared = settings_of(request.flight, bench)
    shared = share(prepared.settings, prepared.viscosity, request.seed)
    recordings: list[BounceRecording] = []
    balls: Drops = {}
    left_out: dict[tuple[str, str], int] = {}
    for file, owner in zip(request.files, owners, strict=True):
        found, drops = _recording(file, owner, picks, shared, request.seed)
        recordings.append(found)
        balls.setdefault(owner, []).extend(drops)
        left_out[owner] = left_out.get(owner, 0) + len(found.drops) - len(drops)
    bounces, draws = ball_bounces(balls, left_out, request.seed)
    clauses = flight_clauses(
        requirement, draws, request.flight, prepared, bench, accept_unverified=request.accept_unverified
    )
    invented = SAYS_INVENTED in picks.notes or any(map(calls_itself_invented, request.files))
    used = any(not one.refused for one in recordings)
    footing = Footing(
        invented, (*settings_words(prepared.settings), *prepared.assumptions) if used else (),
        cautions_for(requirement, ["rebound"]),
        tuple(_notes(request, owners, recordings, picks, requirement, clauses)),
    )  # fmt: skip
    found_all = BounceFindings(
        tuple(recordings), bounces, clauses, prepared.settings, request.seed, DRAWS, requirement, footing, picks.digest,
        command=_command(request), products=products_of(draws),
    )  # fmt: skip
    return replace(found_all, sentences=bounce_sentences(found_all))


def _check(request: ListenRequest) -> None:
    faults = file_faults(
        "listen", request.files, request.seed, "recordings of drops", "each recording", "Curlew_07.wav"
    )
    if faults:
        raise BadRequest(faults)


def _recording(
    file: Path, owner: tuple[str, str], picks: Picks, shared: SharedDraws, seed: int
) -> tuple[BounceRecording, list[HeardDrop]]:
    """Listen to one file; a file that cannot be used is refused with its reason."""
    from ballbench.records.media.sound_file import read_sound  # noqa: PLC0415 - decoders load only when used

    product, ball = owner
    try:
        sound = read_sound(file)
    except BadRecording as refused:
        return BounceRecording(shown_name(file), "", product, ball, refused=refusal(refused)), []
    digest = sound.file.digest
    picked = picks.of(file.name, digest)
    try:
        heard = _heard(sound, picked)
        if not picked:
            heard = replace(heard, drops=tuple(_up_to_gap(drop, sound.gaps) for drop in heard.drops))
    except BadInput as refused:
        return BounceRecording(file.name, digest, product, ball, refused=refusal(refused)), []
    drops, counted = _drops(heard, shared, seed, digest, sure=bool(picked))
    notes = tuple(dict.fromkeys((*sound.notes, *heard.notes)))
    refused_why = heard.refused
    if not refused_why and not counted:
        refused_why = _none_counts(drops)
    found = BounceRecording(
        file.name, digest, product, ball, refused_why, drops, heard.seconds, heard.rate, notes,
        any(hit.picked == "by hand" for drop in drops for hit in drop.impacts), _picture(heard),
    )  # fmt: skip
    return found, counted


def _none_counts(drops: Sequence[BounceDrop]) -> str:
    """Say why none of the drops of a recording counts, and what to do."""
    why = drops[0].notes[-1] if drops and drops[0].notes else "record again"
    if any(drop.flights for drop in drops) and not any(drop.bounces for drop in drops):
        why = "one flight alone tells no restitution; give --drop-height, or let the ball bounce on"
    timed = any(len(drop.impacts) > 1 for drop in drops)
    return f"no drop in it counts; {why}" if timed else f"no flight between two impacts could be timed; {why}"


def _heard(sound: Sound, picked: tuple[tuple[float, ...], ...]) -> Heard:
    """Find the impacts of a sound, or take those that a person picked.

    A pick that stands where the program would have put it, to the microsecond that a file of picks holds, was looked at
    and left: it keeps the time and the uncertainty that it was found with. Every other pick has that of a hand.
    """
    from ballbench.signals.hearing import hear, hear_at  # noqa: PLC0415 - heavy libraries load only when used

    found = hear(sound.samples, sound.rate, lossy=sound.lossy)
    if not picked:
        return found
    by_hand = hear_at(sound.samples, sound.rate, picked)
    known = [hit for drop in found.drops for hit in (*drop.impacts, *drop.beyond)]
    drops = tuple(
        replace(drop, impacts=tuple(_left_alone(hit, known) for hit in drop.impacts)) for drop in by_hand.drops
    )
    return replace(by_hand, drops=drops)


def _up_to_gap(drop: DropHeard, gaps: Sequence[tuple[float, float]]) -> DropHeard:
    """End a drop where a piece of the recording is missing: how long that was is as sure as a time stamp only."""
    first, last = drop.impacts[0].time, drop.impacts[-1].time
    gap = next((begin for begin, _ in gaps if first < begin < last), None)
    if gap is None:
        return drop
    before = tuple(hit for hit in drop.impacts if hit.time < gap)
    words = f"A piece of the recording is missing at {gap:.2f} s; what came after it is left out."
    beyond = (*drop.impacts[len(before) :], *drop.beyond)
    return replace(drop, impacts=before, beyond=beyond, notes=(*drop.notes, words))


def _left_alone(pick: Impact, known: Sequence[Impact]) -> Impact:
    return next((replace(hit, time=pick.time) for hit in known if abs(hit.time - pick.time) <= _SAME), pick)


def _drops(
    heard: Heard, shared: SharedDraws, seed: int, digest: str, *, sure: bool
) -> tuple[tuple[BounceDrop, ...], list[HeardDrop]]:
    """Work every drop of a recording out; give also those that count."""
    drops, counted = [], []
    for number, one in enumerate(heard.drops, 1):
        impacts = [HeardImpact(hit.time, hit.u, hit.above, hit.picked) for hit in one.impacts]
        rng = named_rng(seed, digest, str(number))
        drop, drawn = drop_of(number, impacts, shared, rng, one.notes, sure=sure, quieter=one.quieter)
        drops.append(drop)
        if drawn is not None and drop.bounces:
            used = impacts[: len(drop.flights) + 1]
            counted.append(HeardDrop(drawn, flown(used, shared, None)))
    return tuple(drops), counted


def _picture(heard: Heard) -> Picture:
    if heard.level_times.size == 0:
        return Picture()
    lows, highs = heard.levels[:, 0], heard.levels[:, 1]
    return Picture(tuple(heard.level_times.tolist()), tuple(lows.tolist()), tuple(highs.tolist()))


def _notes(
    request: ListenRequest,
    owners: Sequence[tuple[str, str]],
    recordings: Sequence[BounceRecording],
    picks: Picks,
    requirement: Requirement | None,
    clauses: Sequence[BounceClause],
) -> list[str]:
    notes = []
    if not request.whose:
        used = [not one.refused for one in recordings]
        notes = names_notes("whose drops a file holds", request.files, owners, used, request.names)
    notes += copies_notes((one.file, one.digest) for one in recordings if not one.refused)
    known = {text for recording in recordings for text in (recording.file, recording.digest)}
    notes += by_hand_notes(picks, known, "picks")
    if requirement is not None and not clauses:
        heard = any(recording.drops for recording in recordings)
        notes.append(
            f"{requirement.title} has no clause on rebound or restitution that sound could answer"
            if heard or not bounce_clauses(requirement.clauses)
            else "nothing was heard that could be held against the requirement"
        )
    return notes


def _command(request: ListenRequest) -> str:
    own = (("names", request.names), ("spec", request.spec or ""))
    files = (("bench", request.bench), ("picks", request.picks))
    return flight_command("ballbench listen FILES", request.flight, own, files, request.seed)
