"""What was filmed as a readings file that `judge` and `compare` take."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.quantities.rounding import format_value
from ballbench.workflows.readings_written import Row, Turns, readings_text

__all__ = ["drop_readings"]

_REBOUND, _RESTITUTION = "film of drops, rebound", "film of drops, restitution"


def drop_readings(found: DropFindings) -> str:
    """Write what was filmed as the text of a readings file.

    Parameters
    ----------
    found : DropFindings
        As found.

    Returns
    -------
    str
        CSV, two rows a clip: the rebound, mm, carried to the drop height where one was said, and the restitution at the
        first impact, each rounded to the power of ten nearest to its standard uncertainty, so that what is taken for
        granted without a bench file is about right. A clip that was refused, or whose ball fell from another height
        than was said, is a spoiled attempt.
    """
    rows: list[Row] = []
    turns, carried = Turns(), found.settings.drop_height is not None
    for clip in found.clips:
        rows += _rows(clip, turns.next(clip.product, clip.ball), carried=carried)
    return readings_text(rows, invented=found.footing.invented)


def _rows(clip: FilmedClip, repeat: int, *, carried: bool) -> Iterator[Row]:
    note = f"{clip.file}, {clip.digest}" if clip.digest else clip.file
    if clip.by_hand:
        note += f", {clip.by_hand} places put by hand"
    rebound = clip.at_height if carried else clip.rebound
    if clip.refused or rebound is None:
        why = clip.refused or "fell from another height than was said"
        yield (clip.product, clip.ball, "rebound", "", "mm", str(repeat), _REBOUND, f"spoiled: {why}; {note}")
        return
    for quantity, unit, instrument, one in (
        ("rebound", "mm", _REBOUND, rebound),
        ("bounce_restitution", "1", _RESTITUTION, clip.impacts[0].restitution),
    ):
        value = format_value(one.value, max(-round(math.log10(one.u)), 0))
        yield (clip.product, clip.ball, quantity, value, unit, str(repeat), instrument, note)
