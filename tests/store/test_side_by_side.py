from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

import pytest
from made_tests import LEAGUE, RULE, a_set_up, entry, fill, key, new_test, places, put, sent
from places import NotebookPlace

from ballbench.store import Notebook, open_notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.measure import enter, enter_in
from ballbench.workflows.set_up import BoxPlan, MakePlan, set_up_test
from ballbench.workflows.take_in_test import TakeIn, take_in_test

LONGEST_S = 60.0
"""A test that hangs ends with an error after so long; nothing is measured with it."""


@pytest.fixture
def two(on_server: NotebookPlace) -> Iterator[tuple[Notebook, Notebook]]:
    """One database, opened by two that know nothing of each other."""
    notebooks = open_notebook(on_server.address), open_notebook(on_server.address)
    yield notebooks
    for one in notebooks:
        one.close()


@contextmanager
def half_way(notebook: Notebook, test: int, act: str, work: Callable[[Any], object]) -> Iterator[Future[Any]]:
    """Keep the transaction of an act open that has done its work already; it is kept when the block ends."""
    begun, go_on = threading.Event(), threading.Event()

    def wait(tx: Any) -> dict[str, Any]:
        work(tx)
        begun.set()
        assert go_on.wait(LONGEST_S)
        return {"status": "kept"}

    with ThreadPoolExecutor(1) as thread:
        running = thread.submit(notebook.submit, act, test, "entry", "tab", wait)
        try:
            assert begun.wait(LONGEST_S)
            yield running
        finally:
            go_on.set()
        running.result(LONGEST_S)


def until_one_waits(place: NotebookPlace) -> None:
    """Wait until a session of this database waits for another one's lock."""
    waiting = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'"
    with place.raw() as line:
        while line.execute(waiting).fetchone() == (0,):
            pass


def test_a_test_is_taken_in_while_another_is_read(two: tuple[Notebook, Notebook]) -> None:
    """A reading that is half written keeps nobody from taking a file in; both are whole afterwards."""
    test = new_test(two[0]).id
    at = places(two[0], test, "crack")[0].id
    act = entry(at, "no")
    request = TakeIn(**sent(readings=LEAGUE / "readings.csv", requirement=RULE, corrections=LEAGUE / "corrections.csv"))
    with half_way(two[0], test, act.key, lambda tx: enter_in(tx, test, act)):
        taken = take_in_test(two[1], request)
        later = new_test(two[1])
        list(fill(two[1], later.id))
    assert [one.text for one in bench_state(two[1], test).readings] == ["no"]
    assert len(bench_state(two[0], taken.id).readings) == 574
    assert all(one.filled for one in bench_state(two[0], later.id).places)


def test_two_may_set_up_tests_of_a_new_make_at_once(two: tuple[Notebook, Notebook], on_server: NotebookPlace) -> None:
    """Whoever comes second waits, and has the make that the first wrote."""
    test = new_test(two[0]).id
    request = a_set_up(makes=(MakePlan("Plover", (BoxPlan("P-1", 2),)),))

    def write(tx: Any) -> None:
        tx.exec_driver_sql("INSERT INTO make (name) VALUES ('Plover')")

    with ThreadPoolExecutor(1) as thread:
        with half_way(two[0], test, key(), write):
            second = thread.submit(set_up_test, two[1], request)
            until_one_waits(on_server)
        assert [box.make for box in second.result(LONGEST_S).boxes] == ["Plover"]
    assert sorted(name for _, name in on_server.rows("make")) == ["Curlew", "Dunlin", "Plover"]


def test_two_who_read_one_place_both_count(two: tuple[Notebook, Notebook], on_server: NotebookPlace) -> None:
    """The second waits for the first, is told of its reading, and has the next repeat."""
    test = new_test(two[0]).id
    at = places(two[0], test, "crack")[0].id
    first = entry(at, "no")
    with ThreadPoolExecutor(1) as thread:
        with half_way(two[0], test, first.key, lambda tx: enter_in(tx, test, first)):
            second = thread.submit(enter, two[1], test, entry(at, "yes"))
            until_one_waits(on_server)
        reply = second.result(LONGEST_S)
    kept = bench_state(two[1], test).readings
    assert [(one.text, one.repeat) for one in kept] == [("no", 1), ("yes", 2)]
    assert [one["id"] for one in reply["also"]] == [kept[0].id]


def test_four_who_read_at_once_lose_nothing(notebook: Notebook, place: NotebookPlace) -> None:
    """Four tabs with a notebook of their own read all places of one test at once: every reading, place and number."""
    test = new_test(notebook).id
    wanted = [one.id for one in bench_state(notebook, test).places if one.quantity == "crack"]
    at_once = threading.Barrier(4)

    def reads(number: int) -> list[dict[str, Any]]:
        own = open_notebook(place.address)
        at_once.wait()
        replies = [put(own, test, at, "no", client=f"tab {number}", by=f"reader {number}") for at in wanted]
        own.close()
        return replies

    with ThreadPoolExecutor(4) as threads:
        replies = [reply for own in threads.map(reads, range(4)) for reply in own]
    kept = bench_state(notebook, test).readings
    assert {one.id for one in kept} == {reply["reading"]["id"] for reply in replies}
    assert len(kept) == 4 * len(wanted)
    for at in wanted:
        own = [one for one in kept if one.place == at]
        assert [one.repeat for one in own] == [1, 2, 3, 4]
        assert {one.by for one in own} == {f"reader {number}" for number in range(4)}
    assert len(place.rows("submission")) == 1 + 4 * len(wanted)
