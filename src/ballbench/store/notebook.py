"""The notebook: everything written goes through one door, once, and is on the disk before it is acknowledged."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, select
from sqlalchemy.exc import DBAPIError, IntegrityError

from ballbench.errors import BadNotebook, BadRequest, Fault
from ballbench.store.tables import submission
from ballbench.store.turns import Reply, Sent, Turns, kept_reply

__all__ = ["Change", "Notebook", "Reply", "Tx"]

Tx = Connection
"""One transaction: everything in it happens, or nothing."""

_LONGEST_KEY = 200


@dataclass(frozen=True, slots=True)
class Change:
    """Something that happened in a test.

    Parameters
    ----------
    revision : int
        Its number; later ones are greater.
    kind, client : str
        What it was, and who sent it.
    reply : dict
        What was answered.
    """

    revision: int
    kind: str
    client: str
    reply: Reply


class Notebook:
    """An open notebook.

    Parameters
    ----------
    place : str
        Folder or address, without a password, for messages.
    recordings : Path or None
        Folder for recordings; None: the database has none.
    writer, reader : Engine
        For transactions that write and that read.
    """

    def __init__(self, place: str, recordings: Path | None, writer: Engine, reader: Engine) -> None:
        self.place = place
        self.recordings = recordings
        self._writer = writer
        self._reader = reader
        self._turns = Turns(writer)
        self._listeners: list[Callable[[int, int], None]] = []

    def close(self) -> None:
        """Close all connections."""
        self._writer.dispose()
        self._reader.dispose()

    def on_change(self, listener: Callable[[int, int], None]) -> None:
        """Call `listener` with test and revision after each commit, from whatever thread committed."""
        self._listeners.append(listener)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection that sees one moment of the notebook.

        Raises
        ------
        BadNotebook
            The database cannot be read.
        """
        try:
            with self._reader.begin() as connection:
                yield connection
        except DBAPIError as error:
            raise BadNotebook(self._fault(error)) from error

    def submit(
        self,
        key: str,
        test_id: int | None,
        kind: str,
        client: str,
        work: Callable[[Connection], Reply],
        digest: str = "",
    ) -> Reply:
        """Do something once, all of it or nothing, its reply kept under the key.

        Parameters
        ----------
        key : str
            Made by the sender, new for each act and the same whenever the act is sent again.
        test_id : int or None
            The test it belongs to; None: `work` makes the test and its reply holds the number as ``id``, or, without
            an ``id``, it belongs to no test.
        kind, client : str
            What it is, and which sender.
        work : callable
            Writes, and gives the reply. Whatever it raises undoes all of it, and nothing is kept under the key.
        digest : str
            Of what is asked for, whoever sends it and when; empty: whatever comes under the key is taken for the same.

        Returns
        -------
        dict
            The reply, with its ``revision``; that of the first time where the key was seen before.

        Raises
        ------
        BadRequest
            The key is empty, longer than 200 characters, not printable, or was used for something else.
        Conflict
            The same was done under the key, with another digest; nothing of it is kept.
        BadNotebook
            The database could not write; nothing of it is kept.
        """
        _check_key(key)
        sent = Sent(key, test_id, kind, client, work, digest)
        try:
            reply, test, fresh = self._turns.write(sent)
        except IntegrityError as error:
            known = self._known(sent)
            if known is None:
                raise BadNotebook(self._fault(error)) from error
            return known
        except DBAPIError as error:
            raise BadNotebook(self._fault(error)) from error
        if fresh:
            for listener in self._listeners:
                listener(test, int(reply["revision"]))
        return reply

    def _known(self, sent: Sent) -> Reply | None:
        """Give the reply to a key that another process was quicker with."""
        with self.read() as connection:
            return kept_reply(connection, sent)

    def changes(self, test_id: int, after: int, limit: int = 500) -> tuple[Change, ...]:
        """Give what happened in a test after a revision, oldest first.

        Parameters
        ----------
        test_id : int
            Which test.
        after : int
            The last revision already seen; 0: none.
        limit : int
            At most so many.
        """
        chosen = (
            select(submission.c.id, submission.c.kind, submission.c.client, submission.c.reply)
            .where(submission.c.test_id == test_id, submission.c.id > after)
            .order_by(submission.c.id)
            .limit(limit)
        )
        with self.read() as connection:
            rows = connection.execute(chosen).all()
        return tuple(
            Change(row.id, row.kind, row.client, {**json.loads(row.reply), "revision": row.id}) for row in rows
        )

    def _fault(self, error: DBAPIError) -> Fault:
        reason = str(error.orig).strip().splitlines()[0]
        todo = "check the room on the disk and the connection, and send it again; what was acknowledged is safe"
        return Fault(f"notebook {self.place}", f"a database that answers: {reason}", "a notebook that can write", todo)


def _check_key(key: str) -> None:
    if not 0 < len(key) <= _LONGEST_KEY or not key.isprintable():
        found = f"{len(key)} characters" if key.isprintable() else "characters that cannot be printed"
        allowed = f"1 to {_LONGEST_KEY} printable characters"
        raise BadRequest(Fault("key", found, allowed, "make a new key for each act, such as a UUID"))
