"""Sittings, and what else is noted at the bench: temperatures, zeroed instruments, impacts, conditioning."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.records.ball_test import Ball, BallTest, Sitting
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of
from ballbench.store.bench import (
    begin_sitting,
    end_sitting,
    finish_test,
    open_sitting,
    sitting_spans,
    sittings_of,
    write_mark,
)
from ballbench.store.moments import seconds_of
from ballbench.workflows.balls_on_bench import balls_on_bench
from ballbench.workflows.bench_requests import BeginSitting, EndSitting, Finish, Mark, Sent
from ballbench.workflows.blind import as_shown
from ballbench.workflows.sending import digest_of, holds, moment, refuse, sent_faults, sitting_for, under_way, who
from ballbench.workflows.set_up_check import name_fault

__all__ = ["MARKS", "OF_THE_ROOM", "begin", "end", "finish", "note", "value_fault"]

MARKS = {
    "zeroed": None, "air temperature": (-20.0, 60.0), "ball temperature": (-20.0, 80.0), "humidity": (0.0, 100.0),
    "air pressure": (500.0, 1100.0), "impact": (0.0, 10_000.0), "conditioning begun": None,
    "conditioning ended": None, "opened": None, "pressure": (0.0, 1000.0),
}  # fmt: skip
"""What can be noted, and between what its value must lie: degC, % relative humidity, hPa, impacts, kPa above that of
the air; None: it has none. The ranges only refuse what was mistyped (own choice)."""

OF_THE_ROOM = ("zeroed", "air temperature", "humidity", "air pressure")
"""What is noted of an instrument or of the room, and is no fact of a ball."""


def begin(notebook: Notebook, test_id: int, request: BeginSitting) -> Reply:
    """Begin a sitting.

    Raises
    ------
    BadInput
        No such test, it is finished, a sitting goes on, or its name is taken.
    """
    refuse(_sitting_faults(request))

    def work(tx: Tx) -> Reply:
        under_way(tx, test_id)
        known = sittings_of(tx, test_id)
        going_on = next((one for one in known if one.ended is None), None)
        if going_on is not None:
            found = f"sitting {going_on.label}, begun {going_on.begun[:16]}"
            raise Conflict(Fault("sitting", found, "one sitting at a time", "join it, or end it first"))
        if request.label.strip() in {one.label for one in known}:
            raise Conflict(Fault("label", request.label, "a name of its own", "leave it empty, or name it otherwise"))
        at = request.at or moment()
        number = begin_sitting(tx, test_id, request.kind, request.label.strip(), request.by.strip(), at)
        for kind, value in (("air temperature", request.air_c), ("ball temperature", request.ball_c)):
            if value is not None:
                row = {"sitting_id": number, "ball_id": None, "kind": kind, "value": value, "note": ""}
                write_mark(tx, {**row, **who(request, test_id)})
        return {"status": "begun", "sitting": asdict(_sitting(tx, test_id, number))}

    return notebook.submit(request.key, test_id, "sitting begun", request.client, work, digest_of(request))


def _sitting_faults(request: BeginSitting) -> Iterator[Fault]:
    yield from sent_faults(request)
    if request.kind not in {"bench", "paper"}:
        yield Fault("kind", request.kind, "bench or paper", "choose one of them")
    if request.label:
        yield from name_fault("label", request.label, "the sitting's name")
    for field, kind, value in (
        ("air_c", "air temperature", request.air_c),
        ("ball_c", "ball temperature", request.ball_c),
    ):
        if value is not None:
            yield from value_fault(field, kind, value)


def value_fault(where: str, kind: str, value: float | None) -> Iterator[Fault]:
    """Say what is wrong with the value of a mark of a known kind."""
    limits = MARKS[kind]
    if limits is None:
        if value is not None:
            yield Fault(where, f"{value:g}", f"no value for {kind}", "leave it out")
        return
    lowest, highest = limits
    if value is None or not lowest <= value <= highest:
        found = "nothing" if value is None else f"{value:g}"
        yield Fault(where, found, f"a number from {lowest:g} to {highest:g}", "look again")
    elif kind == "impact" and value != round(value):
        yield Fault(where, f"{value:g}", "a whole number", "count again")


def end(notebook: Notebook, test_id: int, request: EndSitting) -> Reply:
    """End the sitting that goes on.

    Raises
    ------
    BadInput
        No such test, no sitting goes on, or another was meant, which is over already.
    """
    refuse(sent_faults(request))

    def work(tx: Tx) -> Reply:
        ball_test_of(tx, test_id)
        row = open_sitting(tx, test_id)
        if row is None:
            raise Conflict(Fault("sitting", "none", "a sitting that goes on", "begin one first"))
        _refuse_late_end(tx, test_id, row, request)
        end_sitting(tx, row.id, _end_of(row, request))
        return {"status": "ended", "sitting": asdict(_sitting(tx, test_id, row.id))}

    return notebook.submit(request.key, test_id, "sitting ended", request.client, work, digest_of(request))


def _refuse_late_end(tx: Tx, test_id: int, row: Any, request: EndSitting) -> None:
    """Refuse to end a sitting that was begun after the end of another was sent, which waited somewhere."""
    at = seconds_of(request.at or moment())
    before = [one for one in sitting_spans(tx, test_id) if one.ended is not None and holds(one, at)]
    if before and at < seconds_of(row.begun):
        found = f"the end of sitting {before[-1].label}, which is over already"
        raise Conflict(Fault("sitting", found, "the end of the one that goes on", "leave it, or end the new one"))


def _end_of(row: Any, request: Sent) -> str:
    """Give the moment at which a sitting ends: that of the act, and not before its begin, as clocks may say."""
    at = request.at or moment()
    return str(row.begun) if seconds_of(at) < seconds_of(row.begun) else at


def note(notebook: Notebook, test_id: int, request: Mark) -> Reply:
    """Note what else happened, to one ball, to all of them, or at the bench.

    Raises
    ------
    BadInput
        No such test or ball, an unknown kind, or a value out of range.
    """
    refuse(_mark_faults(request))

    def work(tx: Tx) -> Reply:
        under_way(tx, test_id)
        if request.ball is not None and request.ball not in {row.id for row in balls_of(tx, test_id)}:
            found = f"no ball {request.ball} in this test"
            raise BadRequest(Fault("ball", found, "a ball of this test, or none for all", "load the page again"))
        sitting = sitting_for(tx, request, test_id)
        row = {"sitting_id": sitting, "ball_id": request.ball, "kind": request.kind, "value": request.value,
               "note": request.note.strip()}  # fmt: skip
        write_mark(tx, {**row, **who(request, test_id)})
        return {"status": "noted", "balls": [asdict(one) for one in _concerned(tx, test_id, request)],
                "sitting": asdict(_sitting(tx, test_id, sitting))}  # fmt: skip

    return notebook.submit(request.key, test_id, "noted", request.client, work, digest_of(request))


def _concerned(tx: Tx, test_id: int, request: Mark) -> tuple[Ball, ...]:
    """Give the balls of which a mark tells something, as they are now."""
    if request.kind in OF_THE_ROOM:
        return ()
    return balls_on_bench(tx, ball_test_of(tx, test_id), request.ball)


def _mark_faults(request: Mark) -> Iterator[Fault]:
    yield from sent_faults(request)
    if request.kind not in MARKS:
        yield Fault("kind", request.kind or "nothing", ", ".join(MARKS), "choose one of them")
    else:
        yield from value_fault("value", request.kind, request.value)
    if request.note:
        yield from name_fault("note", request.note, "it")


def finish(notebook: Notebook, test_id: int, request: Finish) -> BallTest:
    """Finish a test: its sitting ends, and a blind test shows what it hid. Or take it up again.

    Raises
    ------
    BadInput
        No such test, or it stands so already.
    """
    refuse(sent_faults(request))

    def work(tx: Tx) -> Reply:
        test = ball_test_of(tx, test_id)
        if (test.stage == "finished") != request.again:
            found = f"a test that is {test.stage}"
            raise Conflict(Fault("test", found, "one that is not so yet", "load the page again"))
        row = open_sitting(tx, test_id)
        if row is not None and not request.again:
            end_sitting(tx, row.id, _end_of(row, request))
        finish_test(tx, test_id, None if request.again else request.at or moment())
        return {"status": "taken up again" if request.again else "finished"}

    notebook.submit(request.key, test_id, "finish", request.client, work, digest_of(request))
    with notebook.read() as tx:
        return as_shown(ball_test_of(tx, test_id))


def _sitting(tx: Tx, test_id: int, number: int) -> Sitting:
    return next(one for one in sittings_of(tx, test_id) if one.id == number)
