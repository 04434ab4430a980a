from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from made_tests import entry, new_test, places, put, sent

from ballbench.errors import BadInput, BadReadings, BadRequest, Conflict, Fault, NotFound
from ballbench.store import Notebook
from ballbench.store.tables import METADATA
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import (
    BeginSitting,
    EndSitting,
    Entry,
    Finish,
    Mark,
    PutOff,
    ReadAgain,
    Spoil,
    TakeBack,
)
from ballbench.workflows.correct import Amend, amend_readings, history
from ballbench.workflows.keep import one_test
from ballbench.workflows.measure import enter, put_off_place, read_again, spoil, take_back
from ballbench.workflows.sittings import begin, end, finish, note

Act = Callable[[Notebook, int, Any], Any]
LONG, UNPRINTABLE, NONE = "x" * 121, "a\nb", 10**6


def rows_in(notebook: Notebook) -> dict[str, int]:
    """How many rows each table has."""
    with notebook.read() as tx:
        count = "SELECT count(*) FROM "
        return {name: tx.exec_driver_sql(f'{count}"{name}"').scalar() for name in METADATA.tables}


def well_said(fault: Fault) -> None:
    """Four parts in plain words on one line: no name of a class, no value of Python, no full stop, what to do last."""
    for part in (fault.where, fault.found, fault.allowed, fault.todo):
        assert part.strip() == part != ""
        assert part.isprintable()
        assert not part.endswith(".")
        assert not re.search(r"\bNone\b|Error|Traceback|<|\{|object at 0x", part)
    assert fault.todo[0].islower()
    assert len(str(fault)) < 400


ON_A_TEST: list[tuple[Act, Any, dict[str, Any], type[BadInput], str]] = [
    (enter, Entry, {"place": NONE, "text": "no"}, NotFound, "place"),
    (enter, Entry, {"place": "crack", "text": ""}, BadReadings, "entry"),
    (enter, Entry, {"place": "crack", "text": "40"}, BadReadings, "entry"),
    (enter, Entry, {"place": "mass", "text": "2,7,1"}, BadReadings, "entry"),
    (enter, Entry, {"place": "mass", "text": UNPRINTABLE}, BadReadings, "entry"),
    (enter, Entry, {"place": "mass", "text": "2.71", "confirms": "nothing"}, BadRequest, "confirms"),
    (enter, Entry, {"place": "mass", "text": "2.71", "by": ""}, BadRequest, "by"),
    (enter, Entry, {"place": "mass", "text": "2.71", "at": "now"}, BadRequest, "at"),
    (enter, Entry, {"place": "mass", "text": "2.71", "client": LONG}, BadRequest, "client"),
    (take_back, TakeBack, {"reading": NONE}, NotFound, "reading"),
    (take_back, TakeBack, {"reading": 1, "by": " "}, BadRequest, "by"),
    (spoil, Spoil, {"place": NONE, "reason": "spun"}, NotFound, "place"),
    (spoil, Spoil, {"place": "crack", "reason": ""}, BadRequest, "reason"),
    (spoil, Spoil, {"place": "crack", "reason": LONG}, BadRequest, "reason"),
    (spoil, Spoil, {"place": "crack", "reason": UNPRINTABLE}, BadRequest, "reason"),
    (put_off_place, PutOff, {"place": NONE}, NotFound, "place"),
    (put_off_place, PutOff, {"place": "crack", "by": ""}, BadRequest, "by"),
    (read_again, ReadAgain, {"ball": NONE, "quantity": "mass", "axis": "", "reason": "odd"}, NotFound, "ball"),
    (read_again, ReadAgain, {"ball": 1, "quantity": "hardness", "axis": "", "reason": "odd"}, NotFound, "quantity"),
    (read_again, ReadAgain, {"ball": 1, "quantity": "diameter", "axis": "", "reason": "odd"}, BadRequest, "axis"),
    (read_again, ReadAgain, {"ball": 1, "quantity": "mass", "axis": "seam", "reason": "odd"}, BadRequest, "axis"),
    (read_again, ReadAgain, {"ball": 1, "quantity": "mass", "axis": "", "reason": " "}, BadRequest, "reason"),
    (begin, BeginSitting, {"kind": "home"}, BadRequest, "kind"),
    (begin, BeginSitting, {"label": UNPRINTABLE}, BadRequest, "label"),
    (begin, BeginSitting, {"air_c": 61.0}, BadRequest, "air_c"),
    (begin, BeginSitting, {"ball_c": -273.15}, BadRequest, "ball_c"),
    (end, EndSitting, {}, Conflict, "sitting"),
    (note, Mark, {"kind": "rain"}, BadRequest, "kind"),
    (note, Mark, {"kind": ""}, BadRequest, "kind"),
    (note, Mark, {"kind": "humidity"}, BadRequest, "value"),
    (note, Mark, {"kind": "humidity", "value": 101.0}, BadRequest, "value"),
    (note, Mark, {"kind": "air pressure", "value": float("inf")}, BadRequest, "value"),
    (note, Mark, {"kind": "zeroed", "value": 1.0}, BadRequest, "value"),
    (note, Mark, {"kind": "opened", "ball": NONE}, BadRequest, "ball"),
    (note, Mark, {"kind": "opened", "note": LONG}, BadRequest, "note"),
    (finish, Finish, {"again": True}, Conflict, "test"),
    (amend_readings, Amend, {"readings": (NONE,), "action": "exclude", "reason": "typo"}, NotFound, "reading"),
    (amend_readings, Amend, {"readings": (), "action": "exclude", "reason": "typo"}, BadRequest, "readings"),
    (amend_readings, Amend, {"readings": (1, 1), "action": "exclude", "reason": "typo"}, BadRequest, "readings"),
    (amend_readings, Amend, {"readings": (1, 2), "action": "correct", "reason": "typo"}, BadRequest, "readings"),
    (amend_readings, Amend, {"readings": (1,), "action": "delete", "reason": "typo"}, BadRequest, "action"),
    (amend_readings, Amend, {"readings": (1,), "action": "keep", "reason": ""}, BadRequest, "reason"),
    (amend_readings, Amend, {"readings": (1,), "action": "keep", "reason": "ok", "text": "40.2"}, BadRequest, "text"),
]  # fmt: skip
"""What cannot be done to a test that is set up and not read, and how it is refused."""


