"""Listen to a recording: the impacts of each drop of a ball, or why there are none."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.signals.attacks import STEP, Attacks, attacks_in, band_levels
from ballbench.signals.bounce_search import FEWEST, Chain, as_timed, bouncing
from ballbench.signals.heard import DropHeard, Heard, Impact
from ballbench.signals.onset_time import onsets_of
from ballbench.signals.recorder_faults import at_the_limit, floor_dip, level_fall, silenced
from ballbench.signals.short_drops import ShortDrop, short_drops

__all__ = ["LOWEST_CODED", "LOWEST_RATE", "hear", "hear_at"]

Samples = NDArray[np.float32]

LOWEST_RATE = 8000
"""Samples a second under which impacts are not timed (own choice)."""
LOWEST_CODED = 32_000
"""The same behind a coder that loses something: it smears over a number of samples, at 16 000 a second 10 ms (own
choice)."""
_BY_HAND = 0.5e-3
"""Standard uncertainty of an onset that a person picked, s, where nothing else is said (own choice)."""
_UNTIMED = 1.5e-3
"""Standard uncertainty of an impact so near to an end of the recording that only its attack is known, s."""
_DRAWN = 2000  # pieces of the picture
_LEAST_ABOVE = 5.0  # dB: quieter impacts at the end of a drop are left out (own choice)
_HIDES = 6.0  # dB by which a sound may be quieter than the impact that it hides (own choice)
_CUT_SHARE = 0.02  # of a drop's samples at the limit from which the onsets are not trusted
_MANY_BESIDE = 3  # sounds like impacts among those of a ball from which they are said (own choice)
_ECHO_TIME = 40e-3  # s (own choice)
_FALLS, _SHARE_FALLEN = 4.0, 0.5  # dB that the impacts should fall, and the share of it that they must (own choices)
_SHARP = 15.0  # dB of rise from which a sound is called sharp (own choice)
_DUCKED = 8.0  # dB by which a first impact may be too loud before it is said (own choice)
_SILENCED = 0.5  # share of the quiet stretches with digital silence from which a recorder makes it (own choice)
_PUMPED = 6.0  # dB that the quiet may sink between impacts
_MARK = "or mark the impacts by hand"
_NO_QUIETER = "The impacts hardly get quieter, as if the recorder turned its gain up; switch automatic gain off."


def hear(samples: ArrayLike, rate: int, *, lossy: bool = False) -> Heard:
    """Find the drops of a recording and the onsets of their impacts.

    Parameters
    ----------
    samples : array_like (n,) or (channels, n)
        In [-1, 1].
    rate : int
        Samples a second.
    lossy : bool
        Whether the recording went through a coder that loses something.

    Returns
    -------
    Heard
        Drops, each of at least five impacts, in time order; or a reason why there is none.

    Raises
    ------
    BadRequest
        Samples that are no numbers, or in no such shape.
    """
    sound = _sound(samples)
    seconds = sound.shape[1] / rate
    times, levels = _drawing(sound, rate)

    def refuse(reason: str, notes: tuple[str, ...] = ()) -> Heard:
        return Heard((), reason, seconds, rate, notes, times, levels)

    unusable = _unusable(sound, rate, lossy)
    if unusable:
        return refuse(unusable)
    frames = [band_levels(channel, rate) for channel in sound]
    attacks = attacks_in(np.sum(frames, axis=0), seconds)
    chains = bouncing(attacks, seconds)
    if not chains:
        return refuse(_nothing(attacks))
    drops, faults, whole = [], [], []
    for chain in chains:
        channel = _clearest(frames, attacks, chain)
        timed = _timed(sound[channel], rate, attacks, chain, lossy)
        if timed is None:
            continue
        whole.append(timed[0])
        fault, drop = _drop(sound[channel], frames[channel], rate, attacks, *timed, lossy)
        if drop is None:
            faults.append((timed[1][0].time, fault))
        else:
            drops.append(drop)
    if not drops:
        return refuse(_sentence(faults[0][1]) if faults else _nothing(attacks))
    notes = [f"A drop at {at:.1f} s is left out: {fault}" for at, fault in faults]
    notes += [_short_words(short) for short in short_drops(attacks, whole)]
    return Heard(tuple(drops), "", seconds, rate, tuple(notes), times, levels)


def _unusable(sound: Samples, rate: int, lossy: bool) -> str:
    """Say why a recording cannot be listened to, whatever is in it; empty where it can."""
    seconds = sound.shape[1] / rate
    if rate < LOWEST_RATE:
        return (
            f"{rate} samples a second are too few to tell an onset (at least {LOWEST_RATE}); record again as WAV with "
            "44 100 or 48 000."
        )
    if lossy and rate < LOWEST_CODED:
        return (
            f"The sound is coded with a loss at {rate} samples a second, as a voice memo is, and such coders lay sound "
            f"up to 10 ms ahead of an impact; record again as WAV, or with {LOWEST_CODED} a second at least, {_MARK}."
        )
    if not np.any(sound):
        return "There is no sound in the recording; check the microphone and record again."
    if seconds < 0.3:
        return f"{seconds:.2f} s are too short for a ball that bounces; record until the ball lies still."
    return ""


def _short_words(short: ShortDrop) -> str:
    return (
        f"What may be a drop of {short.impacts} impacts at {short.time:.1f} s is not used: a drop is told from knocks "
        f"by {FEWEST} impacts at least; let the ball bounce on until it lies still, {_MARK}."
    )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def hear_at(samples: ArrayLike, rate: int, picks: Sequence[Sequence[float]], *, u: float = _BY_HAND) -> Heard:
    """Take impacts where a person put them; they are never moved.

    Parameters
    ----------
    samples : array_like (n,) or (channels, n)
        In [-1, 1].
    rate : int
        Samples a second.
    picks : sequence of sequence of float
        For each drop the onsets of its impacts, s from the first sample, in any order.
    u : float
        Standard uncertainty of a pick, s.

    Returns
    -------
    Heard
        The drops as picked.

    Raises
    ------
    BadRequest
        A pick outside the recording, twice the same pick, a drop of fewer than two, an uncertainty that is not above 0.
    """
    sound = _sound(samples)
    seconds = sound.shape[1] / rate
    _check_picks(picks, seconds, u)
    times, levels = _drawing(sound, rate)
    drops = []
    for drop in picks:
        ordered = sorted(float(t) for t in drop)
        drops.append(DropHeard(tuple(Impact(t, u, _above(sound, rate, t), "by hand") for t in ordered)))
    drops.sort(key=lambda drop: drop.impacts[0].time)
    return Heard(tuple(drops), "", seconds, rate, (), times, levels)


def _timed(
    channel: Samples, rate: int, attacks: Attacks, chain: Chain, lossy: bool
) -> tuple[Chain, list[Impact]] | None:
    """Time the impacts of a chain; None where it then is no ball."""
    coarse = attacks.times[list(chain.members)]
    rooms = np.diff(coarse, prepend=coarse[0] - 0.2)
    onsets = onsets_of(channel, rate, coarse, rooms, lossy=lossy)
    times = np.array([place if onset is None else onset.time for place, onset in zip(coarse, onsets, strict=True)])
    us = np.array([_UNTIMED if onset is None else onset.u for onset in onsets])
    timed = as_timed(attacks, chain, times, us)
    if timed is None:
        return None
    skipped = chain.members.index(timed.members[0])
    impacts = [
        Impact(float(place), _UNTIMED, math.nan) if onset is None else Impact(onset.time, onset.u, onset.above)
        for place, onset in zip(coarse, onsets, strict=True)
    ]
    return timed, impacts[skipped : skipped + len(timed.members)]


def _drop(
    channel: Samples,
    frames: NDArray[np.float32],
    rate: int,
    attacks: Attacks,
    chain: Chain,
    impacts: list[Impact],
    lossy: bool,
) -> tuple[str, DropHeard | None]:
    """Put the impacts of a ball together; a reason instead where they cannot be used."""
    seconds, notes, missing = channel.size / rate, [], set(chain.missing)
    while len(impacts) > 2 and not impacts[-1].above >= _LEAST_ABOVE:
        impacts = impacts[:-1]
    first_gap = min(min(missing, default=len(impacts)), len(impacts) - 1) + 1
    kept, beyond = impacts[:first_gap], impacts[first_gap:]
    if beyond:
        between = f"between {kept[-1].time:.2f} s and {beyond[0].time:.2f} s"
        notes.append(f"An impact {between} was not heard; what came after it is left out.")
    if len(kept) < 2:
        lost = f"the impact after the one at {kept[0].time:.2f} s was not heard, so that no flight can be timed"
        return f"{lost}; record again with less noise, {_MARK}.", None
    hidden = _hidden_before(frames, attacks, chain, kept)
    if hidden:
        notes.append(hidden)
    fault = _spoilt(channel, frames, rate, attacks, chain, kept, notes) or _silenced(channel, rate, kept, lossy, notes)
    if fault:
        return fault, None
    beside = _beside(attacks, chain)
    if beside >= _MANY_BESIDE:
        notes.append(
            f"{beside} other sharp sounds as loud as the impacts lie among them: another ball, or knocks; let one ball "
            "bounce at a time."
        )
    due = 2.0 * impacts[-1].time - impacts[-2].time
    if due > seconds:
        notes.append("The recording ends while the ball still bounces.")
    return "", DropHeard(tuple(kept), tuple(beyond), tuple(notes), quieter=_NO_QUIETER not in notes)


def _hidden_before(frames: NDArray[np.float32], attacks: Attacks, chain: Chain, impacts: list[Impact]) -> str:
    """Say so where an impact before the first would have been lost in something louder; empty where it is not so."""
    if len(impacts) < 3:
        return ""
    first, second, third = (impact.time for impact in impacts[:3])
    ratio = (third - second) / (second - first)
    before = first - (second - first) / ratio
    reach = 0.03 * (second - first) + 0.01
    begin, end = int((before - reach) / STEP), int((before + reach) / STEP)
    if begin < 0:
        return ""
    loudest = 10.0 * math.log10(float(frames[:, begin:end].sum(axis=0).max()) + 1e-12)
    expected = float(attacks.level[chain.members[0]]) - 24.0 * math.log10(ratio)
    if loudest < expected - _HIDES:
        return ""
    there = np.abs(attacks.times - before) < reach
    if loudest > expected + _DUCKED and np.any(attacks.rise[there] > _SHARP):
        return (
            f"What sounds near {before:.2f} s comes where the first impact is due and is {loudest - expected:.0f} dB "
            "too loud for it, as where a recorder turns its gain down after that; it is not used: switch automatic "
            f"gain off and record again, {_MARK}."
        )
    return f"Something loud near {before:.2f} s may hide an impact before the one that is taken for the first."


def _beside(attacks: Attacks, chain: Chain) -> int:
    """Count what lies among the impacts, as sharp as they are and as loud as most, and is none, nor an echo of one."""
    members = list(chain.members)
    others = np.setdiff1d(np.arange(members[0], members[-1]), members)
    if not others.size:
        return 0
    since = np.min(np.abs(attacks.times[others][:, None] - attacks.times[members][None, :]), axis=1)
    sharp = attacks.rise[others] > np.min(attacks.rise[members])
    loud = attacks.level[others] > np.quantile(attacks.level[members], 0.25)
    return int(np.sum((since > _ECHO_TIME) & sharp & loud))


def _spoilt(
    channel: Samples,
    frames: NDArray[np.float32],
    rate: int,
    attacks: Attacks,
    chain: Chain,
    impacts: list[Impact],
    notes: list[str],
) -> str:
    """Say why the recorder spoilt a drop; empty, and perhaps a note, where it did not."""
    begin, end = round((impacts[0].time - 0.05) * rate), round((impacts[-1].time + 0.05) * rate)
    piece = channel[max(begin, 0) : end]
    cut = at_the_limit(piece)
    if cut.size > _CUT_SHARE * piece.size:
        return (
            "the sound is cut off for most of the time (the recorder was set too loud), so that no onset can be told; "
            "move the microphone away or turn the gain down, and record again."
        )
    if cut.size:
        notes.append("Impacts are cut off at the recorder's limit; their onsets lie before that. Turn the gain down.")
    fall, expected = level_fall(attacks.level[list(chain.members)], np.diff(attacks.times[list(chain.members)]))
    dip = floor_dip(frames, STEP, [impact.time for impact in impacts])
    sinks = not math.isnan(dip) and dip > _PUMPED
    if sinks:
        return (
            f"the recorder turned its gain down after each impact (the quiet between them sinks by {dip:.0f} dB); "
            "switch automatic gain and noise suppression off, or record with another program, and drop again."
        )
    if not cut.size and not math.isnan(fall) and expected > _FALLS and fall < _SHARE_FALLEN * expected:
        notes.append(_NO_QUIETER)
    return ""


def _silenced(channel: Samples, rate: int, impacts: list[Impact], lossy: bool, notes: list[str]) -> str:
    """Say why a drop cannot be used whose quiet the recorder silenced; else empty, with a note where it did."""
    if silenced(channel, rate, [impact.time for impact in impacts]) < _SILENCED:
        return ""
    why = "the recorder silences what is quiet (noise suppression), and lets impacts begin softly"
    if lossy:
        return (
            f"{why}: behind a coder no onset is then told; switch noise suppression off, or record as WAV, and drop "
            "again."
        )
    notes.append(f"{_sentence(why)}; switch noise suppression off.")
    return ""


def _nothing(attacks: Attacks) -> str:
    """Why no drop was found."""
    sharp = int(np.sum(attacks.rise > _SHARP))
    if sharp == 0:
        return (
            "No impact was heard: nothing in the recording rises sharply enough; put the microphone within a metre of "
            f"the ground the ball falls on and record again, {_MARK}."
        )
    if sharp < FEWEST:
        return (
            f"Too short: {sharp} sharp sounds, and a drop is told from knocks by {FEWEST} impacts at least; let the "
            f"ball bounce on until it lies still, {_MARK}."
        )
    return (
        f"No bouncing ball was heard: of {sharp} sharp sounds no {FEWEST} follow each other as a ball's impacts do, at "
        f"intervals that shrink by a steady ratio; drop again without talk and knocks, let the ball bounce on until it "
        f"lies still, {_MARK}."
    )


def _clearest(frames: list[NDArray[np.float32]], attacks: Attacks, chain: Chain) -> int:
    """The channel in which the impacts stand out most."""
    if len(frames) == 1:
        return 0
    at = np.round(attacks.times[list(chain.members)] / STEP).astype(int)
    at = at[at + 2 < frames[0].shape[1]]
    over = []
    for levels in frames:
        energy = levels.sum(axis=0) + 1e-12
        over.append(float(np.mean(np.log(np.maximum(energy[at], energy[at + 1])) - np.log(np.median(energy)))))
    return int(np.argmax(over))


def _sound(samples: ArrayLike) -> Samples:
    sound = np.atleast_2d(np.asarray(samples, dtype=np.float32))
    if sound.ndim != 2 or sound.size == 0 or not np.all(np.isfinite(sound)):
        raise BadRequest(
            Fault("samples", f"an array of shape {sound.shape}", "finite numbers, (n,) or (channels, n)", "correct it")
        )
    return sound


def _check_picks(picks: Sequence[Sequence[float]], seconds: float, u: float) -> None:
    faults = []
    if not (math.isfinite(u) and u > 0.0):
        faults.append(Fault("picks, u", f"{u:g}", "a number above 0, s", "say how sure a pick is"))
    for number, drop in enumerate(picks, 1):
        where = f"picks, drop {number}"
        faults += [
            Fault(where, f"{t:g} s", f"a time in the recording, 0 to {seconds:.3f} s", "correct or remove the pick")
            for t in drop
            if not 0.0 <= t <= seconds
        ]
        if len(drop) < 2:
            faults.append(Fault(where, f"{len(drop)} impacts", "two at least", "mark the next impact as well"))
        elif len(set(drop)) < len(drop):
            faults.append(Fault(where, "the same time twice", "every impact once", "remove one of them"))
    if faults:
        raise BadRequest(faults)


def _above(sound: Samples, rate: int, time: float) -> float:
    """Level of 5 ms from an instant on over the 20 ms before, dB, in the channel where it is largest."""
    at, after, before = round(time * rate), round(5e-3 * rate), round(20e-3 * rate)
    if at - before < 0 or at + after > sound.shape[1]:
        return math.nan
    loud = np.mean(sound[:, at : at + after].astype(np.float64) ** 2, axis=1)
    quiet = np.mean(sound[:, at - before : at].astype(np.float64) ** 2, axis=1)
    if not np.any((loud > 0.0) & (quiet > 0.0)):
        return math.nan
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(np.nanmax(10.0 * np.log10(loud / np.where(quiet > 0.0, quiet, np.nan))))


def _drawing(sound: Samples, rate: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Smallest and largest sample of equal pieces, and their middles, for drawing."""
    mixed = sound[0] if sound.shape[0] == 1 else sound[np.argmax(np.ptp(sound, axis=1))]
    pieces = min(_DRAWN, mixed.size)
    edges = np.linspace(0, mixed.size, pieces + 1).astype(np.intp)
    low, high = np.minimum.reduceat(mixed, edges[:-1]), np.maximum.reduceat(mixed, edges[:-1])
    return (edges[:-1] + edges[1:]) / 2.0 / rate, np.stack([low, high], axis=1).astype(np.float64)
