"""Correct, exclude or keep a reading with a reason; the reading itself never changes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any

from ballbench.errors import BadReadings, BadRequest, Fault
from ballbench.presentation.screens.corrections_page import CorrectionsPage, HistoryLine
from ballbench.records.bench_state import KeptReading
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of, instrument_of, quantity_of, references_of, written_of
from ballbench.store.bench import place_of
from ballbench.store.readings import amendments_of, reading_of, readings_of, write_amendment
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_questions import question_about
from ballbench.workflows.bench_requests import Entry, Sent
from ballbench.workflows.blind import is_hidden, refuse_while_hidden
from ballbench.workflows.sending import digest_of, refuse, sent_faults, who
from ballbench.workflows.set_up_check import name_fault
from ballbench.workflows.typed_reading import typed_for

__all__ = ["MOST_AT_ONCE", "Amend", "amend_readings", "corrections", "history"]

_ACTIONS = ("correct", "exclude", "keep")
MOST_AT_ONCE = 5_000


@dataclass(frozen=True, slots=True)
class Amend(Sent):
    """What to say of readings.

    Parameters
    ----------
    readings : tuple of int
        Which; several only to exclude or to keep, all for one reason.
    action : {"correct", "exclude", "keep"}
        ``keep``: it stands as read, and what was said before no longer holds.
    reason : str
        Why; never empty.
    text : str
        The right value as it would be typed, for ``correct``; without a unit it is in that of the reading.
    """

    readings: tuple[int, ...]
    action: str
    reason: str
    text: str = ""


def amend_readings(notebook: Notebook, test_id: int, request: Amend) -> Reply:
    """Say of readings that they are wrong, do not count, or stand as read.

    Raises
    ------
    BadInput
        No such test or reading, no reason, or a right value that is none; nothing of it is kept.
    """
    refuse(_faults(request))

    def work(tx: Tx) -> Reply:
        written_of(tx, test_id)
        for number in request.readings:
            one = reading_of(tx, test_id, number)
            row = {"reading_id": one.id, "action": request.action, "reason": request.reason.strip()}
            write_amendment(tx, {**row, **_right(tx, test_id, one, request), **who(request, test_id)})
        amended = [asdict(reading_of(tx, test_id, number)) for number in request.readings]
        return {"status": _STATUS[request.action], "readings": amended}

    return notebook.submit(request.key, test_id, "amended", request.client, work, digest_of(request))


_STATUS = {"correct": "corrected", "exclude": "excluded", "keep": "kept"}


def _faults(request: Amend) -> Iterator[Fault]:
    yield from sent_faults(request)
    yield from name_fault("reason", request.reason, "why, in a few words")
    if request.action not in _ACTIONS:
        yield Fault("action", request.action or "nothing", ", ".join(_ACTIONS), "choose one of them")
    if not 1 <= len(set(request.readings)) <= MOST_AT_ONCE or len(set(request.readings)) < len(request.readings):
        found = f"{len(request.readings)} readings"
        yield Fault("readings", found, f"1 to {MOST_AT_ONCE}, each once", "choose the readings")
    if request.action == "correct" and len(request.readings) > 1:
        yield Fault("readings", f"{len(request.readings)} readings", "one at a time to correct", "correct them singly")
    if request.action != "correct" and request.text:
        yield Fault("text", request.text[:40], f"no value for {request.action}", "leave it out")


def _right(tx: Tx, test_id: int, one: KeptReading, request: Amend) -> dict[str, Any]:
    """Give the right value as columns."""
    if request.action != "correct":
        return {"text": "", "unit": ""}
    if one.reference is not None:
        found = "a reading of a reference piece"
        raise BadRequest(
            Fault("readings", found, "a reading of a ball to correct", "exclude it, or read the piece again")
        )
    quantity = quantity_of(tx, test_id, one.quantity)
    try:
        typed = typed_for(quantity, request.text, one.unit)
    except BadReadings as error:  # which calls it an entry, as at the bench
        raise BadReadings([replace(fault, where="text") for fault in error.faults]) from error
    tool = instrument_of(tx, test_id, one.instrument, one.quantity)
    entry = Entry(key=request.key, client="", by=request.by, at="", place=one.place, text=request.text)
    asked = question_about(tx, place_of(tx, test_id, one.place), quantity, typed, tool, entry, blind=False)
    if asked is not None and asked.gross:
        found = f"{typed.text} {typed.unit}".strip()
        todo = f"look again: {asked.why}; or exclude the reading, and read the ball again"
        raise BadRequest(Fault("text", found, "a value that can be true of this ball", todo))
    return {"text": typed.text, "value": typed.value, "answer": typed.answer, "decimals": typed.decimals,
            "unit": typed.unit}  # fmt: skip


def history(notebook: Notebook, test_id: int) -> tuple[HistoryLine, ...]:
    """Give everything that was said of the readings of a test, newest first.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It is blind and under way: values are hidden until it is finished.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        refuse_while_hidden(test)
        rows = amendments_of(tx, test_id)
        read = {one.id: one for one in readings_of(tx, test_id)}
        names = {row.id: f"ball {row.number}" for row in balls_of(tx, test_id)}
        pieces = {piece.id: piece.name for piece in references_of(tx, test_id)}
    words = {one.name: one.words for one in test.quantities}
    holds = {number: _shown(one.text, one.unit) for number, one in read.items()}
    lines = []
    for row in rows:
        one, before = read[row.reading_id], holds[row.reading_id]
        after = {"correct": _shown(row.text, row.unit), "keep": _shown(one.text, one.unit)}.get(row.action, "")
        holds[row.reading_id] = after
        whose = names[one.ball] if one.ball is not None else pieces[one.reference or 0]
        which = ", ".join(part for part in (whose, words[one.quantity], one.axis, f"reading {one.repeat}") if part)
        lines.append(HistoryLine(row.at, row.by, _SAID[row.action], which, before, after, row.reason))
    return tuple(reversed(lines))


_SAID = {"correct": "corrected", "exclude": "excluded", "keep": "kept as read", "take back": "taken back"}


def _shown(text: str, unit: str) -> str:
    return text if unit in {"", "1"} else f"{text} {unit}"


def corrections(notebook: Notebook, test_id: int) -> CorrectionsPage:
    """Give the page of a test's readings and of what was said of them.

    Raises
    ------
    NotFound
        There is no such test.
    """
    state = bench_state(notebook, test_id)
    return CorrectionsPage(state, () if is_hidden(state.test) else history(notebook, test_id))
