from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from database_server import Server
from made_tests import entry, new_test, places, put
from places import NotebookPlace

from ballbench.errors import BadNotebook
from ballbench.store import Notebook, open_notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.measure import enter

READS = """
import json, resource, sys
sys.path.insert(0, sys.argv[1])
from made_tests import entry, put
from ballbench.errors import BadNotebook
from ballbench.store import open_notebook
from ballbench.workflows.measure import enter
notebook, test, place = open_notebook(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
room = int(sys.argv[5])
if room:
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, resource.RLIM_INFINITY))
for number in range(100_000):
    try:
        reply = enter(notebook, test, entry(place, "yes" if number % 2 else "no"))
    except BadNotebook as error:
        (fault,) = error.faults
        print(json.dumps({"refused": str(fault)}), flush=True)
        break
    print(json.dumps(reply["reading"]), flush=True)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
print(json.dumps(put(notebook, test, place, "yes")["reading"]), flush=True)
"""


def reading_process(place: NotebookPlace, test: int, at: int, room: int = 0) -> subprocess.Popen[str]:
    """Start a process that reads one place again and again and tells of each reading that was acknowledged.

    With `room` it may write files up to so many bytes only, until the notebook refuses; then it reads once more.
    """
    told = [str(Path(__file__).parent), place.address, str(test), str(at), str(room)]
    return subprocess.Popen([sys.executable, "-c", READS, *told], stdout=subprocess.PIPE, text=True)


@pytest.fixture
def crack(notebook: Notebook) -> tuple[int, int]:
    """A test, and a place whose answer is yes or no."""
    test = new_test(notebook).id
    return test, places(notebook, test, "crack")[0].id


def kept(notebook: Notebook, test: int) -> list[dict[str, Any]]:
    """Every reading in the notebook, as its reply had it."""
    return [json.loads(json.dumps(one, default=_fields)) for one in bench_state(notebook, test).readings]


def _fields(one: Any) -> dict[str, Any]:
    return {name: getattr(one, name) for name in type(one).__dataclass_fields__}


def test_a_killed_process_loses_nothing_that_it_acknowledged(
    notebook: Notebook, place: NotebookPlace, crack: tuple[int, int]
) -> None:
    """Killed while it writes, after fifty acknowledged readings: all are there, in order, and at most one more."""
    process = reading_process(place, *crack)
    assert process.stdout is not None
    acknowledged = [json.loads(process.stdout.readline()) for _ in range(50)]
    process.kill()
    rest = [json.loads(line) for line in process.stdout if line.endswith("\n")]
    process.wait()
    process.stdout.close()
    found = kept(notebook, crack[0])
    assert found[: 50 + len(rest)] == acknowledged + rest
    assert len(found) <= 51 + len(rest)


def test_a_full_disk_is_one_fault_and_loses_nothing(tmp_path: Path) -> None:
    """Where files may not grow further one entry is refused in plain words; all before it, and one after, are kept."""
    place = NotebookPlace(str(tmp_path / "notebook"))
    notebook = open_notebook(place.address)
    test = new_test(notebook).id
    at = places(notebook, test, "crack")[0].id
    told, _ = reading_process(place, test, at, room=1_000_000).communicate()
    *acknowledged, refused, last = [json.loads(line) for line in told.splitlines()]
    assert "the room on the disk" in refused["refused"]
    assert "what was acknowledged is safe" in refused["refused"]
    assert len(acknowledged) > 5
    assert kept(notebook, test) == [*acknowledged, last]
    with place.raw() as line:
        assert line.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    notebook.close()


@pytest.fixture
def own_server(on_server: NotebookPlace) -> Server:
    """The server, to be stopped and started within a test."""
    assert on_server.server is not None
    return on_server.server


def test_a_crashed_server_is_one_fault_and_loses_nothing(on_server: NotebookPlace, own_server: Server) -> None:
    """While the server is down every act is one fault; after its recovery all readings stand, and it goes on."""
    notebook = open_notebook(on_server.address)
    test = new_test(notebook).id
    at = places(notebook, test, "crack")[0].id
    for number in range(5):
        put(notebook, test, at, "yes" if number % 2 else "no")
    before = kept(notebook, test)
    sent_again = entry(at, "no")
    own_server.stop("immediate")
    try:
        for act in (lambda: enter(notebook, test, sent_again), lambda: bench_state(notebook, test)):
            refused_once(act)
    finally:
        own_server.start()
    reply = until_it_answers(lambda: enter(notebook, test, sent_again))
    assert kept(notebook, test) == [*before, reply["reading"]]
    notebook.close()


def refused_once(act: Callable[[], object]) -> None:
    """Do what the notebook cannot do now."""
    with pytest.raises(BadNotebook, match="send it again") as caught:
        act()
    assert len(caught.value.faults) == 1


def until_it_answers(act: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Send an act again until it is taken: each dead connection of the pool may cost one fault."""
    for _ in range(40):
        try:
            return act()
        except BadNotebook:
            continue
    pytest.fail("it never answers again")
