from __future__ import annotations

import subprocess
import sys
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

import pytest
from made_tests import entry, fill, key, new_test, places, put
from places import NotebookPlace
from sqlalchemy import Connection, insert
from sqlalchemy.exc import IntegrityError

from ballbench.errors import BadNotebook
from ballbench.store import Notebook, open_notebook
from ballbench.store.tables import METADATA, box
from ballbench.workflows.bench import bench_state
from ballbench.workflows.measure import enter

OPENS = """
import sys
from ballbench.store import open_notebook
print("ready", flush=True)
sys.stdin.readline()
open_notebook(sys.argv[1]).close()
print("opened", flush=True)
"""
ASKED = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 10_000}
"""2 is FULL (SQLite documentation, "PRAGMA synchronous")."""


def test_every_pooled_connection_is_as_safe_as_the_first(tmp_path: Path) -> None:
    """Write-ahead log, synchronous FULL and foreign keys hold on the writer and on 32 readers at once."""
    notebook = open_notebook(tmp_path / "notebook")
    with ExitStack() as open_ones:
        lines = [open_ones.enter_context(notebook._reader.connect()) for _ in range(32)]
        lines.append(open_ones.enter_context(notebook._writer.connect()))
        for line in lines:
            assert {name: line.exec_driver_sql(f"PRAGMA {name}").scalar() for name in ASKED} == ASKED
    notebook.close()


def test_opening_again_changes_nothing(notebook: Notebook, place: NotebookPlace) -> None:
    """Opened twice more while it is open, and again after it was closed, the rows and the bench are the same."""
    test = new_test(notebook).id
    list(fill(notebook, test))
    before = {name: place.rows(name) for name in METADATA.tables}
    bench = bench_state(notebook, test)
    for _ in range(2):
        again = open_notebook(place.address)
        assert bench_state(again, test) == bench
        again.close()
    notebook.close()
    later = open_notebook(place.address)
    assert bench_state(later, test) == bench
    assert {name: place.rows(name) for name in METADATA.tables} == before
    later.close()


def test_many_processes_may_open_a_new_notebook_at_once(place: NotebookPlace) -> None:
    """Four processes that open where nothing is yet all succeed, and the tables are made once."""
    running = [
        subprocess.Popen(
            [sys.executable, "-c", OPENS, place.address], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(4)
    ]
    for process in running:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    for process in running:
        assert process.stdin is not None
        process.stdin.write("go\n")
        process.stdin.flush()
    assert [process.communicate()[0] for process in running] == ["opened\n"] * 4
    assert place.rows("alembic_version") == [("0004",)]


def test_a_notebook_has_a_name_of_its_own(notebook: Notebook, place: NotebookPlace, tmp_path: Path) -> None:
    """Random, the same for everybody who opens it and whenever, and another for another notebook."""
    test = new_test(notebook).id
    name = bench_state(notebook, test).notebook
    again, other = open_notebook(place.address), open_notebook(tmp_path / "other")
    assert bench_state(again, test).notebook == name
    assert bench_state(other, new_test(other).id).notebook != name
    assert len(place.rows("identity")) == 1
    assert uuid.UUID(name).version == 4
    for one in (again, other):
        one.close()


def test_threads_may_open_several_notebooks_at_once(tmp_path: Path) -> None:
    """Twelve threads open six new folders, two each; every one is whole and takes a reading of its own."""
    at_once = threading.Barrier(12)

    def opened(number: int) -> int:
        at_once.wait()
        notebook = open_notebook(tmp_path / str(number % 6))
        test = new_test(notebook).id
        put(notebook, test, places(notebook, test, "crack")[0].id, "no")
        found = len(bench_state(notebook, test).readings)
        notebook.close()
        return found

    with ThreadPoolExecutor(12) as threads:
        assert list(threads.map(opened, range(12))) == [1] * 12


def test_rows_that_belong_to_nothing_are_refused(notebook: Notebook) -> None:
    """A box of a make that is not there is refused, and a reading without its submission when it is to be kept."""
    with pytest.raises(IntegrityError), notebook._writer.begin() as line:
        line.execute(insert(box).values(make_id=999, label="C-9"))
    test = new_test(notebook).id
    put(notebook, test, places(notebook, test, "crack")[0].id, "no")

    def alone(tx: Connection) -> dict[str, object]:
        columns = METADATA.tables["mark"].columns
        row = {"key": "no such key", "test_id": test, "kind": "opened", "note": "", "by": "E", "at": ""}
        tx.execute(insert(METADATA.tables["mark"]).values({columns[name]: value for name, value in row.items()}))
        return {}

    with pytest.raises(BadNotebook):
        notebook.submit(key(), test, "noted", "tab", alone)


def test_one_reading_of_the_notebook_sees_one_moment(notebook: Notebook) -> None:
    """What is written while somebody reads is not seen by the rest of that reading, only by the next."""
    test = new_test(notebook).id
    place = places(notebook, test, "crack")[0].id
    count = "SELECT count(*) FROM reading"
    with notebook.read() as reader:
        first = reader.exec_driver_sql(count).scalar()
        enter(notebook, test, entry(place, "no"))
        assert reader.exec_driver_sql(count).scalar() == first == 0
    with notebook.read() as reader:
        assert reader.exec_driver_sql(count).scalar() == 1
