from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from made_tests import entry, fill, new_test, places, put, sent
from places import REFUSED, NotebookPlace
from sqlalchemy import create_engine, inspect

from ballbench.store import Notebook, open_notebook
from ballbench.store.tables import APPEND_ONLY, METADATA
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Mark
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.keep import one_test
from ballbench.workflows.measure import enter
from ballbench.workflows.recordings import NewRecording, keep_recording, recordings
from ballbench.workflows.sittings import note

SAYS = "the notebook keeps what was recorded; write a correction instead"


def filled(notebook: Notebook) -> int:
    """A test with rows in every table that is written once."""
    test = new_test(notebook).id
    list(fill(notebook, test))
    note(notebook, test, Mark(**sent(kind="impact", value=2.0)))
    state = bench_state(notebook, test)
    enter(notebook, test, entry(next(one.id for one in state.places if one.ball is not None), "4.02"))
    amend_readings(notebook, test, Amend(**sent(readings=(state.readings[1].id,), action="exclude", reason="dropped")))
    keep_recording(notebook, test, NewRecording(**sent(name="drop.wav", media_type="audio/wav")), [b"sound"])
    return test


def made_by_the_first_version(place: NotebookPlace, source: Notebook) -> dict[str, list[str]]:
    """Make a notebook by the first migration alone, with the rows of another; give tables and columns of that time."""
    if place.server is None:
        place.file.parent.mkdir()
    bare = f"sqlite:///{place.file}" if place.server is None else place.address.replace("://", "+psycopg://", 1)
    engine = create_engine(bare)
    with engine.begin() as line:
        config = Config()
        config.set_main_option("script_location", "ballbench.store:migrations")
        config.attributes.update(connection=line, configure_logger=False)
        command.upgrade(config, "0001")
    with source.read() as old, engine.begin() as line:
        of_that_time = inspect(line).get_table_names()
        for table in (one for one in METADATA.sorted_tables if one.name in of_that_time):
            columns = [one["name"] for one in inspect(line).get_columns(table.name)]
            rows = [dict(row) for row in old.execute(table.select()).mappings()] if table.name != "identity" else []
            for row in rows:
                line.execute(table.insert(), {name: row[name] for name in columns})
            if place.server is not None and "id" in columns and rows:
                line.exec_driver_sql(f"SELECT setval(pg_get_serial_sequence('{table.name}', 'id'), max(id)) "  # noqa: S608 - our tables
                                     f"FROM {table.name}")  # fmt: skip
    tables = {name: [one["name"] for one in inspect(engine).get_columns(name)] for name in of_that_time}
    engine.dispose()
    del tables["alembic_version"]
    return tables


def rows_of(place: NotebookPlace, tables: dict[str, list[str]]) -> dict[str, list[Any]]:
    """Every row of these columns, as the bare driver sees them."""
    found = {}
    for name, columns in tables.items():
        with place.raw() as line:
            chosen = ", ".join(f'"{column}"' for column in columns)
            found[name] = sorted(line.execute(f'SELECT {chosen} FROM "{name}"').fetchall(), key=repr)  # noqa: S608 - as told
    return found


@pytest.fixture
def source(tmp_path: Path) -> Iterator[tuple[Notebook, int]]:
    """A full notebook of this version, and its test."""
    notebook = open_notebook(tmp_path / "source")
    yield notebook, filled(notebook)
    notebook.close()


def told(notebook: Notebook, test: int) -> dict[str, Any]:
    """What pages and programs are told of a test."""
    state = bench_state(notebook, test)
    own = {name: getattr(state, name) for name in state.__dataclass_fields__ if name != "notebook"}
    return {
        **own, "page": one_test(notebook, test), "changes": notebook.changes(test, 0, 10_000),
        "recordings": recordings(notebook, test),
    }  # fmt: skip


def test_a_notebook_of_the_first_version_opens_with_all_that_was_in_it(
    place: NotebookPlace, source: tuple[Notebook, int]
) -> None:
    """Every row is there; an old key gets its old reply; new acts are kept with a digest; nothing can be changed."""
    tables = made_by_the_first_version(place, source[0])
    before = rows_of(place, tables)
    assert place.rows("alembic_version") == [("0001",)]
    opened, test = open_notebook(place.address), source[1]
    assert place.rows("alembic_version") > [("0001",)]
    assert rows_of(place, tables) == before
    assert {row[1] for row in rows_of(place, {"submission": ["id", "digest"]})["submission"]} == {""}
    assert told(opened, test) == told(source[0], test)
    old = opened.changes(test, 0, 10_000)[1]
    with opened.read() as tx:
        (key,) = tx.exec_driver_sql(f"SELECT key FROM submission WHERE id = {old.revision}").scalars()  # noqa: S608 - a number
    assert enter(opened, test, entry(1, "yes", key=key)) == old.reply, "as ever, whatever comes under it"
    assert put(opened, test, places(opened, test, "crack")[0].id, "yes")["reading"]["repeat"] == 2
    digests = [digest for _, digest in rows_of(place, {"submission": ["id", "digest"]})["submission"]]
    assert [len(digest) for digest in digests if digest] == [64] * (len(digests) - len(before["submission"]))
    assert len(digests) > len(before["submission"])
    opened.close()
    for name in (one for one in APPEND_ONLY if one in before):
        first = METADATA.tables[name].columns.keys()[0]
        for act in ("DELETE FROM <table>", 'UPDATE <table> SET "<first>" = "<first>"'):
            with place.raw() as line, pytest.raises(REFUSED, match=SAYS):
                line.execute(act.replace("<table>", name).replace("<first>", first))
