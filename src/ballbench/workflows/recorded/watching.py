"""A film of a drop, read as `watch` reads it, with the values that it gives."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from ballbench.findings.watching.results import FilmedClip
from ballbench.presentation.drops_json import drops_to_json
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.recorded import RecordedResult, RecordedValue
from ballbench.presentation.screens.recorded_shown import drops_shown
from ballbench.workflows.recorded.reading import RecordedAsk, stated_value
from ballbench.workflows.watch import WatchRequest, watch

__all__ = ["watched"]

_OFFERED = 3
"""Restitutions of a drop that are offered to be kept (own choice)."""


def watched(ask: RecordedAsk, path: Path) -> RecordedResult:
    """Watch a film.

    Parameters
    ----------
    ask : RecordedAsk
        What is stated.
    path : Path
        The recording.

    Raises
    ------
    BadInput
        What is stated cannot be used.
    """
    said = dict(ask.stated)
    found = watch(
        WatchRequest(
            (path,), said.get("ball", ""), said.get("drop_height", ""), said.get("ruler", ""), ask.spec or None,
            surface=said.get("surface", ""), whose=ask.whose,
        )
    )  # fmt: skip
    (clip,) = found.clips
    values = () if clip.refused else tuple(_values(clip, carried=found.settings.drop_height is not None))
    view = json.dumps({"kind": "film"})
    return RecordedResult(drops_to_json(found), drops_shown(found), view, values, refused=clip.refused)


def _values(clip: FilmedClip, *, carried: bool) -> Iterator[RecordedValue]:
    """Give what can be kept as a reading; where a height was said, the rebound is the one from there, or none."""
    rebound = clip.at_height if carried else clip.rebound
    if rebound is not None:
        how = "from the drop height that was said" if carried else "as it was dropped"
        yield stated_value("rebound", "rebound", "mm", rebound, f"Rebound height {how}")
    for one in clip.impacts[:_OFFERED]:
        words = f"Impact {one.impact} at {with_unit(number(one.speed, 2), 'm/s')}, restitution"
        yield stated_value(f"impact {one.impact}, restitution", "bounce_restitution", "1", one.restitution, words)
