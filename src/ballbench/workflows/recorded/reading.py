"""One recording, read as its command reads it, with what a page needs beside: to mend picks, to keep values.

`read_recorded` runs in a process of its own: everything that goes in and comes out is plain.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ballbench.errors import BadRecording, BadRequest, Fault
from ballbench.presentation.screens.recorded import RecordedResult
from ballbench.workflows.recorded.asked import RecordedAsk
from ballbench.workflows.recorded.marks import mark_faults
from ballbench.workflows.recorded.stated_fields import stated_faults

__all__ = ["MOST_PICKS", "picks_of_text", "read_recorded"]

MOST_PICKS = 500
"""Impacts, or pictures, of one recording that a page may send (own choice): an hour of drops has fewer that are worth
it."""
_MEMORY = 3 * 1024**3
"""Memory of its own that reading one recording may take (own choice): a long film needs a tenth of it."""


def read_recorded(ask: RecordedAsk, path: str) -> RecordedResult:
    """Read a recording.

    Parameters
    ----------
    ask : RecordedAsk
        How.
    path : str
        Where it lies.

    Returns
    -------
    RecordedResult
        With `refused` where the recording itself tells nothing.

    Raises
    ------
    BadInput
        What is asked cannot be used, or the recording needs more memory than it may.
    """
    _check(ask)
    try:
        with _kept_within(_MEMORY):
            return _reader(ask.method)(ask, Path(path))
    except MemoryError as error:
        found, allowed = "a recording that takes too much memory", f"one that is read within {_MEMORY // 1024**3} GiB"
        raise BadRecording(Fault(Path(path).name, found, allowed, "cut out the part with the ball")) from error


def picks_of_text(text: str) -> tuple[tuple[float, ...], ...] | None:
    """Read picks as a page sends them with a file: JSON, a list of lists of numbers; empty: None.

    Raises
    ------
    BadRequest
        It is something else.
    """
    if not text.strip():
        return None
    try:
        found = json.loads(text)
        return tuple(tuple(float(time) for time in drop) for drop in found)
    except (ValueError, TypeError, RecursionError) as error:
        allowed = "a list of lists of numbers, such as [[0.81, 1.02]]"
        raise BadRequest(Fault("picks", ascii(text[:40]), allowed, "load the page again")) from error


def _check(ask: RecordedAsk) -> None:
    """Refuse what no page sends."""
    faults = list(stated_faults(ask.method, dict(ask.stated)))
    if ask.picks is not None:
        faults += _PICKED[ask.method](ask.picks)
    if faults:
        raise BadRequest(faults)


def _pick_faults(picks: Sequence[Sequence[float]]) -> Iterator[Fault]:
    """Say what is wrong with impacts that a page or a program sends."""
    times = [time for drop in picks for time in drop]
    if not times:
        yield Fault("picks", "no impact", "at least one in each drop", "add one, or go back to what was found")
    if len(times) > MOST_PICKS:
        yield Fault("picks", f"{len(times)} impacts", f"{MOST_PICKS} at most", "cut out the part with the ball")
    if any(not drop for drop in picks):
        yield Fault("picks", "a drop without an impact", "at least one in each drop", "leave that drop out")
    if not all(math.isfinite(time) and time >= 0.0 for time in times):
        yield Fault("picks", "a moment that is none", "moments in s from 0", "load the page again")


def _film_faults(picks: Sequence[Sequence[float]]) -> Iterator[Fault]:
    if len(picks) > MOST_PICKS:
        yield Fault("picks", f"{len(picks)} pictures", f"{MOST_PICKS} at most", "film the drop again")
    yield from mark_faults(picks)


def _no_picks(_: Sequence[Sequence[float]]) -> Iterator[Fault]:
    yield Fault("picks", "picks for trace", "picks of a sound or a film", "leave them out")


_PICKED = {"listen": _pick_faults, "watch": _film_faults, "trace": _no_picks}


def _reader(method: str) -> Callable[[RecordedAsk, Path], RecordedResult]:
    """Give what reads a recording; each is loaded when it is first needed."""
    if method == "listen":
        from ballbench.workflows.recorded.listening import listened  # noqa: PLC0415 - loads decoders and solvers

        return listened
    if method == "watch":
        from ballbench.workflows.recorded.watching import watched  # noqa: PLC0415 - the same

        return watched
    from ballbench.workflows.recorded.tracing import traced  # noqa: PLC0415 - the same

    return traced


@contextmanager
def _kept_within(bytes_: int) -> Iterator[None]:
    """Bound what this process takes of memory meanwhile, where the system can: a decoder that runs wild then fails."""
    if sys.platform != "linux":
        yield
        return
    import resource  # noqa: PLC0415 - no other system has it in this form

    before, hard = resource.getrlimit(resource.RLIMIT_DATA)
    more = _data_in_use() + bytes_
    allowed = [limit for limit in (more, before, hard) if limit != resource.RLIM_INFINITY]
    resource.setrlimit(resource.RLIMIT_DATA, (min(allowed), hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_DATA, (before, hard))


def _data_in_use() -> int:
    """Give the bytes that this process has already, as the system counts them against the bound (proc(5), VmData)."""
    for line in Path("/proc/self/status").read_text("ascii", "replace").splitlines():
        if line.startswith("VmData:"):
            return int(line.split()[1]) * 1024
    return 0
