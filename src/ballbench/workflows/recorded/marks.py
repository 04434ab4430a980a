"""Places of the ball in a film that a person put right on the page, in the shape in which picks are sent and kept.

One list a picture: its time alone leaves the picture out; time, x, y, and u where it is said, put the ball there.
They are rounded as `watch --marks` writes them, so that a file of them gives the very same value.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ballbench.errors import Fault
from ballbench.records.clip_marks import USUAL_MARK_U, ClipMark

__all__ = ["as_written", "clip_marks", "mark_faults"]

_FARTHEST_PX = 20_000.0
_LEAST_U, _MOST_U = 0.01, 1000.0
_SHAPE = "one list a picture: [s] leaves it out, [s, x, y] or [s, x, y, u] in px puts the ball there"
_AGAIN = "load the page again"


def mark_faults(picks: Sequence[Sequence[float]]) -> Iterator[Fault]:
    """Say what is wrong with marks that a page or a program sends."""
    if not picks:
        yield Fault("picks", "no picture", "at least one", "mark one, or go back to what was found")
    if any(len(mark) not in {1, 3, 4} for mark in picks):
        yield Fault("picks", "a list of another length", _SHAPE, _AGAIN)
        return
    if not all(math.isfinite(number) for mark in picks for number in mark) or any(mark[0] < 0.0 for mark in picks):
        yield Fault("picks", "a number that is none, or a time below 0", _SHAPE, _AGAIN)
        return
    if any(abs(place) > _FARTHEST_PX for mark in picks for place in mark[1:3]):
        yield Fault("picks", "a place far outside of any picture", f"up to {_FARTHEST_PX:g} px", _AGAIN)
    if any(not _LEAST_U <= mark[3] <= _MOST_U for mark in picks if len(mark) == 4):
        yield Fault("picks", "an uncertainty that a place cannot have", f"{_LEAST_U:g} to {_MOST_U:g} px", _AGAIN)
    if len({round(mark[0], 6) for mark in picks}) < len(picks):
        yield Fault("picks", "a picture twice", "each picture once", _AGAIN)


def as_written(picks: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """Give marks in the order of time, rounded as a file of marks has them."""
    return tuple(sorted((round(mark[0], 6), *(round(part, 2) for part in mark[1:])) for mark in picks))


def clip_marks(file: str, picks: Sequence[Sequence[float]], by: str = "", time: str = "") -> tuple[ClipMark, ...]:
    """Give marks as rows of a file of marks.

    Parameters
    ----------
    file : str
        The clip: ``"sha256:..."`` of its bytes.
    picks : sequence of sequence of float
        As sent.
    by, time : str
        Who put them, and when.
    """
    return tuple(
        ClipMark(0, file, mark[0], mark[1], mark[2], mark[3] if len(mark) > 3 else USUAL_MARK_U, by, time)
        if len(mark) > 1
        else ClipMark(0, file, mark[0], math.nan, math.nan, USUAL_MARK_U, by, time)
        for mark in as_written(picks)
    )
