"""What every act at the bench has in common: who sent it, when, and whether the test takes it."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.store import Tx
from ballbench.store.ball_tests import written_of
from ballbench.store.bench import begin_sitting, sitting_spans
from ballbench.store.moments import NEVER, seconds_of
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.set_up_check import sender_faults

__all__ = ["digest_of", "holds", "moment", "refuse", "sent_faults", "sitting_for", "under_way", "who"]


def moment() -> str:
    """Give the present time, ISO 8601 in UTC."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def sent_faults(request: Sent) -> Iterator[Fault]:
    """Say what is wrong with the person or the time of an act."""
    return sender_faults(request.by, request.client, request.at)


def digest_of(request: object, **more: str) -> str:
    """Give the SHA-256 of what a request asks for, so that another one under the same key is told from the same.

    Parameters
    ----------
    request : dataclass
        A request; its key, its client and its time are left out, for whoever sends an act again may do it later and
        from another page. A file counts with its bytes.
    more : str
        What else belongs to it, by name.
    """
    asked = {field.name: getattr(request, field.name) for field in fields(request)}  # type: ignore[arg-type]
    kept = {name: value for name, value in asked.items() if name not in _OF_THE_SENDING}
    text = json.dumps(kept | more, default=_plain, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


_OF_THE_SENDING = ("key", "client", "at")


def _plain(value: Any) -> Any:
    """Give a part of a request as JSON has it."""
    if isinstance(value, Path):
        return hashlib.sha256(value.read_bytes()).hexdigest()
    if isinstance(value, Mapping):
        return dict(value)
    return {field.name: getattr(value, field.name) for field in fields(value)}


def refuse(faults: Iterable[Fault]) -> None:
    """Raise all faults at once, if there are any.

    Raises
    ------
    BadRequest
        There are.
    """
    found = list(faults)
    if found:
        raise BadRequest(found)


def who(request: Sent, test_id: int) -> dict[str, Any]:
    """Give whose act it is, when, and under which key, as columns."""
    return {"key": request.key, "test_id": test_id, "by": request.by.strip(), "at": request.at or moment()}


def under_way(tx: Tx, test_id: int) -> Any:
    """Give the row of a test that takes readings.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It was finished.
    """
    test = written_of(tx, test_id)
    if test.finished:
        found = f"a test that was finished on {test.finished[:10]}"
        raise Conflict(Fault("test", found, "a test that is under way", "take it up again first"))
    return test


def sitting_for(tx: Tx, request: Sent, test_id: int) -> int:
    """Give the sitting in which something was taken, which may come long after it.

    It is the one whose time, from its begin to its end, holds the moment of the act; of several the one that was begun
    last; else the one that goes on. Where there is none one is begun, for a reading is never refused for that.
    """
    spans = sitting_spans(tx, test_id)
    taken = seconds_of(request.at or moment())
    holding = [row for row in spans if holds(row, taken)]
    if holding:
        return int(max(holding, key=lambda row: (seconds_of(row.begun), row.id)).id)
    open_ones = [row for row in spans if row.ended is None]
    if open_ones:
        return int(open_ones[-1].id)
    return begin_sitting(tx, test_id, "bench", "", request.by.strip(), request.at or moment())


def holds(row: Any, taken: float) -> bool:
    """Say whether a sitting, as `sitting_spans` gives it, was going on at a moment; both its ends belong to it."""
    begun, ended = seconds_of(row.begun), math.inf if row.ended is None else seconds_of(row.ended)
    return NEVER < begun <= taken <= ended
