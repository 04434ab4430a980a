from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest
from made_evening import an_evening
from made_tests import fill, new_test, places, put, sent
from recorded_values import PICKS, keep, result, sound

from ballbench.errors import BadInput, Conflict, NotFound
from ballbench.records.picks import read_picks
from ballbench.store import Notebook
from ballbench.store.picks import picks_of
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish
from ballbench.workflows.exchange import export_file
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.listen import ListenRequest
from ballbench.workflows.recorded.pages import recordings_page
from ballbench.workflows.recorded.stated_fields import METHODS
from ballbench.workflows.recordings import recording_bytes
from ballbench.workflows.set_up import InstrumentPlan, QuantityPlan
from ballbench.workflows.sittings import finish
from ballbench.workflows.take_in_test import TakeInWhole, take_in_whole
from ballbench.workflows.trace import TraceRequest
from ballbench.workflows.watch import WatchRequest


def kept_picks(notebook: Notebook, test: int) -> list[Any]:
    """What the notebook has of picks."""
    with notebook.read() as tx:
        return list(picks_of(tx, test))


def test_a_value_becomes_a_reading_like_any_other(notebook: Notebook) -> None:
    """It stands at its place with the display's decimals, its recording and its picks hang on it, the file is whole."""
    test = new_test(notebook).id
    digest = sound(notebook, test)
    reply = keep(notebook, test, digest)
    assert reply["status"] == "kept"
    (reading,) = bench_state(notebook, test).readings
    assert (reading.text, reading.unit, reading.value, reading.quantity) == ("251", "mm", 251.0, "rebound")
    assert "standard uncertainty 0.61 mm" in reading.note
    (row,) = kept_picks(notebook, test)
    assert (row.reading_id, row.digest, row.method, row.by) == (reading.id, digest, "listen", "E")
    assert json.loads(row.picks) == [list(drop) for drop in PICKS]
    assert json.loads(row.asked) == {"ball": "40 mm, 2.7 g", "drop_height": "305 mm"}
    assert json.loads(row.told)["result"] == 251.26
    assert hashlib.sha256(recording_bytes(notebook, test, digest)).hexdigest() == digest


def test_an_odd_value_is_asked_about_and_nothing_is_kept(notebook: Notebook) -> None:
    """The gate asks as at the bench; confirmed it is kept, and the picks come with it and not before."""
    test = new_test(notebook).id
    list(fill(notebook, test))
    digest, before = sound(notebook, test), len(bench_state(notebook, test).readings)
    place = places(notebook, test, "rebound")[0].id
    odd = result(2512.6)
    asked = keep(notebook, test, digest, place=place, given=odd)
    assert (asked["status"], kept_picks(notebook, test)) == ("asked", [])
    assert len(bench_state(notebook, test).readings) == before
    kept = keep(notebook, test, digest, place=place, given=odd, confirms=asked["question"]["key"])
    assert (kept["status"], kept["reading"]["confirmed"], len(kept_picks(notebook, test))) == ("kept", True, 1)


def test_the_same_act_again_keeps_it_once(notebook: Notebook) -> None:
    """Under its key it gets the same reply; another value under the key is a conflict."""
    test = new_test(notebook).id
    digest, own = sound(notebook, test), sent()
    again = {name: own[name] for name in ("key", "client", "by", "at")}
    first = keep(notebook, test, digest, **again)
    assert keep(notebook, test, digest, **again) == first
    with pytest.raises(Conflict):
        keep(notebook, test, digest, stated=(("drop_height", "305 mm"),), **again)
    assert (len(bench_state(notebook, test).readings), len(kept_picks(notebook, test))) == (1, 1)


@pytest.mark.parametrize(
    ("more", "error", "words"),
    [
        ({"value": "drop 9, rebound"}, BadInput, "drop 1, rebound"),
        ({"value": "drop 1, impact 1, restitution"}, BadInput, "rebound height"),
        ({"digest": "0" * 64}, Conflict, "send the recording first"),
        ({"place": 9999}, NotFound, "place"),
        ({"by": ""}, BadInput, "by"),
    ],
)  # fmt: skip
def test_what_cannot_be_kept(notebook: Notebook, more: dict[str, Any], error: type[BadInput], words: str) -> None:
    """A value that there is not, one of another quantity, a recording elsewhere, no place, nobody: nothing is kept."""
    test = new_test(notebook).id
    digest = sound(notebook, test)
    with pytest.raises(error, match=words):
        keep(notebook, test, more.pop("digest", digest), **more)
    assert (bench_state(notebook, test).readings, kept_picks(notebook, test)) == ((), [])


