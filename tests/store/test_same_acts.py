from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from made_tests import LEAGUE, RULE, a_set_up, read, time_of
from places import NotebookPlace

from ballbench.store import Notebook, open_notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import EndSitting, Entry, Finish, Mark, PutOff, ReadAgain, Spoil, TakeBack
from ballbench.workflows.correct import Amend, amend_readings, history
from ballbench.workflows.exchange import export_file
from ballbench.workflows.keep import one_test
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.measure import enter, put_off_place, read_again, spoil, take_back
from ballbench.workflows.set_up import set_up_test
from ballbench.workflows.sittings import end, finish, note
from ballbench.workflows.take_in_test import TakeIn, take_in_test


def an_evening(notebook: Notebook) -> Iterator[object]:
    """A whole test with everything that happens at a bench, then one that is taken in; every act has its own time."""
    rng = np.random.default_rng(11)
    act = ({"key": f"act {n}", "client": "tab", "by": "EM"[n % 2], "at": time_of(10 * n)} for n in range(10_000))
    test = set_up_test(notebook, a_set_up(**next(act))).id
    for number, place in enumerate(bench_state(notebook, test).places):
        doing = rng.integers(10)
        if doing == 0:
            yield spoil(notebook, test, Spoil(**next(act), place=place.id, reason="slipped in the jaws"))
        if doing == 1:
            yield put_off_place(notebook, test, PutOff(**next(act), place=place.id))
        reply = enter(notebook, test, Entry(**next(act), place=place.id, text=read(place, number)))
        yield reply
        kept = reply["reading"]
        if kept is not None and place.ball is not None:
            yield from _afterwards(notebook, test, kept, int(doing), act)
    yield end(notebook, test, EndSitting(**next(act)))
    yield finish(notebook, test, Finish(**next(act)))
    files = {name: LEAGUE / f"{name}.csv" for name in ("readings", "corrections", "balls")}
    yield take_in_test(notebook, TakeIn(**next(act), requirement=RULE, bench=LEAGUE / "bench.toml", **files))


def _afterwards(
    notebook: Notebook, test: int, kept: dict[str, Any], doing: int, act: Iterator[dict[str, str]]
) -> Iterator[object]:
    """What may be done with a reading that was just kept."""
    right = "yes" if kept["answer"] is not None else kept["text"]
    amend = {"readings": (kept["id"],), "reason": "paper sheet"}
    if doing == 2:
        yield take_back(notebook, test, TakeBack(**next(act), reading=kept["id"]))
    if doing == 3:
        yield amend_readings(notebook, test, Amend(**next(act), **amend, action="correct", text=right))
    if doing == 4:
        yield amend_readings(notebook, test, Amend(**next(act), **amend, action="exclude"))
    if doing == 5:
        yield note(notebook, test, Mark(**next(act), kind="impact", value=2.0, ball=kept["ball"]))
    if doing == 6:
        again = {name: kept[name] for name in ("ball", "quantity", "axis")}
        yield read_again(notebook, test, ReadAgain(**next(act), **again, reason="odd"))


def told(notebook: Notebook) -> dict[str, object]:
    """Everything that the notebook tells of its tests."""
    ids = [line.id for line in all_tests(notebook, "")]
    return {
        "lines": all_tests(notebook, ""),
        "benches": [{**asdict(bench_state(notebook, test)), "notebook": ""} for test in ids],
        "pages": [one_test(notebook, test) for test in ids],
        "histories": [history(notebook, test) for test in ids],
        "changes": [notebook.changes(test, 0, 10_000) for test in ids],
        "files": [
            {line.name: export_file(notebook, test, line.name) for line in one_test(notebook, test).files}
            for test in ids
        ],
    }


def test_the_same_acts_make_the_same_notebook_on_both_databases(tmp_path: Path, on_server: NotebookPlace) -> None:
    """Replies, benches, pages, changes and every byte of the files are equal, from a folder and from a server."""
    found = []
    for place in (str(tmp_path / "notebook"), on_server.address):
        notebook = open_notebook(place)
        replies = list(an_evening(notebook))
        found.append({"replies": replies, **told(notebook)})
        notebook.close()
    in_folder, at_server = found
    assert len(in_folder["replies"]) > 50
    for name, value in in_folder.items():
        assert at_server[name] == value, name
