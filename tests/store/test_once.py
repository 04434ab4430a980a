from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from made_tests import a_set_up, entry, key, new_test, places, sent
from places import NotebookPlace

from ballbench.errors import BadInput, BadRequest, Conflict, Fault
from ballbench.store import Notebook, open_notebook
from ballbench.store.tables import METADATA
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish, Mark, TakeBack
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.measure import enter, take_back
from ballbench.workflows.set_up import set_up_test
from ballbench.workflows.sittings import finish, note

SENDS = """
import json, sys
sys.path.insert(0, sys.argv[1])
from ballbench.store import open_notebook
from ballbench.workflows.bench_requests import Entry
from ballbench.workflows.measure import enter
notebook = open_notebook(sys.argv[2])
print("ready", flush=True)
asked = json.loads(sys.stdin.readline())
print(json.dumps(enter(notebook, asked["test"], Entry(**asked["entry"]))), flush=True)
notebook.close()
"""


@pytest.fixture
def crack(notebook: Notebook) -> tuple[int, int]:
    """A test, and a place whose answer is yes or no."""
    test = new_test(notebook).id
    return test, places(notebook, test, "crack")[0].id


def fields(act: Any) -> dict[str, Any]:
    """The fields of a request as JSON has them."""
    return {name: getattr(act, name) for name in type(act).__dataclass_fields__}


def test_sent_again_it_is_the_same_reply_and_one_reading(
    notebook: Notebook, place: NotebookPlace, crack: tuple[int, int]
) -> None:
    """At once, after other acts, from another page and later, and after the notebook was closed and opened."""
    act = entry(crack[1], "no")
    first = enter(notebook, crack[0], act)
    assert enter(notebook, crack[0], act) == first
    mark = Mark(**sent(kind="opened"))
    assert note(notebook, crack[0], mark) == note(notebook, crack[0], mark)
    take_back(notebook, crack[0], TakeBack(**sent(reading=first["reading"]["id"])))
    finish(notebook, crack[0], Finish(**sent()))
    assert enter(notebook, crack[0], replace(act, client="another tab", at=sent()["at"])) == first
    notebook.close()
    again = open_notebook(place.address)
    assert enter(again, crack[0], act) == first
    assert len(bench_state(again, crack[0]).readings) == 1
    again.close()


def test_many_threads_with_one_key_make_one_reading(notebook: Notebook, crack: tuple[int, int]) -> None:
    """Sixteen threads that send the same entry at the same moment get the same reply."""
    act, at_once = entry(crack[1], "no"), threading.Barrier(16)

    def send(_: int) -> dict[str, Any]:
        at_once.wait()
        return enter(notebook, crack[0], act)

    with ThreadPoolExecutor(16) as threads:
        replies = list(threads.map(send, range(16)))
    assert all(reply == replies[0] for reply in replies)
    assert len(bench_state(notebook, crack[0]).readings) == 1


def test_other_processes_with_one_key_make_one_reading(
    notebook: Notebook, place: NotebookPlace, crack: tuple[int, int]
) -> None:
    """Two processes and this one send the same entry at the same moment: one reading, one reply."""
    act = entry(crack[1], "no")
    command = [sys.executable, "-c", SENDS, str(Path(__file__).parent), place.address]
    running = [subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    for process in running:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    for process in running:
        assert process.stdin is not None
        process.stdin.write(json.dumps({"test": crack[0], "entry": fields(act)}) + "\n")
        process.stdin.flush()
    mine = enter(notebook, crack[0], act)
    assert [json.loads(process.communicate()[0]) for process in running] == [json.loads(json.dumps(mine))] * 2
    assert len(bench_state(notebook, crack[0]).readings) == 1


def test_a_test_is_set_up_once(notebook: Notebook) -> None:
    """Four of eight threads set up under one key: that is one test; the makes are those of the first set-up."""
    act, at_once = a_set_up(), threading.Barrier(8)

    def send(number: int) -> int:
        at_once.wait()
        return set_up_test(notebook, act if number % 2 else a_set_up()).id

    with ThreadPoolExecutor(8) as threads:
        found = list(threads.map(send, range(8)))
    assert len({found[number] for number in (1, 3, 5, 7)}) == 1
    assert len(set(found)) == 5 == len(all_tests(notebook, ""))
    with notebook.read() as tx:
        assert tx.exec_driver_sql("SELECT count(*) FROM make").scalar() == 2


def test_a_key_is_for_one_act_of_one_test(notebook: Notebook, crack: tuple[int, int]) -> None:
    """The key of an entry is refused for a mark, another test's entry and a set-up, and the fault says its use."""
    act = entry(crack[1], "no")
    enter(notebook, crack[0], act)
    other = new_test(notebook).id
    used: list[Callable[[], object]] = [
        lambda: note(notebook, crack[0], Mark(act.key, "tab", "E", act.at, "opened")),
        lambda: enter(notebook, other, replace(act, place=places(notebook, other, "crack")[0].id)),
        lambda: set_up_test(notebook, a_set_up(key=act.key)),
    ]
    for send in used:
        with pytest.raises(BadRequest, match=f"a key that was used for entry in test {crack[0]}"):
            send()
    assert bench_state(notebook, other).revision == bench_state(notebook, crack[0]).revision + 1


@pytest.mark.parametrize("bad", ["", "k" * 201, "a\0b", "a\nb", "\ud800"])
def test_a_key_that_cannot_be_kept(notebook: Notebook, crack: tuple[int, int], bad: str) -> None:
    """An empty or endless key, and one with characters that no database keeps, is refused before anything is done."""
    with pytest.raises(BadRequest) as caught:
        enter(notebook, crack[0], replace(entry(crack[1], "no"), key=bad))
    assert [fault.where for fault in caught.value.faults] == ["key"]


class Broken(Exception):
    """Something that nobody has thought of."""


@pytest.mark.parametrize("fault", [Broken("half way"), Conflict(Fault("test", "finished", "under way", "go on"))])
def test_what_is_raised_half_way_leaves_nothing(
    notebook: Notebook, place: NotebookPlace, crack: tuple[int, int], fault: Exception
) -> None:
    """Work that writes and then fails leaves every table as it was, and its key free for the next attempt."""
    before = {name: place.rows(name) for name in METADATA.tables}
    act, told = key(), []
    notebook.on_change(lambda *change: told.append(change))

    def half_way(tx: Any) -> dict[str, Any]:
        tx.exec_driver_sql("INSERT INTO make (name) VALUES ('Plover')")
        raise fault

    with pytest.raises(type(fault)):
        notebook.submit(act, crack[0], "entry", "tab", half_way)
    assert {name: place.rows(name) for name in METADATA.tables} == before
    assert told == []
    reply = notebook.submit(act, crack[0], "entry", "tab", lambda _: {"status": "kept"})
    assert told == [(crack[0], reply["revision"])]


def test_a_fault_of_an_entry_leaves_its_key_free(notebook: Notebook, crack: tuple[int, int]) -> None:
    """What was no answer may be sent again under the same key, put right."""
    act = entry(crack[1], "perhaps")
    with pytest.raises(BadInput):
        enter(notebook, crack[0], act)
    assert enter(notebook, crack[0], replace(act, text="no"))["status"] == "kept"
    assert len(bench_state(notebook, crack[0]).readings) == 1
