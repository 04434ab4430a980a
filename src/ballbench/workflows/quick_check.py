"""A quick check: one ball in dispute, one quantity, the decision with its certainty, kept in the notebook."""

from __future__ import annotations

import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ballbench.errors import BadReadings, BadRequest, Fault, NotFound
from ballbench.presentation.screens.quick_result import QuickReading, QuickResult
from ballbench.quantities.kinds import KINDS
from ballbench.records.bench_gate import BenchFellows, Written, ask_about
from ballbench.records.entry import Typed
from ballbench.records.written_units import exact_factor
from ballbench.specs import Requirement
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of, instruments_of, written_of
from ballbench.store.bench import begin_sitting, end_sitting, finish_test, places_of
from ballbench.store.readings import readings_of, write_reading
from ballbench.workflows.ball_alone import single_ball_clauses
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.exchange import export_test
from ballbench.workflows.judge import JudgeRequest, judge
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.sending import digest_of, moment, refuse, sent_faults, who
from ballbench.workflows.set_up import (
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    SetUp,
    with_bare_names,
    write_set_up,
)
from ballbench.workflows.set_up_check import check_set_up, name_fault
from ballbench.workflows.typed_reading import typed_reading
from ballbench.workflows.what_to_read import base_units, limits_of_a_ball

__all__ = ["QuickCheck", "QuickInstrument", "quick_check", "quick_result"]

_MAKE, _BOX = "ball in dispute", "quick check"
_MOST_READINGS = 60


@dataclass(frozen=True, slots=True)
class QuickInstrument:
    """What it is read with; None: not known, and usual values are taken and said."""

    unit: str
    resolution: float
    name: str = "instrument"
    sd: float | None = None
    dof: float | None = None
    offset: float | None = None
    offset_sd: float | None = None


@dataclass(frozen=True, slots=True)
class QuickCheck(Sent):
    """One ball in dispute.

    Parameters
    ----------
    requirement, quantity, ball : str
        Id or text of the requirement, what is read, and the ball's name.
    instrument : QuickInstrument
        With what.
    texts : tuple of str
        Readings as they were typed.
    axes : tuple of str
        Where each was taken; empty: not said.
    conditions : dict of str to str
        What holds at the bench, such as ``{"drop_height": "305 mm"}``.
    note : str
        What the dispute is about; may be empty.
    """

    requirement: str
    quantity: str
    ball: str
    instrument: QuickInstrument
    texts: tuple[str, ...]
    axes: tuple[str, ...] = ()
    conditions: dict[str, str] | None = None
    note: str = ""


def quick_check(notebook: Notebook, request: QuickCheck) -> QuickResult:
    """Keep the readings of one ball and decide.

    Raises
    ------
    BadInput
        Anything is wrong with it, all faults at once; nothing of it is kept.
    """
    request = replace(request, axes=tuple(axis.strip() for axis in request.axes))
    requirement, text = requirement_of(request.requirement)
    refuse(_faults(request, requirement))
    set_up = with_bare_names(_set_up(request))
    _check(set_up, requirement)
    typed = _typed(request, requirement)
    reply = notebook.submit(
        request.key, None, "quick check", request.client,
        lambda tx: _write(tx, request, set_up, requirement, text, typed), digest_of(request),
    )  # fmt: skip
    return quick_result(notebook, int(reply["id"]))


_FIELDS = {
    "instruments 1": "instrument", "makes 1, box 1, labels": "ball", "quantities 1, axes": "axes",
    "quantities 1, repeats": "texts",
}  # fmt: skip
"""What the fields of a set-up are called in a quick check."""


def _check(set_up: SetUp, requirement: Requirement) -> None:
    """Check the test of one ball, and name its faults by the fields of the quick check."""
    try:
        check_set_up(set_up, requirement)
    except BadRequest as error:
        faults = error.faults
        for name, own in _FIELDS.items():
            faults = tuple(replace(one, where=one.where.replace(name, own)) for one in faults)
        raise BadRequest(faults) from error


def _faults(request: QuickCheck, requirement: Requirement) -> Iterator[Fault]:
    yield from sent_faults(request)
    yield from name_fault("ball", request.ball, "which ball it is")
    if request.note:
        yield from name_fault("note", request.note, "it")
    judged = [clause.quantity for clause in single_ball_clauses(requirement)]
    if request.quantity not in judged:
        allowed = ", ".join(dict.fromkeys(judged)) or "a requirement with a clause on a single ball"
        yield Fault("quantity", request.quantity or "nothing", allowed, "choose one of them")
    if not 1 <= len(request.texts) <= _MOST_READINGS:
        yield Fault("texts", f"{len(request.texts)} readings", f"1 to {_MOST_READINGS}", "read the ball")
    if request.axes and len(request.axes) != len(request.texts):
        yield Fault("axes", f"{len(request.axes)} axes", f"one for each of {len(request.texts)} readings", "say where")
    if any(request.axes) and not all(request.axes):
        yield Fault("axes", "readings with and without an axis", "an axis for each, or for none", "say where")


