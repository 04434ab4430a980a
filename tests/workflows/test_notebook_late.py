from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_tests import key, new_test, places, time_of

from ballbench.errors import Conflict
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import BeginSitting, EndSitting, Entry, Finish, Mark, Spoil
from ballbench.workflows.keep import one_test
from ballbench.workflows.measure import enter, spoil
from ballbench.workflows.sittings import begin, end, finish, note

HOUR = 3600


def at(second: int) -> dict[str, str]:
    """What an act carries that was done so many seconds after the invented day began."""
    return {"key": key(), "client": "tab", "by": "E", "at": time_of(second)}


class Evening:
    """A test with two sittings, of which the second goes on: the first hour, and from the second hour on."""

    def __init__(self, notebook: Notebook) -> None:
        self.notebook, self.test = notebook, new_test(notebook).id
        begin(notebook, self.test, BeginSitting(**at(0)))
        end(notebook, self.test, EndSitting(**at(HOUR)))
        begin(notebook, self.test, BeginSitting(**at(2 * HOUR)))
        self._places = iter(places(notebook, self.test, "crack"))

    def read(self, second: int) -> str:
        """Enter a reading that was taken at a moment; give the name of its sitting."""
        reply = enter(self.notebook, self.test, Entry(**at(second), place=next(self._places).id, text="no"))
        return self.label(reply["reading"]["sitting"])

    def label(self, number: int | None) -> str:
        """The name of a sitting."""
        lines = [line.sitting for line in one_test(self.notebook, self.test).sittings]
        return next(one.label for one in lines if one.id == number)

    def rows(self, table: str) -> list[tuple[str, Any]]:
        """Time and sitting of every row of a table."""
        own = f"SELECT at, sitting_id FROM {table} WHERE sitting_id IS NOT NULL ORDER BY id"  # noqa: S608 - a name below
        with self.notebook.read() as tx:
            return [(moment, self.label(number)) for moment, number in tx.exec_driver_sql(own)]


@pytest.fixture
def evening(notebook: Notebook) -> Evening:
    """Two sittings."""
    return Evening(notebook)


@pytest.mark.parametrize(
    ("second", "label"),
    [(0, "1"), (600, "1"), (HOUR, "1"), (2 * HOUR, "2"), (3 * HOUR, "2"), (HOUR + 600, "2"), (-600, "2")],
)
def test_a_reading_belongs_to_the_sitting_in_which_it_was_taken(evening: Evening, second: int, label: str) -> None:
    """From begin to end of a sitting it is that one's, however late it comes; in none, of the one that goes on."""
    assert evening.read(second) == label
    state = bench_state(evening.notebook, evening.test)
    assert state.sitting is not None
    assert (state.sitting.label, state.readings[0].at) == ("2", time_of(second))


def test_what_else_waited_belongs_there_too(evening: Evening) -> None:
    """A spoiled attempt, an entry that is asked about, an instrument check and a temperature of the first sitting."""
    notebook, test = evening.notebook, evening.test
    state = bench_state(notebook, test)
    ball = next(place.id for place in state.places if place.quantity == "diameter" and place.ball is not None)
    piece = next(place.id for place in state.places if place.reference is not None)
    spoil(notebook, test, Spoil(**at(610), place=ball, reason="dropped"))
    assert enter(notebook, test, Entry(**at(620), place=ball, text="4020"))["status"] == "asked"
    enter(notebook, test, Entry(**at(630), place=piece, text="40.00"))
    told = note(notebook, test, Mark(**at(640), kind="ball temperature", value=19.5))
    assert told["sitting"]["label"] == "1"
    assert evening.rows("attempt") == [(time_of(610), "1"), (time_of(620), "1")]
    assert evening.rows("reading") == [(time_of(630), "1")]
    assert evening.rows("mark") == [(time_of(640), "1")]
    with notebook.read() as tx:
        (number,) = tx.exec_driver_sql("SELECT sitting_id FROM instrument_check").scalars()
    assert evening.label(number) == "1"
    sittings = {line.sitting.label: line.sitting.ball_c for line in one_test(notebook, test).sittings}
    assert sittings == {"1": 19.5, "2": None}


