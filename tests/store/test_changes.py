from __future__ import annotations

import threading

import pytest
from made_tests import entry, fill, new_test, places, put, sent

from ballbench.errors import BadInput
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Mark, Spoil
from ballbench.workflows.measure import enter, spoil
from ballbench.workflows.sittings import note


@pytest.fixture
def two_tests(notebook: Notebook) -> tuple[dict[int, list[dict[str, object]]], list[tuple[int, int]]]:
    """Two tests read by turns: the replies of each, and what a listener was told."""
    told: list[tuple[int, int]] = []
    notebook.on_change(lambda test, revision: told.append((test, revision)))
    tests = [new_test(notebook).id for _ in range(2)]
    replies: dict[int, list[dict[str, object]]] = {test: [] for test in tests}
    for at in range(6):
        for test in tests:
            where = places(notebook, test, "crack")[at].id
            replies[test].append(spoil(notebook, test, Spoil(**sent(place=where, reason="dropped"))))
            replies[test].append(put(notebook, test, where, "no"))
            replies[test].append(note(notebook, test, Mark(**sent(kind="impact", value=1.0))))
    return replies, told


def test_revisions_grow_over_the_whole_notebook(
    two_tests: tuple[dict[int, list[dict[str, object]]], list[tuple[int, int]]],
) -> None:
    """Each act has a number above all before, in whichever test, and whoever listens hears of each once, in order."""
    replies, told = two_tests
    revisions = [int(str(reply["revision"])) for own in replies.values() for reply in own]
    assert len(set(revisions)) == len(revisions) == 36
    heard = [revision for _, revision in told]
    assert heard == sorted(set(heard))
    assert [revision for test, revision in told if test in replies][2:] == sorted(revisions)
    for test, own in replies.items():
        assert [revision for of, revision in told if of == test][1:] == [reply["revision"] for reply in own]


@pytest.mark.parametrize("limit", [1, 4, 500])
def test_changes_come_once_and_in_order_however_they_are_asked_for(
    notebook: Notebook, two_tests: tuple[dict[int, list[dict[str, object]]], list[tuple[int, int]]], limit: int
) -> None:
    """Page by page of any length, from any revision: exactly the replies of that test, as they were sent."""
    for test, own in two_tests[0].items():
        found, after = [], 0
        while page := notebook.changes(test, after, limit):
            assert len(page) <= limit
            found += page
            after = page[-1].revision
        assert [change.kind for change in found[:4]] == ["set up", "spoiled", "entry", "noted"]
        assert [change.reply for change in found[1:]] == own
        assert {change.client for change in found} == {"tab"}
        for position, change in enumerate(found):
            assert notebook.changes(test, change.revision, limit) == tuple(found[position + 1 :][:limit])
        assert bench_state(notebook, test).revision == after


def test_what_is_refused_or_sent_again_is_no_change(notebook: Notebook) -> None:
    """A text that is no answer, and an entry under a known key, tell nobody anything."""
    test = new_test(notebook).id
    at = places(notebook, test, "crack")[0].id
    act = entry(at, "no")
    enter(notebook, test, act)
    before, told = notebook.changes(test, 0), []
    notebook.on_change(lambda *change: told.append(change))
    enter(notebook, test, act)
    with pytest.raises(BadInput):
        enter(notebook, test, entry(at, "perhaps"))
    assert notebook.changes(test, 0) == before
    assert told == []


def test_a_follower_misses_nothing_while_it_is_written(notebook: Notebook) -> None:
    """Somebody who asks for what came after the last revision it saw, all the while, sees every act once, in order."""
    test = new_test(notebook).id
    done, seen = threading.Event(), []

    def follow() -> None:
        after, last = 0, False
        while not last:
            last = done.is_set()
            page = notebook.changes(test, after)
            seen.extend(page)
            after = page[-1].revision if page else after

    thread = threading.Thread(target=follow)
    thread.start()
    try:
        replies = list(fill(notebook, test))
    finally:
        done.set()
        thread.join()
    assert [change.revision for change in seen] == sorted({change.revision for change in seen})
    kept = [change.reply for change in seen if change.reply.get("status") == "kept"]
    assert [reply["reading"] for reply in kept] == [reply["reading"] for reply in replies]
