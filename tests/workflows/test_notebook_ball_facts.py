from __future__ import annotations

from pathlib import Path

import pytest
from made_evening import taken
from made_tests import LEAGUE, fill, new_test, places, put, sent, time_of

from ballbench.errors import BadInput
from ballbench.records import BallFact, read_balls
from ballbench.records.ball_test import Ball
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Entry, Finish, Mark, Spoil, TakeBack
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.exchange import export_file
from ballbench.workflows.measure import enter, spoil, take_back
from ballbench.workflows.sittings import finish, note

HOUR = 3600


def mark(notebook: Notebook, test: int, kind: str, second: int | None = None, **more: object) -> None:
    """Note something, at a moment of the invented day where one is given."""
    at = {} if second is None else {"at": time_of(second)}
    note(notebook, test, Mark(**{**sent(kind=kind, **more), **at}))


def balls(notebook: Notebook, test: int) -> dict[int, Ball]:
    """Balls by their numbers in the notebook."""
    return {ball.id: ball for ball in bench_state(notebook, test).balls}


def facts(notebook: Notebook, test: int, folder: Path) -> dict[str, BallFact]:
    """Facts as a reader of the handed-out file has them, by make and ball."""
    path = folder / "balls.csv"
    path.write_bytes(export_file(notebook, test, "balls.csv"))
    return {f"{make} {ball}": fact for (make, _, ball), fact in read_balls(path).balls.items()}


def test_every_drop_is_an_impact_whatever_became_of_its_reading(notebook: Notebook, tmp_path: Path) -> None:
    """Kept, confirmed, taken back, excluded or spoiled, a drop hit the ball; what was only asked about is none."""
    test = new_test(notebook).id
    drop = places(notebook, test, "rebound")[0]
    kept = put(notebook, test, drop.id, "251")
    put(notebook, test, drop.id, "2510")
    take_back(notebook, test, TakeBack(**sent(reading=kept["reading"]["id"])))
    excluded = put(notebook, test, drop.id, "252")["reading"]["id"]
    amend_readings(notebook, test, Amend(**sent(readings=(excluded,), action="exclude", reason="a gust")))
    spoil(notebook, test, Spoil(**sent(place=drop.id, reason="hit the tube")))
    assert enter(notebook, test, Entry(**sent(place=drop.id, text="2530")))["status"] == "asked"
    for quantity in ("diameter", "mass", "crack"):
        own = next(one for one in places(notebook, test, quantity) if one.ball == drop.ball)
        put(notebook, test, own.id, {"diameter": "40.21", "mass": "2.71", "crack": "no"}[quantity])
        spoil(notebook, test, Spoil(**sent(place=own.id, reason="slipped in the jaws")))
    assert balls(notebook, test)[drop.ball or 0].impacts == 4
    assert sum(ball.impacts for ball in balls(notebook, test).values()) == 4
    assert sum(fact.impacts or 0 for fact in facts(notebook, test, tmp_path).values()) == 4


def test_noted_impacts_count_for_one_ball_or_for_all(notebook: Notebook, tmp_path: Path) -> None:
    """Three to one ball and two to all; none noted is none; what is no whole number or has no value is refused."""
    test = new_test(notebook).id
    put(notebook, test, places(notebook, test, "crack")[0].id, "no")
    first, *others = sorted(balls(notebook, test))
    mark(notebook, test, "impact", value=3.0, ball=first)
    mark(notebook, test, "impact", value=2.0)
    mark(notebook, test, "impact", value=0.0, ball=others[0])
    assert {ball: own.impacts for ball, own in balls(notebook, test).items()} == {first: 5, **dict.fromkeys(others, 2)}
    for value in (None, 1.5, -1.0, 10_001.0):
        with pytest.raises(BadInput):
            mark(notebook, test, "impact", value=value)
    assert sorted(fact.impacts or 0 for fact in facts(notebook, test, tmp_path).values()) == [2, 2, 2, 2, 2, 5]


def test_hours_of_conditioning(notebook: Notebook, tmp_path: Path) -> None:
    """From the mark to the first reading of each ball, or to its end where that was noted; from the later beginning."""
    test = new_test(notebook).id
    first, second, third, *_ = (place.id for place in places(notebook, test, "crack"))
    of = {place.id: place.ball for place in places(notebook, test, "crack")}
    mark(notebook, test, "conditioning begun", 0)
    enter(notebook, test, Entry(**{**sent(place=first, text="no"), "at": time_of(6 * HOUR)}))
    enter(notebook, test, Entry(**{**sent(place=first, text="no"), "at": time_of(9 * HOUR)}))
    mark(notebook, test, "conditioning ended", 8 * HOUR, ball=of[second])
    enter(notebook, test, Entry(**{**sent(place=second, text="no"), "at": time_of(10 * HOUR)}))
    mark(notebook, test, "conditioning begun", 2 * HOUR, ball=of[third])
    enter(notebook, test, Entry(**{**sent(place=third, text="no"), "at": time_of(14 * HOUR)}))
    finish(notebook, test, Finish(**{**sent(), "at": time_of(24 * HOUR)}))
    hours = {ball: own.conditioned_h for ball, own in balls(notebook, test).items()}
    never_read = set(hours) - {of[first], of[second], of[third]}
    assert (hours[of[first] or 0], hours[of[second] or 0], hours[of[third] or 0]) == (6.0, 8.0, 12.0)
    assert {hours[ball] for ball in never_read} == {24.0}, "until the test was finished"
    told = [fact.conditioned_h for fact in facts(notebook, test, tmp_path).values()]
    assert sorted(hour or 0.0 for hour in told) == [6.0, 8.0, 12.0, 24.0, 24.0, 24.0]


