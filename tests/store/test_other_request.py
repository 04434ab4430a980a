from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from made_tests import LEAGUE, RULE, a_set_up, entry, new_test, places, put, sent
from places import NotebookPlace

from ballbench.errors import Conflict
from ballbench.store import Notebook
from ballbench.store.tables import METADATA
from ballbench.workflows.bench_requests import (
    BeginSitting,
    EndSitting,
    Finish,
    Mark,
    PutOff,
    ReadAgain,
    Spoil,
    TakeBack,
)
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.measure import enter, put_off_place, read_again, spoil, take_back
from ballbench.workflows.quick_check import QuickCheck, QuickInstrument, quick_check
from ballbench.workflows.recordings import NewRecording, keep_recording
from ballbench.workflows.set_up import MakePlan, set_up_test
from ballbench.workflows.sittings import begin, end, finish, note
from ballbench.workflows.take_in_test import TakeIn, take_in_test

Do = Callable[[Any], Any]


def acts(notebook: Notebook, test: int) -> list[tuple[Do, Any, dict[str, Any]]]:
    """Every act that a program can send, and what differs in another one."""
    at = [one.id for one in places(notebook, test, "crack")]
    ball = places(notebook, test, "crack")[0].ball
    numbers = [put(notebook, test, place, "no")["reading"]["id"] for place in at[:2]]
    of_test: Callable[[Any], Do] = lambda act: lambda request: act(notebook, test, request)  # noqa: E731 - for the list
    of_all: Callable[[Any], Do] = lambda act: lambda request: act(notebook, request)  # noqa: E731 - as above
    quick = QuickCheck(**sent(requirement="golf", quantity="diameter", ball="7", texts=("42.70",),
                              instrument=QuickInstrument("mm", 0.01)))  # fmt: skip
    return [
        (of_test(enter), entry(at[3], "no"), {"text": "yes"}),
        (of_test(enter), entry(at[3], "no"), {"by": "M"}),
        (of_test(enter), entry(at[3], "no"), {"place": at[4]}),
        (of_test(take_back), TakeBack(**sent(reading=numbers[0])), {"reading": numbers[1]}),
        (of_test(spoil), Spoil(**sent(place=at[3], reason="dropped")), {"reason": "cracked"}),
        (of_test(put_off_place), PutOff(**sent(place=at[3])), {"place": at[4]}),
        (of_test(read_again), ReadAgain(**sent(ball=ball, quantity="crack", axis="", reason="odd")), {"reason": "new"}),
        (of_test(note), Mark(**sent(kind="impact", value=2.0)), {"value": 3.0}),
        (of_test(note), Mark(**sent(kind="impact", value=2.0)), {"ball": ball}),
        (of_test(end), EndSitting(**sent()), {"by": "M"}),
        (of_test(begin), BeginSitting(**sent(kind="bench")), {"air_c": 21.0}),
        (of_test(amend_readings), Amend(**sent(readings=(numbers[1],), action="exclude", reason="torn")),
         {"action": "keep"}),
        (of_test(finish), Finish(**sent()), {"again": True}),
        (of_all(set_up_test), a_set_up(), {"makes": (MakePlan("Plover", a_set_up().makes[0].boxes),)}),
        (of_all(set_up_test), a_set_up(seed=None), {"seed": 4}),
        (of_all(quick_check), quick, {"texts": ("42.71",)}),
    ]  # fmt: skip


def test_another_request_under_the_same_key_is_refused(notebook: Notebook, place: NotebookPlace) -> None:
    """For every act: the same request gets the same reply, another a conflict at `key`, and no row changes."""
    test = new_test(notebook).id
    for do, request, change in acts(notebook, test):
        first = do(request)
        before = {name: place.rows(name) for name in METADATA.tables}
        with pytest.raises(Conflict) as caught:
            do(replace(request, **change))
        assert [fault.where for fault in caught.value.faults] == ["key"], (request, change)
        again = do(replace(request, client="another tab", at=sent()["at"]))
        assert getattr(again, "id", again) == getattr(first, "id", first)
        assert {name: place.rows(name) for name in METADATA.tables} == before


def test_files_are_told_apart_by_their_bytes(notebook: Notebook, tmp_path: Path) -> None:
    """The same table under another name is the same act; one digit of it another, or another sound, is a conflict."""
    own = TakeIn(**sent(requirement=RULE, readings=LEAGUE / "readings.csv", bench=LEAGUE / "bench.toml"))
    first = take_in_test(notebook, own)
    same, other = tmp_path / "same.csv", tmp_path / "other.csv"
    content = own.readings.read_bytes()
    same.write_bytes(content)
    other.write_bytes(content.replace(b"40.2", b"40.3", 1))
    assert take_in_test(notebook, replace(own, readings=same)) == first
    for change in ({"readings": other}, {"bench": None}, {"rule": "simple"}):
        with pytest.raises(Conflict):
            take_in_test(notebook, replace(own, **change))
    sound = NewRecording(**sent(name="drop.wav", media_type="audio/wav"))
    kept = keep_recording(notebook, first.id, sound, [b"so", b"und"])
    assert keep_recording(notebook, first.id, sound, [b"sound"]) == kept
    with pytest.raises(Conflict):
        keep_recording(notebook, first.id, sound, [b"noise"])


def test_what_was_sent_without_a_digest_is_answered_as_before(notebook: Notebook) -> None:
    """A submission of an older ballbench has none: whatever comes under its key gets the reply of the first time."""
    test = new_test(notebook).id
    act = entry(places(notebook, test, "crack")[0].id, "no")
    reply = notebook.submit(act.key, test, "entry", "tab", lambda _: {"status": "kept"})
    assert enter(notebook, test, act) == enter(notebook, test, replace(act, text="yes")) == reply
