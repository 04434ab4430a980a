"""What every act at the bench has in common: who sent it, when, and whether the test takes it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from typing import Any

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.store import Tx
from ballbench.store.ball_tests import written_of
from ballbench.store.bench import begin_sitting, open_sitting
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.set_up_check import sender_faults

__all__ = ["moment", "refuse", "sent_faults", "sitting_now", "under_way", "who"]


def moment() -> str:
    """Give the present time, ISO 8601 in UTC."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def sent_faults(request: Sent) -> Iterator[Fault]:
    """Say what is wrong with the person or the time of an act."""
    return sender_faults(request.by, request.client, request.at)


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


def sitting_now(tx: Tx, request: Sent, test_id: int) -> int:
    """Give the sitting that goes on; where there is none one is begun, for a reading is never refused for that."""
    row = open_sitting(tx, test_id)
    if row is not None:
        return int(row.id)
    return begin_sitting(tx, test_id, "bench", "", request.by.strip(), request.at or moment())