def _typed(request: QuickCheck, requirement: Requirement) -> list[Typed]:
    """Read every text; one that is mistyped beyond doubt is a fault, for no dispute is about a factor of ten."""
    unit, kind = base_units(requirement)[request.quantity], KINDS.get(request.quantity)
    signed, limits = kind is not None and kind.lowest < 0.0, limits_of_a_ball(requirement, request.quantity)
    typed: list[Typed] = []
    faults: list[Fault] = []
    for number, text in enumerate(request.texts, 1):
        try:
            one = typed_reading(
                text, request.quantity, unit, request.instrument.unit, limits, yes_no=False, signed=signed
            )
            typed.append(one)
            faults += _mistyped(f"texts {number}", one, request, requirement)
        except BadReadings as error:
            faults += [Fault(f"texts {number}", one.found, one.allowed, one.todo) for one in error.faults]
    refuse(faults)
    return typed


def _mistyped(where: str, one: Typed, request: QuickCheck, requirement: Requirement) -> Iterator[Fault]:
    unit = base_units(requirement)[request.quantity]
    held = BenchFellows(
        (), (), limits_of_a_ball(requirement, request.quantity), KINDS.get(request.quantity),
        request.instrument.resolution * exact_factor(request.instrument.unit, unit), unit=unit,
    )  # fmt: skip
    written = Written(one.decimals, exact_factor(one.unit, unit))
    asked = ask_about(one.value or 0.0, one.text, written, held, blind=False)
    if asked is not None and asked.gross:
        yield Fault(
            where, f"{one.text} {one.unit}".strip(), "a reading that can be true of a ball", f"look again: {asked.why}"
        )


def _set_up(request: QuickCheck) -> SetUp:
    """Put the check in the words of a test of one ball."""
    axes = tuple(dict.fromkeys(axis for axis in request.axes if axis))
    own = request.instrument
    name = own.name.strip() or "instrument"
    tool = InstrumentPlan(
        name, request.quantity, own.unit, own.resolution, own.sd, own.dof, own.offset or 0.0,
        own.offset_sd,
    )  # fmt: skip
    return SetUp(
        key=request.key, client=request.client, by=request.by, at=request.at, requirement=request.requirement,
        title=f"Quick check of {request.ball}"[:120],
        makes=(MakePlan(_MAKE, (BoxPlan(_BOX, 1, (request.ball.strip(),)),)),),
        quantities=(QuantityPlan(request.quantity, axes, _rounds(request), tool.name),), instruments=(tool,),
        conditions=request.conditions, seed=1, kind="quick",
    )  # fmt: skip


def _rounds(request: QuickCheck) -> int:
    """Give how often the axis that was read most was read."""
    return max(Counter(request.axes or [""] * len(request.texts)).values())


def _write(
    tx: Tx, request: QuickCheck, set_up: SetUp, requirement: Requirement, text: str, typed: Sequence[Typed]
) -> Reply:
    """Write the test and its readings; it is finished at once."""
    at = request.at or moment()
    test = write_set_up(tx, set_up, requirement, text, seed=1)
    sitting = begin_sitting(tx, test, "bench", "1", request.by.strip(), at)
    free = {(place.axis, place.repeat): place for place in places_of(tx, test)}
    tool = instruments_of(tx, test)[0]
    taken: Counter[str] = Counter()
    for one, axis in zip(typed, request.axes or [""] * len(typed), strict=True):
        taken[axis] += 1
        place = free[axis, taken[axis]]
        columns = {
            "sitting_id": sitting, "place_id": place.id, "ball_id": place.ball, "reference_id": None,
            "quantity": request.quantity, "axis": axis, "repeat": taken[axis], "text": one.text, "value": one.value,
            "answer": None, "decimals": one.decimals, "unit": one.unit, "instrument_id": tool.id,
            "client": request.client, "note": request.note.strip(), "confirmed": False,
        }  # fmt: skip
        write_reading(tx, {**columns, **who(request, test), "at": at})
    end_sitting(tx, sitting, at)
    finish_test(tx, test, at)
    return {"id": test}


def quick_result(notebook: Notebook, test_id: int) -> QuickResult:
    """Give a quick check with what it says.

    Raises
    ------
    NotFound
        There is no such check.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        if test.kind != "quick":
            raise NotFound(Fault("quick check", f"no quick check {test_id}", "one that was kept", "see the list"))
        readings = readings_of(tx, test_id)
        ball, tool = balls_of(tx, test_id)[0], instruments_of(tx, test_id)[0]
        conditions = tomllib.loads(str(written_of(tx, test_id).bench_text)).get("conditions", {})
    quantity = test.quantities[0]
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        files = export_test(notebook, test_id, Path(folder))
        findings = judge(
            JudgeRequest(
                files.readings, str(files.requirement), files.bench, files.corrections, files.balls,
                rule=test.rule, risk=test.risk, seed=test.seed, ball_alone=quantity.name,
            )
        )  # fmt: skip
    return QuickResult(
        id=test.id, at=test.set_up, by=test.set_up_by, ball=ball.label, quantity=quantity.name, unit=tool.unit,
        readings=tuple(QuickReading(one.axis, one.text) for one in readings),
        instrument=_instrument_words(tool),
        conditions=tuple((name.replace("_", " "), str(value)) for name, value in conditions.items()),
        note=readings[0].note, findings=findings,
    )  # fmt: skip


def _instrument_words(tool: Any) -> str:
    """Say what it was read with, and what is known of it."""
    unit = "" if tool.unit == "1" else f" {tool.unit}"
    said = f"{tool.name}, display step {tool.resolution:g}{unit}"
    if tool.sd is None:
        return f"{said}; its noise is taken as usual for such a display (common practice, no source)"
    return f"{said}, SD of repeated readings {tool.sd:g}{unit}"