@pytest.mark.parametrize(
    ("said", "kept"),
    [("305 mm", True), ("305 ± 1 mm", True), ("30.5 cm", True), ("12 in", True), ("300 mm", False), ("", False)],
)
def test_a_rebound_from_another_height_is_no_reading_of_the_test(notebook: Notebook, said: str, kept: bool) -> None:
    """Set up for 305 mm: a drop from 300 mm, or from a height that nobody said, is refused with what to do."""
    test = new_test(notebook).id
    digest = sound(notebook, test)
    stated = (("ball", "40 mm, 2.7 g"), *((("drop_height", said),) if said else ()))
    if kept:
        assert keep(notebook, test, digest, stated=stated)["status"] == "kept"
        return
    with pytest.raises(BadInput, match="305 mm, for which the test was set up"):
        keep(notebook, test, digest, stated=stated)
    assert bench_state(notebook, test).readings == ()


def test_a_finished_test_takes_no_reading(notebook: Notebook) -> None:
    """As at the bench: take it up again first."""
    test = new_test(notebook).id
    digest = sound(notebook, test)
    finish(notebook, test, Finish(**sent()))
    with pytest.raises(Conflict, match="take it up again"):
        keep(notebook, test, digest)


def test_the_picks_leave_with_the_test_as_listen_reads_them(notebook: Notebook, tmp_path: Path) -> None:
    """picks.csv names the sound by its digest and holds each impact to a microsecond, as it was kept last."""
    test = new_test(notebook).id
    digest = sound(notebook, test)
    keep(notebook, test, digest)
    moved = result(mended=True)
    own = ((0.5001, 0.9, 1.25), (3.0, 3.41))
    second = places(notebook, test, "rebound")[1].id
    keep(notebook, test, digest, place=second, picks=own, given=_with_picks(moved, own))
    (tmp_path / "picks.csv").write_bytes(export_file(notebook, test, "picks.csv"))
    picks = read_picks(tmp_path / "picks.csv")
    assert picks.of("", f"sha256:{digest}") == own
    assert {pick.by for pick in picks.rows} == {"E"}


def _with_picks(one: Any, picks: Any) -> Any:
    return replace(one, picks=picks)


def test_how_a_reading_came_out_of_a_recording_goes_round(notebook: Notebook, tmp_path: Path) -> None:
    """everything.zip taken in again gives the same recordings.csv, picks.csv and marks.csv, and the same sound."""
    test = an_evening(notebook)
    whole = export_file(notebook, test, "everything.zip")
    (tmp_path / "archive").write_bytes(whole)
    again = take_in_whole(notebook, TakeInWhole(**sent(archive=tmp_path / "archive"))).id
    for name in ("recordings.csv", "picks.csv", "marks.csv"):
        assert export_file(notebook, again, name) == export_file(notebook, test, name)
    here, there = (
        [(one.method, one.picks, one.asked, one.told, one.by, one.at) for one in kept_picks(notebook, number)]
        for number in (test, again)
    )
    assert here == there
    assert [method for method, *_ in here] == ["listen", "watch"]
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        assert b"listen" in archive.read("recordings.csv")


@pytest.mark.parametrize(
    ("column", "text", "words"),
    [
        ("method", "guess", "listen, trace, watch"),
        ("picks", "{}", "a list as JSON"),
        ("picks", "[[1, Infinity]]", "a list as JSON"),
        ("picks", "[" * 100_000, "a list as JSON"),
        ("stated", "[]", "an object as JSON"),
        ("told", "told", "an object as JSON"),
    ],
)
def test_picks_that_nobody_could_follow_are_refused(
    notebook: Notebook, tmp_path: Path, column: str, text: str, words: str
) -> None:
    """The line and column of recordings.csv, what stands there, and what it may be; nothing is taken in."""
    whole = export_file(notebook, an_evening(notebook), "everything.zip")
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        files = {name: archive.read(name) for name in archive.namelist() if name != "SHA256SUMS"}
    rows = list(csv.DictReader(io.StringIO(files["recordings.csv"].decode())))
    number = next(i for i, row in enumerate(rows) if row["method"])
    rows[number][column] = text
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    with zipfile.ZipFile(tmp_path / "archive", "w") as archive:
        for name, content in {**files, "recordings.csv": out.getvalue().encode()}.items():
            archive.writestr(name, content)
    with pytest.raises(BadInput) as caught:
        take_in_whole(notebook, TakeInWhole(**sent(archive=tmp_path / "archive")))
    fault = caught.value.faults[0]
    assert (fault.where, words in fault.allowed) == (f"recordings.csv, line {number + 2}, column {column}", True)


