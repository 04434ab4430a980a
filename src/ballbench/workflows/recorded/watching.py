"""A film of a drop, read as `watch` reads it, with its picture to mend and the values that it gives."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

from ballbench.findings.watching.results import FilmedClip
from ballbench.presentation.drops_json import drops_to_json
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.recorded import RecordedResult, RecordedValue
from ballbench.presentation.screens.recorded_shown import drops_shown
from ballbench.records.clip_marks import marks_csv
from ballbench.records.media.clip_file import read_clip
from ballbench.records.media.held_clip import HeldClip
from ballbench.signals.track import Looks
from ballbench.workflows.recorded.asked import RecordedAsk, stated_value
from ballbench.workflows.recorded.film import film_view, known_film
from ballbench.workflows.recorded.marks import as_written, clip_marks
from ballbench.workflows.recorded.stated_fields import flight_said
from ballbench.workflows.watch import WatchRequest, watch

__all__ = ["watched"]

_OFFERED = 3
"""Restitutions of a drop that are offered to be kept (own choice)."""


def watched(ask: RecordedAsk, path: Path) -> RecordedResult:
    """Watch a film.

    Parameters
    ----------
    ask : RecordedAsk
        What is stated, and the marks that a person put.
    path : Path
        The recording.

    Raises
    ------
    BadInput
        What is stated cannot be used.
    """
    digest = _digest_of(path)
    marks = () if ask.picks is None else clip_marks(digest, ask.picks)
    known, held = known_film(digest), []

    def opened(file: Path) -> tuple[HeldClip, Looks]:
        held.append(HeldClip(read_clip(file)))
        return held[0], known.looks

    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        file = Path(folder) / "marks.csv" if marks else None
        if file is not None:  # what was marked goes the way of the command, so that it gives the same value
            file.write_text(marks_csv(marks), encoding="utf-8", newline="")
        said = dict(ask.stated)
        request = WatchRequest(
            (path,), flight_said(said), said.get("ruler", ""), ask.spec or None, marks=file, whose=ask.whose
        )
        found = watch(request, opened)
    (clip,) = found.clips
    values = () if clip.refused else tuple(_values(clip, carried=found.settings.drop_height is not None))
    view = film_view(clip, held[0], known, marks, found.settings.diameter.value) if held else {"kind": "none"}
    return RecordedResult(
        drops_to_json(found), drops_shown(found), json.dumps(view, allow_nan=False), values,
        as_written(ask.picks or ()), clip.refused, bool(marks),
    )  # fmt: skip


def _digest_of(path: Path) -> str:
    """Name a file by its bytes, as a file of marks may."""
    with path.open("rb") as file:
        return f"sha256:{hashlib.file_digest(file, 'sha256').hexdigest()}"


def _values(clip: FilmedClip, *, carried: bool) -> Iterator[RecordedValue]:
    """Give what can be kept as a reading; where a height was said, the rebound is the one from there, or none."""
    rebound = clip.at_height if carried else clip.rebound
    if rebound is not None:
        how = "from the drop height that was said" if carried else "as it was dropped"
        yield stated_value("rebound", "rebound", "mm", rebound, f"Rebound height {how}")
    for one in clip.impacts[:_OFFERED]:
        words = f"Impact {one.impact} at {with_unit(number(one.speed, 2), 'm/s')}, restitution"
        yield stated_value(f"impact {one.impact}, restitution", "bounce_restitution", "1", one.restitution, words)
