"""Hold a notebook against the model of what it should hold."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from notebook_model import TestModel

from ballbench.records import amend, read_corrections, read_readings
from ballbench.records.bench_state import BenchState
from ballbench.store import Notebook
from ballbench.workflows.exchange import export_test
from ballbench.workflows.keep import one_test

__all__ = ["bench_agrees", "changes_agree", "files_agree", "sittings_agree"]


def bench_agrees(state: BenchState, test: TestModel) -> None:
    """Every acknowledged reading is there once, in order, unchanged; places, balls and questions are as they should."""
    assert [_told(one) for one in state.readings] == [_wanted(one) for one in test.readings]
    places = {one.id: (one.filled, one.put_off, one.spoiled) for one in state.places}
    assert places == {place: (test.filled(place), test.put_off[place], test.spoiled[place]) for place in test.places}
    assert [one.order for one in state.places] == sorted({one.order for one in state.places})
    assert {one.place: (one.key, one.text) for one in state.questions} == test.questions
    assert {ball.id: ball.impacts for ball in state.balls} == {ball: test.impacts(ball) for ball in test.balls}
    hidden = test.blind and not test.finished
    for ball in state.balls:
        make, box, label = test.balls[ball.id]
        assert (ball.make, ball.box, ball.label) == ((None, None, ball.number) if hidden else (make, box, label))
    assert (state.test.boxes == ()) == hidden
    assert state.test.stage == test.stage
    going_on = test.sittings[-1]["label"] if test.sittings and not test.sittings[-1]["ended"] else None
    assert (None if state.sitting is None else state.sitting.label) == going_on
    assert state.revision >= len(test.replies)


def _told(one: Any) -> tuple[Any, ...]:
    answer = one.answer if not one.corrected_text else one.corrected_text == "yes"
    holds = answer if one.value is None else one.holds
    said = (one.id, one.place, one.text, one.by, one.at, one.repeat, one.confirmed, one.standing, one.corrected_text)
    return (*said, holds, one.stands)


def _wanted(one: Any) -> tuple[Any, ...]:
    said = (one.id, one.place, one.text, one.by, one.at, one.repeat, one.confirmed, one.standing, one.right)
    return (*said, one.holds, one.stands)


def sittings_agree(notebook: Notebook, test: TestModel) -> None:
    """Sittings have their names, people and ends, and every reading is in its own."""
    told = [line.sitting for line in one_test(notebook, test.id).sittings]
    assert [(one.label, list(one.by), one.ended is not None) for one in told] == [
        (one["label"], one["by"] or [one["begun"]], one["ended"]) for one in test.sittings
    ]
    with notebook.read() as tx:
        own = "SELECT r.id, s.label FROM reading r JOIN sitting s ON s.id = r.sitting_id"
        labels = {number: label for number, label in tx.exec_driver_sql(own)}  # noqa: C416 - rows become pairs
    assert {one.id: labels[one.id] for one in test.readings} == {one.id: one.sitting for one in test.readings}


def changes_agree(notebook: Notebook, test: TestModel) -> None:
    """Everything that was acknowledged comes once, in order, with the reply that was given; revisions grow."""
    changes = notebook.changes(test.id, 0, 100_000)
    assert [change.revision for change in changes] == sorted({change.revision for change in changes})
    assert changes[0].kind == "set up"
    told = [change.reply for change in changes[1:]]
    assert len(told) == len(test.replies)
    assert all(reply is None or reply == own for reply, own in zip(test.replies, told, strict=True))


def files_agree(notebook: Notebook, test: TestModel) -> None:
    """The exported files, read as `judge` reads them, give the standing values."""
    read = [one for one in test.readings if test.what(one.place)[0] is not None]
    if not read:
        return
    with tempfile.TemporaryDirectory() as folder:
        files = export_test(notebook, test.id, Path(folder))
        readings = read_readings(files.readings, {"crack": "1"})
        amended = amend(readings, read_corrections(files.corrections) if files.corrections is not None else None)
    assert readings.table.height == len(read)
    columns = ("product", "box", "ball", "quantity", "axis", "repeat")
    found = [
        (*(row[name] for name in columns), row["answer"] if row["value"] is None else row["value"], row["operator"])
        for row in amended.readings.table.iter_rows(named=True)
    ]
    assert sorted(found, key=repr) == test.standing_values()
