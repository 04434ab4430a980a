from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from made_tests import LEAGUE, RULE, entry, key, sent

from ballbench.errors import BadInput, Conflict
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish, Spoil
from ballbench.workflows.correct import history
from ballbench.workflows.exchange import export_file
from ballbench.workflows.keep import one_test
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.measure import enter, spoil
from ballbench.workflows.sittings import finish
from ballbench.workflows.take_in_test import TakeIn, take_in_test


def request(**changes: Any) -> TakeIn:
    """Ask for the invented winter league, with all of its files."""
    files = {name: LEAGUE / f"{name}.csv" for name in ("readings", "corrections", "balls")}
    return TakeIn(**{**sent(requirement=RULE, bench=LEAGUE / "bench.toml", title="League"), **files, **changes})


@pytest.fixture
def taken_league(notebook: Notebook) -> BallTest:
    """The winter league, taken in."""
    return take_in_test(notebook, request())


def test_it_is_a_finished_test_like_any_other(notebook: Notebook, taken_league: BallTest) -> None:
    """Makes, quantities in the order of a bench, sittings, instruments and history are those of the files."""
    assert (taken_league.kind, taken_league.stage, taken_league.title, taken_league.invented, taken_league.blind) == (
        "taken in",
        "finished",
        "League",
        True,
        False,
    )
    assert list(dict.fromkeys(box.make for box in taken_league.boxes)) == ["Curlew", "Dunlin", "Plover"]
    assert [(one.name, one.yes_no, one.instrument) for one in taken_league.quantities] == [
        ("diameter", False, "caliper"), ("mass", False, "scale"), ("crack", True, "eye"), ("rebound", False, "phone"),
    ]  # fmt: skip
    state = bench_state(notebook, taken_league.id)
    assert (len(state.balls), len(state.readings), len(state.places)) == (72, 574, 574)
    assert state.sitting is None
    assert {one.id for one in state.places if one.filled} == {one.place for one in state.readings if one.stands}
    assert sorted(line.what for line in history(notebook, taken_league.id)) == ["corrected", "corrected", "excluded"]
    page = one_test(notebook, taken_league.id)
    assert [line.sitting.label for line in page.sittings] == ["1", "2"]
    assert sum(line.readings for line in page.sittings) == 574
    assert [line.id for line in all_tests(notebook, "plover")] == [taken_league.id]


def test_the_same_file_again_is_the_same_test_under_the_same_key(notebook: Notebook) -> None:
    """Under another key it is another test: nobody's readings are joined to anybody else's."""
    own = request()
    first, again, other = (take_in_test(notebook, one).id for one in (own, own, replace(own, key=key())))
    assert first == again != other
    assert len(bench_state(notebook, first).readings) == len(bench_state(notebook, other).readings) == 574


def test_it_may_be_taken_up_again(notebook: Notebook, taken_league: BallTest) -> None:
    """As long as it is finished nothing is read; taken up again a reading is kept, whoever took the file in."""
    place = next(one for one in bench_state(notebook, taken_league.id).places if one.quantity == "crack")
    with pytest.raises(Conflict, match="take it up again first"):
        enter(notebook, taken_league.id, entry(place.id, "no"))
    finish(notebook, taken_league.id, Finish(**sent(again=True)))
    reply = enter(notebook, taken_league.id, entry(place.id, "no"))
    assert (reply["status"], reply["reading"]["repeat"]) == ("kept", 2)
    diameter = next(one for one in bench_state(notebook, taken_league.id).places if one.quantity == "diameter")
    assert enter(notebook, taken_league.id, entry(diameter.id, "40.21"))["status"] == "kept"
    spoil(notebook, taken_league.id, Spoil(**sent(place=diameter.id, reason="dropped")))
    state = bench_state(notebook, taken_league.id)
    assert state.sitting is not None
    assert state.sitting.label == "3"
    handed_out = export_file(notebook, taken_league.id, "readings.csv").decode().splitlines()
    assert len(handed_out) == 2 + 576 + 3, "a note, a header, the readings, and the spoiled attempts"


def refused(notebook: Notebook, **changes: Any) -> list[str]:
    """Take in what cannot be; give the places of the faults. Nothing is kept of it."""
    with pytest.raises(BadInput) as caught:
        take_in_test(notebook, request(**changes))
    assert all_tests(notebook, "") == ()
    assert all(fault.found and fault.allowed and fault.todo for fault in caught.value.faults)
    return [fault.where for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"by": ""}, "by"), ({"at": "then"}, "at"), ({"client": "\ud800"}, "client"), ({"title": "a\nb"}, "title"),
        ({"rule": "strict"}, "rule"), ({"risk": math.nan}, "risk"), ({"risk": 0.5}, "risk"), ({"seed": -1}, "seed"),
        ({"seed": 2**31}, "seed"), ({"key": ""}, "key"),
    ],
)  # fmt: skip
def test_what_is_stated_beforehand_is_checked(notebook: Notebook, changes: dict[str, Any], where: str) -> None:
    """By whom and when, title, rule, risk, seed and key, as for a test that is set up."""
    assert refused(notebook, **changes) == [where]


@pytest.mark.parametrize("which", ["readings", "corrections", "balls", "bench"])
def test_a_file_that_cannot_be_used(notebook: Notebook, tmp_path: Path, which: str) -> None:
    """Missing, empty, or of another sort: every fault names the file, and the notebook is as it was."""
    empty, other = tmp_path / "empty.csv", tmp_path / "other.csv"
    empty.touch()
    other.write_text("colour;shape\nred;round\n", encoding="utf-8")
    for path in (tmp_path / "none.csv", empty, other):
        assert all(path.name in where for where in refused(notebook, **{which: path}))


def test_corrections_of_other_readings_are_refused(notebook: Notebook, tmp_path: Path) -> None:
    """A line that fits no reading of the file stops all of it, told with the nearest that there is."""
    lines = tmp_path / "corrections.csv"
    lines.write_text(
        "product,ball,quantity,axis,repeat,action,value,reason,by,time\nCurlew,99,mass,,1,exclude,,typo,E,\n",
        encoding="utf-8",
    )
    assert refused(notebook, corrections=lines) == ["corrections.csv, line 2"]


def test_only_a_name_of_the_readings_is_an_instrument(notebook: Notebook) -> None:
    """Noise and display are those of the bench file where it has the instrument, else assumed from the digits."""
    for bench, sd in ((LEAGUE / "bench.toml", 0.008), (None, None)):
        test = take_in_test(notebook, request(bench=bench)).id
        with notebook.read() as tx:
            own = "SELECT sd, resolution FROM instrument WHERE name = 'caliper' AND test_id = "
            assert tx.exec_driver_sql(f"{own}{test}").fetchall() == [(sd, 0.01)]