def test_of_sittings_that_overlap_it_is_the_one_begun_last(notebook: Notebook) -> None:
    """Clocks of two devices let the second begin before the first is over; a moment of both is of the second."""
    test = new_test(notebook).id
    begin(notebook, test, BeginSitting(**at(0)))
    end(notebook, test, EndSitting(**at(HOUR)))
    begin(notebook, test, BeginSitting(**at(HOUR // 2)))
    end(notebook, test, EndSitting(**at(2 * HOUR)))
    labels = []
    for place, second in zip(places(notebook, test, "crack"), (600, HOUR - 600, 2 * HOUR), strict=False):
        sitting = enter(notebook, test, Entry(**at(second), place=place.id, text="no"))["reading"]["sitting"]
        labels.append(next(x.sitting.label for x in one_test(notebook, test).sittings if x.sitting.id == sitting))
    assert labels == ["1", "2", "2"]


def test_times_of_two_zones_are_one_time(evening: Evening) -> None:
    """The same moment in UTC and in the zone of the bench lies in the same sitting, whatever its text begins with."""
    crack = places(evening.notebook, evening.test, "crack")[0].id
    moment = {**at(0), "at": "2026-11-21T09:30:00Z"}  # 10:30 at the bench, whose first sitting is from 10:00 to 11:00
    reading = enter(evening.notebook, evening.test, Entry(**moment, place=crack, text="no"))["reading"]
    assert evening.label(reading["sitting"]) == "1"


def test_nothing_goes_on_and_none_holds_it_so_one_is_begun(notebook: Notebook) -> None:
    """Taken after the last sitting was over, and first of the test: it begins one of its own, at its own moment."""
    test = new_test(notebook).id
    begin(notebook, test, BeginSitting(**at(0)))
    end(notebook, test, EndSitting(**at(HOUR)))
    crack = places(notebook, test, "crack")
    enter(notebook, test, Entry(**at(HOUR + 60), place=crack[0].id, text="no"))
    state = bench_state(notebook, test)
    assert state.sitting is not None
    assert (state.sitting.label, state.sitting.begun) == ("2", time_of(HOUR + 60))


def test_an_end_that_comes_late_ends_no_other_sitting(evening: Evening) -> None:
    """The end of the first sitting was sent twice, by two devices; the second of them finds another going on."""
    with pytest.raises(Conflict, match="the end of sitting 1, which is over already"):
        end(evening.notebook, evening.test, EndSitting(**at(HOUR - 60)))
    assert bench_state(evening.notebook, evening.test).sitting is not None
    end(evening.notebook, evening.test, EndSitting(**at(3 * HOUR)))
    assert bench_state(evening.notebook, evening.test).sitting is None


@pytest.mark.parametrize("by_finish", [False, True])
def test_no_sitting_ends_before_it_began(notebook: Notebook, by_finish: bool) -> None:
    """A device whose clock is an hour behind ends a sitting: it is over at the moment of its begin."""
    test = new_test(notebook).id
    begin(notebook, test, BeginSitting(**at(HOUR)))
    if by_finish:
        finish(notebook, test, Finish(**at(0)))
    else:
        end(notebook, test, EndSitting(**at(0)))
    (line,) = one_test(notebook, test).sittings
    assert line.sitting.ended == line.sitting.begun == time_of(HOUR)


@settings(deadline=None, max_examples=20, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_in_whatever_order_readings_come_each_is_of_its_sitting(notebook: Notebook, data: st.DataObject) -> None:
    """Random sittings one after another, readings in random order, against the plain rule on whole seconds."""
    test = new_test(notebook).id
    cuts = sorted(data.draw(st.lists(st.integers(1, 500), min_size=4, max_size=4, unique=True)))
    spans = [(cuts[0], cuts[1]), (cuts[2], None)] if data.draw(st.booleans()) else [tuple(cuts[:2]), tuple(cuts[2:])]
    for begun, ended in spans:
        begin(notebook, test, BeginSitting(**at(begun)))
        if ended is not None:
            end(notebook, test, EndSitting(**at(ended)))
    for place in places(notebook, test, "crack"):
        second = data.draw(st.integers(0, 600))
        inside = [str(i) for i, (a, b) in enumerate(spans, 1) if a <= second and (b is None or second <= b)]
        if not inside and spans[1][1] is not None:
            continue  # a sitting of its own would be begun
        reading = enter(notebook, test, Entry(**at(second), place=place.id, text="no"))["reading"]
        lines = one_test(notebook, test).sittings
        label = next(one.sitting.label for one in lines if one.sitting.id == reading["sitting"])
        assert label == (inside[-1] if inside else "2")
