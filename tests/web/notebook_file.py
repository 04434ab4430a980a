"""The notebook's file as SQLite itself reads it, without any code of ours: what a sender was told must stand there."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from bench_client import Act, Sender

__all__ = ["check_senders", "check_whole", "read_file", "shape_of"]


@contextmanager
def read_file(folder: Path) -> Iterator[sqlite3.Connection]:
    """Open the file of a notebook to read it, beside a server that may have it open."""
    with closing(sqlite3.connect(f"file:{folder}/notebook.sqlite3?mode=ro", uri=True)) as database:
        database.row_factory = sqlite3.Row
        yield database


def check_whole(database: sqlite3.Connection) -> None:
    """See that SQLite finds nothing wrong with the file, nor with what its rows say of each other."""
    assert [tuple(row) for row in database.execute("PRAGMA integrity_check")] == [("ok",)]
    assert database.execute("PRAGMA foreign_key_check").fetchall() == []


def shape_of(database: sqlite3.Connection) -> list[tuple[str, ...]]:
    """Give every table, index and trigger, and which shape the file says that it has."""
    made = [tuple(row) for row in database.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name")]
    return [*made, *(tuple(row) for row in database.execute("SELECT version_num FROM alembic_version"))]


def check_senders(database: sqlite3.Connection, senders: list[Sender]) -> Counter[str]:
    """See that what was acknowledged stands there once, as sent and in order, and nothing beside but what waits.

    Returns
    -------
    Counter
        Of what was on its way when the server was killed: how many acts were ``kept`` already, how many ``lost``.
    """
    stored: dict[str, list[sqlite3.Row]] = {}
    for row in database.execute("SELECT * FROM submission ORDER BY id"):
        stored.setdefault(row["client"], []).append(row)
    found: Counter[str] = Counter()
    for sender in senders:
        rows = stored.get(sender.client, [])
        waits = sender.pending
        keys = [act.key for act in sender.acknowledged]
        if waits is not None:
            kept = [row["key"] for row in rows][len(keys) :] == [waits.key]
            found["kept" if kept else "lost"] += 1
            keys += [waits.key] if kept else []
        assert [row["key"] for row in rows] == keys
        for act, row in zip(sender.acts, rows, strict=False):
            assert act.reply in (None, {**json.loads(row["reply"]), "revision": row["id"]})
    _check_rows(database, senders, {row["key"] for rows in stored.values() for row in rows})
    return found


def _check_rows(database: sqlite3.Connection, senders: list[Sender], keys: set[str]) -> None:
    """See that each act that is in left the one row that it asks for, with the values that were sent."""
    acts = {act.key: act for sender in senders for act in sender.acts if act.key in keys}
    wanted = {
        "reading": {key for key, act in acts.items() if act.path == "readings" and "." in act.body["text"]},
        "amendment": {key for key, act in acts.items() if act.path == "taken-back"},
        "attempt": {key for key, act in acts.items() if act.path == "spoiled" or "." not in act.body.get("text", ".")},
    }
    for table, own in wanted.items():
        rows = database.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()  # noqa: S608 - the names above
        assert sorted(row["key"] for row in rows) == sorted(own)
        for row in rows:
            _check_row(acts[row["key"]], row)
    order = {row["key"]: row["id"] for row in database.execute("SELECT key, id FROM reading")}
    for sender in senders:
        numbers = [order[act.key] for act in sender.acts if act.key in order]
        assert numbers == sorted(numbers)
    later = Counter(act.body["place"] for act in acts.values() if act.path == "later")
    put_off = {row["id"]: row["put_off"] for row in database.execute("SELECT id, put_off FROM place WHERE put_off > 0")}
    assert put_off == later


def _check_row(act: Act, row: sqlite3.Row) -> None:
    sent: dict[str, Any] = act.body
    assert (row["by"], row["at"]) == (sent["by"], sent["at"])
    if act.path == "taken-back":
        assert (row["reading_id"], row["action"]) == (sent["reading"], "take back")
    elif act.path == "spoiled":
        assert (row["place_id"], row["kind"], row["why"]) == (sent["place"], "spoiled", sent["reason"])
    elif "value" not in row.keys():  # noqa: SIM118 - a row of SQLite has no such test without it
        assert (row["place_id"], row["kind"], row["text"]) == (sent["place"], "asked", sent["text"])
    else:
        assert (row["place_id"], row["text"], row["value"]) == (sent["place"], sent["text"], float(sent["text"]))
        assert (row["client"], row["answer"]) == (sent["client"], None)
