"""A photograph of a ball, read as `trace` reads it, with the values that it gives."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from ballbench.findings.tracing.results import PhotoOutline
from ballbench.presentation.outlines_json import outlines_to_json
from ballbench.presentation.screens.recorded import RecordedResult, RecordedValue
from ballbench.presentation.screens.recorded_shown import outlines_shown
from ballbench.workflows.recorded.asked import RecordedAsk, stated_value
from ballbench.workflows.trace import TraceRequest, trace

__all__ = ["traced"]

_KIND = "minimum circumscribed"
"""Published limits of the form of an outline are radial from a circumscribed circle, and so is what is kept."""


def traced(ask: RecordedAsk, path: Path) -> RecordedResult:
    """Trace a photograph.

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
    found = trace(
        TraceRequest(
            (path,), said.get("scale", ""), said.get("diameter", ""), distance=said.get("distance", ""),
            spec=ask.spec or None, whose=ask.whose,
        )
    )  # fmt: skip
    (photo,) = found.photos
    values = () if photo.refused or photo.unit != "mm" else tuple(_values(photo))
    view = json.dumps({"kind": "none" if photo.refused else "photograph"})
    return RecordedResult(outlines_to_json(found), outlines_shown(found), view, values, refused=photo.refused)


def _values(photo: PhotoOutline) -> Iterator[RecordedValue]:
    """Give what can be kept as a reading: the form, in mm; in pixels nothing can."""
    for one in photo.forms:
        if one.kind == _KIND:
            yield stated_value("form, minimum circumscribed circle", "outline_form", "mm", one,
                               "Form from the minimum circumscribed circle")  # fmt: skip