def test_clocks_of_two_devices_may_disagree(notebook: Notebook) -> None:
    """A reading that seems to be older than the conditioning makes 0 hours, never fewer; zones are told apart."""
    test = new_test(notebook).id
    first, second = places(notebook, test, "crack")[:2]
    mark(notebook, test, "conditioning begun", HOUR)
    enter(notebook, test, Entry(**{**sent(place=first.id, text="no"), "at": time_of(0)}))
    enter(notebook, test, Entry(**{**sent(place=second.id, text="no"), "at": "2026-11-21T10:30:00+00:00"}))
    found = balls(notebook, test)
    assert (found[first.ball or 0].conditioned_h, found[second.ball or 0].conditioned_h) == (0.0, 0.5)


def test_the_last_that_was_noted_holds(notebook: Notebook, tmp_path: Path) -> None:
    """Pressure, temperature and when a can was opened; for one ball, or for all that have no later one of their own."""
    test = new_test(notebook).id
    list(fill(notebook, test))
    ball = min(balls(notebook, test))
    mark(notebook, test, "pressure", value=70.0, ball=ball)
    mark(notebook, test, "pressure", value=71.5)
    mark(notebook, test, "ball temperature", value=22.5)
    mark(notebook, test, "ball temperature", value=19.0, ball=ball)
    mark(notebook, test, "opened", 5 * HOUR, ball=ball)
    told = facts(notebook, test, tmp_path)
    assert {fact.pressure_kpa for fact in told.values()} == {71.5}
    assert sorted(fact.temperature_c or 0.0 for fact in told.values()) == [19.0, *[22.5] * 5]
    assert [fact.opened for fact in told.values() if fact.opened] == [time_of(5 * HOUR)]


def test_nothing_noted_is_nothing_known(notebook: Notebook, tmp_path: Path) -> None:
    """A test of one's own knows its impacts from the first; hours, pressure and temperature it does not know."""
    test = new_test(notebook).id
    put(notebook, test, places(notebook, test, "crack")[0].id, "no")
    for fact in facts(notebook, test, tmp_path).values():
        known = (fact.conditioned_h, fact.opened, fact.pressure_kpa, fact.temperature_c, fact.bought, fact.price)
        assert known == (None,) * 6
        assert fact.impacts == 0


def test_what_a_taken_in_test_does_not_say_stays_unknown(notebook: Notebook, tmp_path: Path) -> None:
    """The winter league was dropped on steel before anybody counted: its impacts are unknown, in its file as here."""
    files = {"readings": LEAGUE / "readings.csv", "requirement": LEAGUE / "league-ball.toml"}
    bare = taken(notebook, files).id
    for fact in facts(notebook, bare, tmp_path).values():
        assert fact == BallFact(fact.product, fact.box, fact.ball)
    hours = taken(notebook, {**files, "balls": LEAGUE / "balls.csv"}).id
    told = facts(notebook, hours, tmp_path)
    assert {fact.impacts for fact in told.values()} == {None}
    assert {fact.conditioned_h for fact in told.values()} == {24.0}


@pytest.mark.parametrize("impacts", ["0", "1", "7"])
def test_a_count_of_a_file_is_kept_as_it_is(notebook: Notebook, tmp_path: Path, impacts: str) -> None:
    """None, one or seven: the same number comes out again, though the file has drops besides."""
    (tmp_path / "given.csv").write_text(f"product,ball,impacts\nCurlew,01,{impacts}\n", encoding="utf-8")
    (tmp_path / "readings.csv").write_text(
        "product,ball,quantity,value\nCurlew,01,rebound,250\nCurlew,01,rebound,251\nCurlew,02,rebound,252\n",
        encoding="utf-8",
    )
    files = {"readings": tmp_path / "readings.csv", "balls": tmp_path / "given.csv"}
    test = taken(notebook, {**files, "requirement": LEAGUE / "league-ball.toml"}).id
    told = facts(notebook, test, tmp_path)
    assert (told["Curlew 01"].impacts, told["Curlew 02"].impacts) == (int(impacts), None)
