from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from threading import Event
from typing import Any

import pytest
from made_tests import new_test, sent
from sqlalchemy import event

from ballbench.errors import BadNotebook, BadRequest, Fault
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.bench import marks_of, write_mark

LONGEST_S = 60.0
"""A test that hangs ends with an error after so long; nothing is measured with it."""

Submit = Callable[[str, Callable[[Tx], Reply]], Future[Reply]]


@pytest.fixture
def test(notebook: Notebook) -> int:
    """A test of the notebook, nothing read yet."""
    return new_test(notebook).id


def marking(test: int, act: str, *, fail: Exception | None = None, kind: Any = "zeroed") -> Any:
    """Give work that writes a mark, and may then fail."""

    def work(tx: Tx) -> Reply:
        row = {"sitting_id": None, "ball_id": None, "kind": kind, "value": None, "note": "", "by": "E"}
        write_mark(tx, {**row, "key": act, "test_id": test, "at": sent()["at"]})
        if fail is not None:
            raise fail
        return {"status": "noted"}

    return work


@contextmanager
def waiting(notebook: Notebook, test: int) -> Iterator[Submit]:
    """Let acts be submitted while one before them is half done; when the block ends it is kept, and they come on."""
    begun, go_on, sent_off = Event(), Event(), []

    def hold(_: Tx) -> Reply:
        begun.set()
        assert go_on.wait(LONGEST_S)
        return {"status": "held"}

    with ThreadPoolExecutor(10) as pool:

        def submit(act: str, work: Callable[[Tx], Reply]) -> Future[Reply]:
            sent_off.append(pool.submit(notebook.submit, act, test, "noted", "tab", work))
            while len(notebook._turns._waiting) < len(sent_off):
                pass  # until it waits too, so that they wait in this order
            return sent_off[-1]

        pool.submit(notebook.submit, "first", test, "held", "tab", hold)
        assert begun.wait(LONGEST_S)
        try:
            yield submit
        finally:
            go_on.set()


def acts_of(notebook: Notebook, test: int) -> list[int]:
    """Revisions of everything that was noted in a test, in order."""
    return [change.revision for change in notebook.changes(test, 0) if change.kind == "noted"]


def marks_in(notebook: Notebook, test: int) -> list[str]:
    """Keys of the acts whose marks the notebook holds, in order."""
    with notebook.read() as tx:
        return [row.key for row in marks_of(tx, test)]


def test_what_waits_together_is_on_the_disk_at_once_before_it_is_answered(notebook: Notebook, test: int) -> None:
    """Seven that wait behind one are one transaction, in the order in which they came; none is answered before it."""
    replies: list[Future[Reply]] = []
    commits: list[list[bool]] = []

    @event.listens_for(notebook._writer, "commit")
    def note(_: Any) -> None:
        commits.append([one.done() for one in replies])

    with waiting(notebook, test) as submit:
        replies += [submit(str(number), marking(test, str(number))) for number in range(7)]
    event.remove(notebook._writer, "commit", note)
    assert commits == [[False] * 7] * 2
    assert [one.result()["revision"] for one in replies] == acts_of(notebook, test)
    assert marks_in(notebook, test) == [str(number) for number in range(7)]


def test_one_that_is_refused_leaves_its_neighbours(notebook: Notebook, test: int) -> None:
    """Of five that are written together the third fails after it wrote: it alone leaves nothing, and gets its fault."""
    refused = BadRequest(Fault("mark", "a wrong one", "a right one", "write it anew"))
    with waiting(notebook, test) as submit:
        replies = [submit(act, marking(test, act, fail=refused if act == "2" else None)) for act in "01234"]
    assert replies.pop(2).exception() is refused
    assert [one.result()["revision"] for one in replies] == acts_of(notebook, test)
    assert marks_in(notebook, test) == ["0", "1", "3", "4"]
    notebook.submit("2", test, "noted", "tab", marking(test, "2"))
    assert marks_in(notebook, test) == ["0", "1", "3", "4", "2"]


def test_one_that_the_database_refuses_leaves_its_neighbours(notebook: Notebook, test: int) -> None:
    """Where the database itself ends the transaction of five, the other four are kept all the same, each once."""
    with waiting(notebook, test) as submit:
        replies = [submit(act, marking(test, act, kind=None if act == "1" else "zeroed")) for act in "01234"]
    assert isinstance(replies.pop(1).exception(), BadNotebook)
    assert [one.result()["revision"] for one in replies] == acts_of(notebook, test)
    assert marks_in(notebook, test) == ["0", "2", "3", "4"]


def test_one_act_that_waits_several_times_is_done_once(notebook: Notebook, test: int) -> None:
    """An act that is sent again while it waits is answered as the first time."""
    with waiting(notebook, test) as submit:
        replies = [submit("act", marking(test, "act")) for _ in range(3)]
    assert [one.result() for one in replies] == [replies[0].result()] * 3
    assert marks_in(notebook, test) == ["act"]
