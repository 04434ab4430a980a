"""Recordings as phones make them: right within the interval, or refused with the right reason."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
import pytest
from examples.recorded.sounds import ducked, gated
from phone_sounds import RECORDERS, phone_drop
from test_hearing import RATE, a_drop
from varied_sounds import compared

from ballbench.signals.hearing import hear, hear_at
from ballbench.signals.recorder_faults import silenced

REASONS = {
    "plain": (),
    "gain that pumps": ("turned its gain down",),
    "gain that ducks after the first": ("turned its gain down",),
    "silences what is quiet": (),
    "silences what is quiet, AAC": ("noise suppression", "No bouncing ball was heard"),
    "voice memo, 24 kbit/s": ("voice memo",),
    "voice memo, 32 kbit/s": ("voice memo",),
    "talk over the drop": ("No bouncing ball was heard", "Too short", "turned its gain down"),
    "wind": ("No bouncing ball was heard", "Too short", "turned its gain down", "not heard"),
    "wind that clips": ("No bouncing ball was heard", "Too short", "cut off", "turned its gain down", "not heard"),
    "stopped in mid-drop": ("Too short", "bounce on until it lies still"),
}
"""Words of the reasons for which a recording may be refused."""
FIRST_SAID = ("may hide an impact before", "comes where the first impact is due")


@dataclass(slots=True)
class Told:
    """What came of some recordings."""

    rows: list[tuple[float, float]] = field(default_factory=list)
    heard: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    first_missed: int = 0
    unsaid: int = 0
    no_impact: int = 0

    @property
    def right(self) -> float:
        """Share of the restitutions within 0.003 or their 95 % interval; 1 where there is none."""
        errors, us = np.array(self.rows or [(0.0, 1.0)]).T
        return float(np.mean(np.abs(errors) < np.maximum(0.003, 1.96 * us)))


def told_of(recorder: str, first: int, seeds: range) -> Told:
    told = Told()
    for seed in seeds:
        drop = phone_drop(recorder, np.random.default_rng([first, list(RECORDERS).index(recorder), seed]))
        heard = hear(drop.samples, drop.rate, lossy=drop.lossy)
        if not heard.drops:
            assert any(word in heard.refused for word in REASONS[recorder]), heard.refused
            told.refused[heard.refused[:40]] += 1
            continue
        told.heard += 1
        one = heard.drops[0]
        if abs(one.impacts[0].time - drop.onsets[0]) > 0.02:
            told.first_missed += 1
            told.unsaid += not any(words in note for note in one.notes for words in FIRST_SAID)
        rows = [(error, u) for error, u, _ in compared(one, drop.truth, drop.onsets)]
        told.rows += [row for row in rows if np.isfinite(row[1])]
        told.no_impact += any(not np.isfinite(u) for _, u in rows)
    return told


@pytest.mark.parametrize("recorder", RECORDERS)
def test_a_phones_recording_is_right_or_refused_with_the_reason(recorder: str) -> None:
    """Two drops each, planted restitution: within 0.003 or the interval, or a reason that is the recorder's."""
    told = told_of(recorder, 30, range(2))
    assert told.right > 0.85
    assert told.unsaid == 0


@pytest.mark.slow
@pytest.mark.parametrize("recorder", RECORDERS)
def test_phones_recordings_are_right_or_refused(recorder: str) -> None:
    """40 drops each on fresh seeds, [32, ...]: 93 % within 0.003 or the interval, where a coder softens on top 85 %.

    Where talk is as loud as the impacts a drop may begin with a sound of it: one in ten at most.
    """
    told = told_of(recorder, 32, range(40))
    assert told.right > (0.85 if recorder == "silences what is quiet, AAC" else 0.93), told
    assert told.unsaid <= max(0.1 * told.heard, 1), told
    assert told.no_impact <= max(0.1 * told.heard, 1), told


def test_digital_silence_is_told_from_a_quiet_room() -> None:
    """Noise of a few steps of 16 bits between impacts is none; zeros are, whether or not a coder wrote some ringing."""
    rng = np.random.default_rng(1)
    impacts = [0.5, 0.9, 1.2, 1.4]
    quiet = np.round(2e-5 * rng.standard_normal(96_000) * 32767.0).astype(np.float32) / np.float32(32767.0)
    assert silenced(quiet, 48_000, impacts) == 0.0
    gone = quiet.copy()
    for time in impacts:
        gone[round((time - 0.12) * 48_000) : round((time - 0.01) * 48_000)] = 0.0
    assert silenced(gone, 48_000, impacts) == 1.0


def test_a_first_impact_before_a_duck_is_named() -> None:
    """The gain sinks by 20 dB behind the first impact: the second is taken as the first, and a note says why."""
    samples, onsets = a_drop(13)
    drop = hear(ducked(samples, float(onsets[0]), by=20.0), RATE).drops[0]
    assert drop.impacts[0].time == pytest.approx(onsets[1], abs=1e-3)
    assert any("turns its gain down after that" in note for note in drop.notes)
    assert not any("turns its gain down" in note for note in hear(samples, RATE).drops[0].notes)


def test_a_voice_memo_is_refused_whatever_is_in_it_and_may_be_picked() -> None:
    """16 000 samples a second through a coder: a reason; the same uncoded is heard, and picks by hand are taken."""
    samples, onsets = a_drop(13, rate=16_000)
    assert "voice memo" in hear(samples, 16_000, lossy=True).refused
    assert hear(samples, 16_000).drops
    assert hear_at(samples, 16_000, [list(onsets[:4])]).drops


def test_silence_between_impacts_is_said_and_behind_a_coder_refused() -> None:
    """A gate over 2 % of full scale: uncoded a note, behind a coder the reason."""
    samples, _ = a_drop(14)
    shut = gated(samples, over=0.02)
    assert any("noise suppression" in note for note in hear(shut, RATE).drops[0].notes)
    assert "noise suppression" in hear(shut, RATE, lossy=True).refused
    assert not any("noise suppression" in note for note in hear(samples, RATE).drops[0].notes)