@pytest.mark.parametrize(("act", "make", "fields", "kind", "where"), ON_A_TEST)
def test_a_refusal_reads_well_and_changes_nothing(
    notebook: Notebook, act: Act, make: Any, fields: dict[str, Any], kind: type[BadInput], where: str
) -> None:
    """Of the right kind, naming its field; no row is written, not even a sitting."""
    test = new_test(notebook).id
    place = fields.get("place")
    given = fields | ({"place": places(notebook, test, place)[0].id} if isinstance(place, str) else {})
    before = rows_in(notebook)
    with pytest.raises(kind) as caught:
        act(notebook, test, make(**{**sent(), **given}))
    assert [fault.where for fault in caught.value.faults] == [where]
    for fault in caught.value.faults:
        well_said(fault)
    assert rows_in(notebook) == before


ACTS: list[tuple[Act, Any]] = [
    (enter, lambda: entry(1, "no")),
    (take_back, lambda: TakeBack(**sent(reading=1))),
    (spoil, lambda: Spoil(**sent(place=1, reason="spun"))),
    (put_off_place, lambda: PutOff(**sent(place=1))),
    (read_again, lambda: ReadAgain(**sent(ball=1, quantity="mass", axis="", reason="odd"))),
    (begin, lambda: BeginSitting(**sent())),
    (note, lambda: Mark(**sent(kind="opened"))),
    (end, lambda: EndSitting(**sent())),
    (finish, lambda: Finish(**sent())),
    (amend_readings, lambda: Amend(**sent(readings=(1,), action="keep", reason="seen"))),
]


@pytest.mark.parametrize(("act", "make"), ACTS)
def test_a_test_that_is_not_there(notebook: Notebook, act: Act, make: Callable[[], Any]) -> None:
    """Every act on it is told that there is none."""
    with pytest.raises(NotFound, match="no test 7") as caught:
        act(notebook, 7, make())
    well_said(caught.value.faults[0])


@pytest.mark.parametrize(("act", "make"), ACTS[:-2])
def test_a_finished_test_takes_nothing_more(notebook: Notebook, act: Act, make: Callable[[], Any]) -> None:
    """Every act at the bench is a conflict until the test is taken up again; corrections still are possible."""
    test = new_test(notebook).id
    put(notebook, test, places(notebook, test, "crack")[0].id, "no")
    finish(notebook, test, Finish(**sent()))
    before = rows_in(notebook)
    with pytest.raises(Conflict) as caught:
        act(notebook, test, make())
    well_said(caught.value.faults[0])
    assert rows_in(notebook) == before
    amend_readings(notebook, test, Amend(**sent(readings=(1,), action="keep", reason="seen")))


def test_what_stands_against_it_meanwhile(notebook: Notebook) -> None:
    """A second sitting, a name that is taken, a reading taken back twice, a test finished twice: conflicts."""
    test = new_test(notebook).id
    begin(notebook, test, BeginSitting(**sent(label="evening")))
    reading = put(notebook, test, places(notebook, test, "crack")[0].id, "no")["reading"]["id"]
    back = TakeBack(**sent(reading=reading))
    take_back(notebook, test, back)
    faults = [against(lambda: begin(notebook, test, BeginSitting(**sent())))]
    faults.append(against(lambda: take_back(notebook, test, TakeBack(**sent(reading=reading)))))
    end(notebook, test, EndSitting(**sent()))
    faults.append(against(lambda: begin(notebook, test, BeginSitting(**sent(label="evening")))))
    finish(notebook, test, Finish(**sent()))
    faults.append(against(lambda: finish(notebook, test, Finish(**sent()))))
    assert [fault.where for fault in faults] == ["sitting", "reading", "label", "test"]


def against(act: Callable[[], object]) -> Fault:
    """Do what cannot be done now."""
    with pytest.raises(Conflict) as caught:
        act()
    (fault,) = caught.value.faults
    well_said(fault)
    return fault


@pytest.mark.parametrize("text", ["4021", "1.583", "", "small", "40.21 g", "?40.21"])
def test_a_right_value_that_is_none(notebook: Notebook, text: str) -> None:
    """A lost point, inches for millimetres, no number, another kind of unit: refused, and its field is named."""
    test = new_test(notebook).id
    for place in places(notebook, test, "diameter")[:3]:
        put(notebook, test, place.id, "40.21")
    before = rows_in(notebook)
    with pytest.raises(BadInput) as caught:
        amend_readings(notebook, test, Amend(**sent(readings=(1,), action="correct", reason="typo", text=text)))
    (fault,) = caught.value.faults
    assert fault.where in {"text", "entry"}
    well_said(fault)
    assert rows_in(notebook) == before


@pytest.mark.parametrize("look", [bench_state, one_test, history])
def test_nothing_to_look_at(notebook: Notebook, look: Callable[[Notebook, int], object]) -> None:
    """A test that is not there has no bench, no page and no history."""
    with pytest.raises(NotFound, match="no test 7") as caught:
        look(notebook, 7)
    well_said(caught.value.faults[0])
