"""A sound of drops, read as `listen` reads it, with its picture to mend and the values of each drop."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from ballbench.errors import BadRecording
from ballbench.findings.bouncing.results import BounceDrop, BounceFindings
from ballbench.presentation.bounces_json import bounces_to_json
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.recorded import RecordedResult, RecordedValue
from ballbench.presentation.screens.recorded_shown import bounces_shown
from ballbench.records.media.sound_file import read_sound
from ballbench.records.picks import Pick, picks_csv
from ballbench.workflows.listen import ListenRequest, listen
from ballbench.workflows.recorded.asked import RecordedAsk, stated_value
from ballbench.workflows.recorded.sound import sound_view
from ballbench.workflows.recorded.stated_fields import flight_said

__all__ = ["listened"]

_OFFERED = 3
"""Restitutions of a drop that are offered to be kept (own choice): later impacts are slower than any rule asks for."""


def listened(ask: RecordedAsk, path: Path) -> RecordedResult:
    """Listen to a recording.

    Parameters
    ----------
    ask : RecordedAsk
        What is stated, and what a person picked.
    path : Path
        The recording.

    Raises
    ------
    BadInput
        What is stated cannot be used.
    """
    found = _found(ask, path)
    (heard,) = found.recordings
    view = {"kind": "none"}
    if heard.digest:
        try:
            sound = read_sound(path)
            view = sound_view(heard, np.asarray(sound.samples), sound.rate, ask.picks)
        except BadRecording:  # said already, in what `listen` found
            view = {"kind": "none"}
    picks = tuple(tuple(round(one.time, 6) for one in drop.impacts) for drop in heard.drops)
    return RecordedResult(
        bounces_to_json(found), bounces_shown(found), json.dumps(view, allow_nan=False), tuple(_values(heard.drops)),
        picks, heard.refused, ask.picks is not None,
    )  # fmt: skip


def _found(ask: RecordedAsk, path: Path) -> BounceFindings:
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        picks = None if ask.picks is None else Path(folder) / "picks.csv"
        if picks is not None and ask.picks is not None:
            rows = [
                Pick(0, path.name, drop, impact, time)
                for drop, times in enumerate(ask.picks, 1)
                for impact, time in enumerate(times, 1)
            ]
            picks.write_text(picks_csv(tuple(rows)), encoding="utf-8", newline="")
        said = flight_said(dict(ask.stated))
        return listen(ListenRequest((path,), said, ask.spec or None, picks=picks, whose=ask.whose))


def _values(drops: tuple[BounceDrop, ...]) -> Iterator[RecordedValue]:
    """Give what can be kept as a reading; a drop that is left out gives nothing."""
    for drop in drops:
        if not drop.counted:
            continue
        if drop.rebound is not None:
            yield stated_value(
                f"drop {drop.number}, rebound", "rebound", "mm", drop.rebound, f"Drop {drop.number}, rebound height"
            )
        for one in drop.bounces[:_OFFERED]:
            name = f"drop {drop.number}, impact {one.impact}, restitution"
            words = f"Drop {drop.number}, impact {one.impact} at {with_unit(number(one.speed, 2), 'm/s')}, restitution"
            yield stated_value(name, "bounce_restitution", "1", one.restitution, words)
