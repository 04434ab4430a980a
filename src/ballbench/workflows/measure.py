"""Measure: take an entry in, ask about it, keep it; take back, spoil, put off, read again."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.records.bench_gate import Asked
from ballbench.records.entry import Typed
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import instrument_of, quantity_of
from ballbench.store.bench import add_place, place_of, put_off, written_place
from ballbench.store.readings import (
    asked_of,
    next_repeat,
    reading_of,
    standing_at,
    write_amendment,
    write_attempt,
    write_reading,
)
from ballbench.workflows.bench_questions import question_about
from ballbench.workflows.bench_requests import Entry, PutOff, ReadAgain, Spoil, TakeBack
from ballbench.workflows.instrument_check import check_piece
from ballbench.workflows.sending import digest_of, refuse, sent_faults, sitting_for, under_way, who
from ballbench.workflows.set_up_check import name_fault
from ballbench.workflows.typed_reading import typed_for

__all__ = ["SPOILED_REASONS", "enter", "enter_in", "put_off_place", "read_again", "spoil", "take_back"]

SPOILED_REASONS = (
    "slipped in the jaws", "hit the tube", "spun", "dropped", "display jumped", "wrong ball", "cracked", "other",
)  # fmt: skip
"""To choose from at the bench; any other reason may be written."""

_TAKEN_BACK = "taken back at the bench"
_CONFIRMED = "asked about at the bench, typed again and kept as read"


def enter(notebook: Notebook, test_id: int, request: Entry) -> Reply:
    """Take in what was typed for a place.

    Parameters
    ----------
    notebook : Notebook
        Where it is kept.
    test_id : int
        Which test.
    request : Entry
        What was typed.

    Returns
    -------
    dict
        ``status`` ``kept`` with the ``reading``, the ``check`` it was (a reference piece) and ``also``, further
        readings that stand at the same place; or ``asked`` with the ``question``, and nothing kept as a reading.

    Raises
    ------
    BadInput
        No such place, or the text is no reading; nothing of it is kept.
    """
    refuse(sent_faults(request))
    return notebook.submit(
        request.key, test_id, "entry", request.client, lambda tx: enter_in(tx, test_id, request), digest_of(request)
    )


def enter_in(tx: Tx, test_id: int, request: Entry, note: str = "") -> Reply:
    """Take an entry in within a transaction that writes more than it; `note` stands beside the reading."""
    test = under_way(tx, test_id)
    place = place_of(tx, test_id, request.place)
    quantity = quantity_of(tx, test_id, place.quantity)
    tool = instrument_of(tx, test_id, quantity.instrument, quantity.name) if quantity.instrument else None
    typed = typed_for(quantity, request.text, "" if tool is None else tool.unit)
    sitting = sitting_for(tx, request, test_id)
    confirmed = _confirms(tx, test_id, request, typed)
    asked = None if confirmed else question_about(tx, place, quantity, typed, tool, request, blind=test.blind)
    if asked is not None:
        return _ask(tx, test_id, request, sitting, asked, typed)
    also = standing_at(tx, test_id, place.id)
    columns = {"instrument_id": None if tool is None else tool.id, "confirmed": confirmed, "sitting_id": sitting}
    number = write_reading(tx, {**columns, **_columns(tx, place, typed, request), "note": note})
    if confirmed:
        row = {"action": "keep", "text": "", "unit": "", "reason": _CONFIRMED, **who(request, test_id)}
        write_amendment(tx, {**row, "reading_id": number})
    check = None if place.reference_id is None else check_piece(tx, place, number, quantity.unit, typed, tool, sitting)
    return {
        "status": "kept", "reading": asdict(reading_of(tx, test_id, number)), "question": None,
        "check": None if check is None else asdict(check), "also": [asdict(one) for one in also],
    }  # fmt: skip


def _confirms(tx: Tx, test_id: int, request: Entry, typed: Typed) -> bool:
    """Say whether the entry repeats one that was asked about, at the same place and with the same value."""
    if not request.confirms:
        return False
    asked = asked_of(tx, test_id, request.confirms)
    if asked is None or asked.place_id != request.place:
        found = "a key of no question at this place"
        raise BadRequest(
            Fault("confirms", found, "the key of the entry that was asked about", "type it as a new entry")
        )
    return bool(asked.text == typed.text and asked.unit == typed.unit)


def _ask(tx: Tx, test_id: int, request: Entry, sitting: int, asked: Asked, typed: Typed) -> Reply:
    row = {
        "sitting_id": sitting, "place_id": request.place, "kind": "asked", "text": typed.text, "unit": typed.unit,
        "why": asked.why, "gross": asked.gross, **who(request, test_id),
    }  # fmt: skip
    write_attempt(tx, row)
    question = {
        "key": request.key, "place": request.place, "text": typed.text, "unit": typed.unit, "why": asked.why,
        "by": request.by,
        "at": row["at"],
    }  # fmt: skip
    return {"status": "asked", "reading": None, "question": question, "check": None, "also": []}


def _columns(tx: Tx, place: Any, typed: Typed, request: Entry) -> dict[str, Any]:
    """Give what was typed, and where, as columns of a reading."""
    return {
        "place_id": place.id, "ball_id": place.ball_id, "reference_id": place.reference_id,
        "quantity": place.quantity, "axis": place.axis, "repeat": next_repeat(tx, place), "text": typed.text,
        "value": typed.value, "answer": typed.answer, "decimals": typed.decimals, "unit": typed.unit,
        "client": request.client, **who(request, place.test_id),
    }  # fmt: skip


def take_back(notebook: Notebook, test_id: int, request: TakeBack) -> Reply:
    """Take a reading back: a reasoned line beside it; the reading itself stays.

    Raises
    ------
    BadInput
        No such reading, or it was taken back or excluded before.
    """
    refuse(sent_faults(request))

    def work(tx: Tx) -> Reply:
        under_way(tx, test_id)
        one = reading_of(tx, test_id, request.reading)
        if not one.stands:
            found = f"a reading that is {one.standing} already"
            raise Conflict(Fault("reading", found, "a reading that stands", "load the page again"))
        reason = request.reason.strip() or _TAKEN_BACK
        row = {"reading_id": one.id, "action": "take back", "text": "", "unit": "", "reason": reason}
        write_amendment(tx, {**row, **who(request, test_id)})
        return {"status": "taken back", "reading": asdict(reading_of(tx, test_id, one.id))}

    return notebook.submit(request.key, test_id, "taken back", request.client, work, digest_of(request))


def spoil(notebook: Notebook, test_id: int, request: Spoil) -> Reply:
    """Note an attempt that gave no reading; its place stays to be read.

    Raises
    ------
    BadInput
        No such place, or no reason.
    """
    refuse([*sent_faults(request), *name_fault("reason", request.reason, "why it gave no reading")])

    def work(tx: Tx) -> Reply:
        under_way(tx, test_id)
        place_of(tx, test_id, request.place)
        sitting = sitting_for(tx, request, test_id)
        row = {"sitting_id": sitting, "place_id": request.place, "kind": "spoiled", "why": request.reason.strip()}
        write_attempt(tx, {**row, "gross": False, **who(request, test_id)})
        return {"status": "spoiled", "place": asdict(written_place(tx, test_id, request.place))}

    return notebook.submit(request.key, test_id, "spoiled", request.client, work, digest_of(request))


def put_off_place(notebook: Notebook, test_id: int, request: PutOff) -> Reply:
    """Leave a place for later: it comes again when all others are read.

    Raises
    ------
    BadInput
        No such place.
    """
    refuse(sent_faults(request))

    def work(tx: Tx) -> Reply:
        under_way(tx, test_id)
        place_of(tx, test_id, request.place)
        put_off(tx, request.place)
        return {"status": "put off", "place": asdict(written_place(tx, test_id, request.place))}

    return notebook.submit(request.key, test_id, "put off", request.client, work, digest_of(request))


def read_again(notebook: Notebook, test_id: int, request: ReadAgain) -> Reply:
    """Ask for one more reading of a ball at an axis, with the reason.

    Raises
    ------
    BadInput
        The test has no such ball, quantity or axis, or there is no reason.
    """
    refuse([*sent_faults(request), *name_fault("reason", request.reason, "why it is to be read again")])

    def work(tx: Tx) -> Reply:
        under_way(tx, test_id)
        quantity = quantity_of(tx, test_id, request.quantity)
        if request.axis not in quantity.axes:
            axes = ", ".join(quantity.axes) or "no axis"
            raise BadRequest(Fault("axis", request.axis or "nothing", axes, "choose one of them"))
        row = {"test_id": test_id, "ball_id": request.ball, "reference_id": None, "quantity": request.quantity,
               "axis": request.axis, "put_off": 0, "why": request.reason.strip()}  # fmt: skip
        place = add_place(tx, row)
        return {"status": "asked for again", "place": asdict(written_place(tx, test_id, place))}

    return notebook.submit(request.key, test_id, "read again", request.client, work, digest_of(request))
