"""Turns at the one door: what waits at the same moment is written together, and is on the disk before it is answered.

Bringing a transaction to the disk takes as long for many submissions as for one. So whoever comes to the door takes
along all that wait there: one transaction, each submission in a savepoint of its own, so that one that is refused
leaves its neighbours as they are. Where the database itself fails, each is tried again alone.
"""

from __future__ import annotations

import json
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, select
from sqlalchemy.exc import DBAPIError

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.store.inserting import inserted
from ballbench.store.tables import ball_test, submission

__all__ = ["Reply", "Sent", "Turns", "Written", "kept_reply"]

Reply = dict[str, Any]
"""What was answered to a submission, as JSON."""

Written = tuple[Reply, int, bool]
"""The reply, the test (0: of no test), and whether anything new was done."""

_TOGETHER = 32
"""Most submissions in one transaction (own choice): the first of them waits for the work of all."""


@dataclass(slots=True, eq=False)
class Sent:
    """A submission, as in `ballbench.store.Notebook.submit`; `outcome` is what came of it, None while it waits."""

    key: str
    test_id: int | None
    kind: str
    client: str
    work: Callable[[Connection], Reply]
    digest: str = ""
    outcome: Written | Exception | None = None


class Turns:
    """The door of a notebook.

    Parameters
    ----------
    writer : Engine
        For transactions that write.
    """

    def __init__(self, writer: Engine) -> None:
        self._writer = writer
        self._door = threading.Condition()
        self._waiting: deque[Sent] = deque()
        self._writing = False

    def write(self, sent: Sent) -> Written:
        """Write a submission, and whatever waits with it; or wait while another thread does.

        Parameters
        ----------
        sent : Sent
            New; its outcome is filled in.

        Raises
        ------
        DBAPIError
            The database could not write it; nothing of it is kept.
        Exception
            Whatever its own work raised; nothing of it is kept.
        """
        with self._door:
            self._waiting.append(sent)
        while sent.outcome is None:
            self._write_waiting(self._my_turn(sent))
        if isinstance(sent.outcome, Exception):
            raise sent.outcome
        return sent.outcome

    def _my_turn(self, sent: Sent) -> list[Sent]:
        """Wait until nobody writes, and take all that wait; nothing, where another thread wrote this one meanwhile."""
        with self._door:
            self._door.wait_for(lambda: sent.outcome is not None or not self._writing)
            if sent.outcome is not None:
                return []
            self._writing = True
            taken = [self._waiting.popleft() for _ in range(min(len(self._waiting), _TOGETHER))]
            # Tests are locked in one order by everybody, so that two servers never wait for each other.
            return sorted(taken, key=lambda one: one.test_id or 0)

    def _write_waiting(self, group: list[Sent]) -> None:
        if not group:
            return
        try:
            if len(group) == 1 or not self._write_together(group):
                for one in group:
                    one.outcome = self._write_alone(one)
        finally:
            with self._door:
                self._writing = False
                self._waiting.extendleft(one for one in reversed(group) if one.outcome is None)
                self._door.notify_all()

    def _write_alone(self, one: Sent) -> Written | Exception:
        try:
            with self._writer.begin() as connection:
                return _act(connection, one)
        except Exception as error:  # raised where the submission came from
            return error

    def _write_together(self, group: list[Sent]) -> bool:
        """Write several in one transaction; False: the database failed, and nothing of any is kept."""
        try:
            with self._writer.begin() as connection:
                outcomes = [_act_apart(connection, one) for one in group]
        except DBAPIError:
            return False
        for one, outcome in zip(group, outcomes, strict=True):
            one.outcome = outcome
        return True


def _act_apart(connection: Connection, one: Sent) -> Written | Exception:
    """Do what a submission asks in a savepoint; what the database raises ends the transaction."""
    try:
        with connection.begin_nested():
            return _act(connection, one)
    except DBAPIError:
        raise
    except Exception as error:  # raised where the submission came from
        return error


def _act(connection: Connection, one: Sent) -> Written:
    """Do what a submission asks, or find what was answered to it before."""
    if one.test_id is not None:
        lock = select(ball_test.c.id).where(ball_test.c.id == one.test_id).with_for_update()
        connection.execute(lock)
    known = kept_reply(connection, one)
    if known is not None:
        return known, one.test_id or 0, False
    text = json.dumps(one.work(connection), ensure_ascii=False)
    reply = json.loads(text)  # as it is read again when the key comes again
    made = int(reply["id"]) if "id" in reply else None
    test = made if one.test_id is None else one.test_id
    row = {
        "key": one.key, "test_id": test, "kind": one.kind, "client": one.client,
        "received": datetime.now(UTC).isoformat(), "reply": text, "digest": one.digest,
    }  # fmt: skip
    return {**reply, "revision": inserted(connection, submission, row)}, test or 0, True


def kept_reply(connection: Connection, one: Sent) -> Reply | None:
    """Give the reply that was kept under the key of a submission; None: the key is new.

    Raises
    ------
    BadRequest
        The key was used for something else.
    Conflict
        The same was done under the key, with another request.
    """
    row = connection.execute(select(submission).where(submission.c.key == one.key)).one_or_none()
    if row is None:
        return None
    if row.kind != one.kind or one.test_id not in (None, row.test_id):
        found = f"a key that was used for {row.kind} in test {row.test_id}"
        raise BadRequest(Fault("key", found, "a new key for each act", "make a new one, such as a UUID"))
    if row.digest and one.digest and row.digest != one.digest:
        found = f"a key under which another request was kept ({row.kind} in test {row.test_id})"
        todo = "make a new key, such as a UUID; what was sent first is kept as it was"
        raise Conflict(Fault("key", found, "the same request again, or a new key", todo))
    return {**json.loads(row.reply), "revision": row.id}
