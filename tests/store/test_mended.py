from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from made_tests import new_test, sent
from places import NotebookPlace
from sqlalchemy import event

from ballbench.errors import BadNotebook
from ballbench.store import Notebook, open_notebook
from ballbench.store.opening import _sqlite
from ballbench.store.turns import Sent, Turns
from ballbench.workflows.recordings import NewRecording, keep_recording, recordings


def test_a_group_locks_its_tests_in_one_order(notebook: Notebook) -> None:
    """What waits together is written by test, sets-up first, and in the order of coming within a test."""
    turns = Turns(notebook._writer)
    came = [Sent(str(n), test, "noted", "tab", dict) for n, test in enumerate((7, 3, None, 7, 3, None))]
    turns._waiting.extend(came)
    assert [one.key for one in turns._my_turn(came[0])] == ["2", "5", "1", "4", "0", "3"]


def test_one_recording_that_two_servers_write_at_once_is_one_file(on_server: NotebookPlace) -> None:
    """Both acts are kept where two machines find that it is not there yet, and then write the same bytes."""
    notebooks = [open_notebook(on_server.address) for _ in range(2)]
    tests = [new_test(notebooks[0]).id for _ in range(2)]
    both_looked = threading.Barrier(2)
    looked = threading.local()

    def wait_for_the_other(_line: object, _cursor: object, statement: str, *_rest: object) -> None:
        if "INSERT INTO recording " in statement and not hasattr(looked, "once"):
            looked.once = True
            both_looked.wait(30)

    for one in notebooks:
        event.listen(one._writer, "before_cursor_execute", wait_for_the_other)
    with ThreadPoolExecutor(2) as pool:
        requests = [NewRecording(**sent(name="drop.wav", media_type="audio/wav")) for _ in tests]
        replies = list(pool.map(keep_recording, notebooks, tests, requests, [[b"sound"], [b"sound"]]))
    assert replies[0]["digest"] == replies[1]["digest"]
    assert [len(recordings(notebooks[0], test)) for test in tests] == [1, 1]
    for one in notebooks:
        one.close()


def test_a_drive_that_keeps_no_journal_ahead_is_refused(tmp_path: Path) -> None:
    """A database in memory answers another journal mode, as one on a network drive does; a file is kept short."""
    for place, kept in ((tmp_path / "notebook.sqlite3", True), (Path(":memory:"), False)):
        engine = _sqlite(place, write=True)
        if kept:
            with engine.connect() as line:
                assert line.exec_driver_sql("PRAGMA journal_size_limit").scalar() == 64 * 2**20
        else:
            with pytest.raises(BadNotebook, match="network drives"):
                engine.connect()
        engine.dispose()