def test_the_page_of_a_blind_test_shows_no_make_and_no_value(notebook: Notebook) -> None:
    """Balls by their number alone, no mean of what was read, and of a kept recording only which ball it was."""
    test = new_test(notebook, blind=True).id
    digest = sound(notebook, test)
    keep(notebook, test, digest)
    for place in places(notebook, test, "diameter") + places(notebook, test, "mass"):
        put(notebook, test, place.id, "40.25" if place.quantity == "diameter" else "2.70")
    page = recordings_page(notebook, test)
    said = repr(page)
    assert "Curlew" not in said
    assert "Dunlin" not in said
    for value in ("251", "40.25", "2.70"):
        assert value not in said
    finish(notebook, test, Finish(**sent()))
    assert "40.25 mm, 2.700 g" in repr(recordings_page(notebook, test))


def test_the_page_knows_how_sure_the_instrument_was_set_up_to_be(notebook: Notebook) -> None:
    """Noise of 2.5 mm and no own error said: 2.5 mm; with 6 mm of its own beside it the root of their squares."""
    ((_, offered),) = recordings_page(notebook, new_test(notebook).id).places
    assert {one.u for one in offered} == {2.5}
    phone = InstrumentPlan("phone", "rebound", "cm", 0.1, 0.25, 10.0, 0.0, 0.6)
    plain = new_test(
        notebook, quantities=(QuantityPlan("rebound", (), 1, "phone"),), instruments=(phone,), references=()
    )
    ((_, offered),) = recordings_page(notebook, plain.id).places
    assert {round(one.u or 0.0, 9) for one in offered} == {6.5}


def test_what_the_set_up_says_of_air_and_place_stands_there_already(notebook: Notebook) -> None:
    """Conditions as a bench file has them, under their names there, fill the fields of the pages; the rest is empty."""
    conditions = {
        "drop_height": "30 cm", "air_pressure": "955 hPa", "humidity": "40 %",
        "latitude": "46.8", "altitude": "520 m",
    }  # fmt: skip
    listen, watch = recordings_page(notebook, new_test(notebook, conditions=conditions).id).methods
    for method in (listen, watch):
        stands = {field.name: field.value for field in method.fields if field.value}
        assert stands == {name.removeprefix("air_"): text for name, text in conditions.items()}


def test_the_next_place_of_each_ball_is_offered(notebook: Notebook) -> None:
    """Six balls, rebound read twice: a ball that was read once still stands there, one that was read twice does not."""
    test = new_test(notebook).id
    ((words, offered),) = recordings_page(notebook, test).places
    assert (words, len(offered)) == ("rebound height", 6)
    own = [one for one in places(notebook, test, "rebound") if one.ball == places(notebook, test, "rebound")[0].ball]
    put(notebook, test, own[0].id, "251")
    offered = recordings_page(notebook, test).places[0][1]
    assert (len(offered), own[1].id in {one.id for one in offered}) == (6, True)
    put(notebook, test, own[1].id, "252")
    assert len(recordings_page(notebook, test).places[0][1]) == 5


def test_every_value_and_statement_of_a_page_fits_its_command() -> None:
    """Fields of a page are those of the request that its command takes, and of what that says of a flight."""
    flight = {one.name for one in fields(FlightWords)}
    for method, request in (("listen", ListenRequest), ("watch", WatchRequest), ("trace", TraceRequest)):
        own = {one.name for one in fields(request)}
        assert {one.name for one in METHODS[method]} <= own | (flight if "flight" in own else set())
