from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from made_tests import entry, fill, new_test, put, sent
from places import REFUSED, NotebookPlace
from sqlalchemy.exc import DBAPIError

from ballbench.store import Notebook, Reply, Tx
from ballbench.store.picks import write_picks
from ballbench.store.plans import follow_plan, write_plan
from ballbench.store.qualifications import write_qualification
from ballbench.store.tables import APPEND_ONLY, METADATA
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Mark
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.measure import enter
from ballbench.workflows.recordings import NewRecording, keep_recording
from ballbench.workflows.sittings import note

SAYS = "the notebook keeps what was recorded; write a correction instead"


def everything_in_it(notebook: Notebook) -> int:
    """Put at least one row into each table that is written once; give the test."""
    test = new_test(notebook).id
    list(fill(notebook, test))
    state = bench_state(notebook, test)
    place = next(one for one in state.places if one.reference is not None)
    assert not put(notebook, test, place.id, "40.90")["check"]["passed"]
    assert enter(notebook, test, entry(next(one.id for one in state.places if one.ball), "4.02"))["status"] == "asked"
    note(notebook, test, Mark(**sent(kind="impact", value=2.0)))
    amend_readings(notebook, test, Amend(**sent(readings=(2,), action="exclude", reason="dropped")))
    sound = keep_recording(notebook, test, NewRecording(**sent(name="drop.wav", media_type="audio/wav")), [b"sound"])
    notebook.submit("picks", test, "written", "a client", lambda tx: picked(tx, test, sound["digest"]))
    notebook.submit("a plan and an instrument", test, "written", "a client", lambda tx: planned_and_qualified(tx, test))
    return test


def picked(tx: Tx, test: int, digest: str) -> Reply:
    """Write how a reading came out of a recording."""
    of = {"key": "picks", "test_id": test, "by": "E", "at": "2026-11-28T10:00:00+00:00"}
    write_picks(tx, {**of, "digest": digest, "reading_id": 1, "method": "listen", "picks": "[]", "asked": "{}"})
    return {"status": "written"}


def planned_and_qualified(tx: Tx, test: int) -> Reply:
    """Write a plan, that the test follows it, and a qualified instrument."""
    of = {"key": "a plan and an instrument", "quantity": "diameter", "by": "Ada", "at": "2026-11-27T10:00:00+00:00"}
    number = write_plan(
        tx, {**of, "title": "plan", "requirement": "own", "requirement_digest": "", "asked": "{}", "result": "{}"}
    )
    follow_plan(tx, test, number)
    write_qualification(tx, {**of, "test_id": test, "name": "caliper", "entry": "", "sentence": ""})
    return {"status": "written"}


@pytest.fixture
def kept(notebook: Notebook, place: NotebookPlace) -> Iterator[dict[str, list[Any]]]:
    """All rows of such a notebook by table; they are the same when the test is over."""
    everything_in_it(notebook)
    before = {name: place.rows(name) for name in METADATA.tables}
    assert all(before[name] for name in APPEND_ONLY)
    yield before
    assert {name: place.rows(name) for name in METADATA.tables} == before


ON_BOTH = {
    "change": 'UPDATE <table> SET "<first>" = "<first>"',
    "delete": "DELETE FROM <table>",
    "delete one": 'DELETE FROM <table> WHERE "<first>" IN (SELECT max("<first>") FROM <table>)',
}
ON_SQLITE = {
    "replace": "INSERT OR REPLACE INTO <table> (<names>) SELECT <names> FROM <table> LIMIT 1",
    "put again": "REPLACE INTO <table> (<names>) SELECT <names> FROM <table> LIMIT 1",
}
ON_SERVER = {
    "truncate": "TRUNCATE <table> CASCADE",
    "truncate all": "TRUNCATE ball_test CASCADE",
    "upsert": "INSERT INTO <table> (<names>) SELECT <names> FROM <table> LIMIT 1 ON CONFLICT (<key>) "
    'DO UPDATE SET "<first>" = EXCLUDED."<first>"',
}


def ways_to_change(place: NotebookPlace) -> Iterator[str]:
    """What a person with the bare driver may try on each table; a row that is put again has its own values."""
    for table in APPEND_ONLY:
        columns = list(METADATA.tables[table].columns)
        names = {
            "<table>": table,
            "<first>": columns[0].name,
            "<names>": ", ".join(f'"{column.name}"' for column in columns),
            "<key>": ", ".join(column.name for column in METADATA.tables[table].primary_key),
        }
        for way in (ON_BOTH | (ON_SQLITE if place.server is None else ON_SERVER)).values():
            statement = way
            for name, own in names.items():
                statement = statement.replace(name, own)
            yield statement


@pytest.mark.usefixtures("kept")
def test_the_bare_driver_changes_nothing(place: NotebookPlace) -> None:
    """UPDATE, DELETE, INSERT OR REPLACE, upsert and TRUNCATE are refused in so many words, past ballbench too."""
    tried = 0
    for statement in ways_to_change(place):
        with place.raw() as line, pytest.raises(REFUSED, match=SAYS):
            line.execute(statement)
        tried += 1
    assert tried == len(APPEND_ONLY) * (5 if place.server is None else 6)


@pytest.mark.usefixtures("kept")
def test_the_notebook_s_own_writer_changes_nothing(notebook: Notebook, place: NotebookPlace) -> None:
    """The same through the connection that ballbench writes with; what else its transaction did is undone."""

    def in_one_transaction(statement: str) -> None:
        with notebook._writer.begin() as connection:
            connection.exec_driver_sql("UPDATE ball_test SET title = 'changed'")
            connection.exec_driver_sql(statement)

    for statement in ways_to_change(place):
        with pytest.raises(DBAPIError, match=SAYS):
            in_one_transaction(statement)


SECOND_SUBMISSION = (
    "<act> INTO submission (key, kind, client, received, reply) SELECT max(key), 'x', 'x', 'x', 'x' FROM submission"
)
SECOND_CHECK = (
    "<act> INTO instrument_check (test_id, sitting_id, reading_id, reference_id, instrument_id, value, known, "
    "allowed, passed) SELECT test_id, sitting_id, reading_id, reference_id, instrument_id, 1, 1, 1, passed "
    "FROM instrument_check"
)


@pytest.mark.usefixtures("kept")
@pytest.mark.parametrize("statement", [SECOND_SUBMISSION, SECOND_CHECK], ids=["submission", "check"])
def test_a_second_row_for_the_same_thing_puts_none_away(place: NotebookPlace, statement: str) -> None:
    """A submission under a known key, or a second check of one reading, is refused though its number is new."""
    with place.raw() as line, pytest.raises(place.broken):
        line.execute(statement.replace("<act>", "REPLACE" if place.server is None else "INSERT"))
