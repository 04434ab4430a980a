"""What a person puts right in a film: pictures left out, places put, and the same value by the command."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from films import PIXEL_MM, filmed
from recorded_bench import STATED, places_of, send_file, sent_recording
from servers import Running, act

from ballbench.records.clip_marks import read_marks
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.watch import WatchRequest, watch


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of a drop, as a file of the phone."""
    place = tmp_path_factory.mktemp("phone") / "Curlew_07.mp4"
    filmed(place)
    return place


@pytest.fixture(scope="module")
def digest(server: Running, film: Path) -> str:
    """The film, kept with the test."""
    return sent_recording(server, 1, film.read_bytes(), film.name)


def told(server: Running, digest: str, picks: Any = None) -> Any:
    """What the film tells."""
    body = {"method": "watch", "stated": STATED, "picks": picks}
    answer = server.post(f"/api/tests/1/recordings/{digest}/told", body)
    assert answer.status == 200, answer.body
    return answer.json()


def rebound(reply: Any) -> Any:
    """The rebound that can be kept."""
    return next(one for one in reply["values"] if one["quantity"] == "rebound")


def looks(reply: Any) -> dict[float, str]:
    """What stands of each picture, by its time."""
    return {one["time"]: one["look"] for one in reply["view"]["pictures"]}


def test_every_picture_of_the_drop_is_shown(server: Running, digest: str) -> None:
    """Times go on, heights lie between plate and release, nearly all count, and each has a piece of the picture."""
    view = told(server, digest)["view"]
    assert (view["kind"], view["mended"]) == ("film", False)
    times = [one["time"] for one in view["pictures"]]
    assert times == sorted(set(times))
    counting = [one for one in view["pictures"] if one["look"] == "used"]
    assert len(counting) > 0.9 * len(view["pictures"])
    assert all(-2.0 < one["height"] < 306.0 and abs(one["off"]) < 1.0 for one in counting)
    assert all(one["piece"]["jpeg"] and one["piece"]["side"] > view["breadth"] for one in view["pictures"])
    assert view["breadth"] == pytest.approx(40.0 / PIXEL_MM, rel=0.02), "the ball of 40 mm"
    assert max(height for _, height in view["curve"] if height is not None) < 306.0


def test_a_place_that_is_wrong_shows_and_is_left_out(server: Running, digest: str) -> None:
    """A place 12 px too high lies 12 px off the flights and is in doubt; left out it moves nothing any more."""
    first = told(server, digest)
    one = first["view"]["pictures"][80]
    wrong = told(server, digest, [[one["time"], one["x"], one["y"] - 12.0, 0.5]])
    shown = wrong["view"]["pictures"][80]
    assert (shown["look"], shown["doubt"], shown["u"]) == ("by hand", True, 0.5)
    assert shown["off"] == pytest.approx(12.0 * PIXEL_MM, rel=0.15)
    assert (shown["x"], shown["y"]) == (one["x"], round(one["y"] - 12.0, 2)), "a person's place is not moved"
    mended = told(server, digest, [[one["time"]]])
    assert looks(mended)[one["time"]] == "left out"
    assert mended["view"]["mended"]
    moved = abs(rebound(wrong)["value"] - rebound(first)["value"])
    assert abs(rebound(mended)["value"] - rebound(first)["value"]) < 0.2 * moved
    assert mended["document"]["clips"][0]["frames_in_flight"] < first["document"]["clips"][0]["frames_in_flight"] + 1


def test_page_and_command_give_the_same_number(server: Running, digest: str, film: Path, tmp_path: Path) -> None:
    """Kept with its marks, then by `watch --marks` from what leaves with the test: the same to 1e-9, for a stranger."""
    pictures = told(server, digest)["view"]["pictures"]
    picks = [[pictures[60]["time"]], [pictures[90]["time"], pictures[90]["x"] + 0.37, pictures[90]["y"] + 1.4142]]
    found = rebound(told(server, digest, picks))
    place = places_of(server, 1, "rebound")[0]["id"]
    body = act(place=place, value=found["name"], method="watch", stated=STATED, picks=picks)
    kept = server.post(f"/api/tests/1/recordings/{digest}/readings", body).json()
    assert kept["status"] == "kept", kept
    for name in ("marks.csv", "recordings.csv"):
        (tmp_path / name).write_bytes(server.ask("GET", f"/api/tests/1/files/{name}").body)
    rows = csv.DictReader(io.StringIO((tmp_path / "recordings.csv").read_text()))
    (row,) = [one for one in rows if one["method"] == "watch"]
    (tmp_path / "another name.mp4").write_bytes(server.ask("GET", f"/api/tests/1/recordings/{digest}").body)
    request = WatchRequest(
        (tmp_path / "another name.mp4",), FlightWords(**json.loads(row["stated"])), marks=tmp_path / "marks.csv"
    )
    (clip,) = watch(request).clips
    assert clip.at_height is not None
    assert clip.by_hand == 1
    assert abs(clip.at_height.value - found["value"]) <= 1e-9
    assert abs(clip.at_height.u - found["u"]) <= 1e-9
    assert abs(clip.at_height.value - json.loads(row["told"])["result"]) <= 1e-9
    marks = read_marks(tmp_path / "marks.csv").rows
    assert [(mark.file, mark.by, mark.u) for mark in marks] == [(f"sha256:{digest}", "E", 1.5)] * 2
    second = [round(part, places) for part, places in zip(picks[1], (6, 2, 2), strict=True)]
    assert json.loads(row["picks"]) == [picks[0], second]
    alone = send_file(server, "/api/watch", {**STATED, "picks": json.dumps(picks)}, film.read_bytes(), film.name).json()
    assert rebound(alone) == found, "and what belongs to no test goes the same way"


def test_a_film_is_opened_as_it_was_kept_last(server: Running, digest: str) -> None:
    """The button of the page carries the marks for a film and for nothing else; kept without any they are gone."""
    page = server.ask("GET", "/tests/1/recordings").body.decode()
    assert "&#34;watch&#34;: [[" in page
    found = rebound(told(server, digest))
    place = places_of(server, 1, "rebound")[0]["id"]
    body = act(place=place, value=found["name"], method="watch", stated=STATED, picks=None)
    kept = server.post(f"/api/tests/1/recordings/{digest}/readings", body).json()
    assert kept["status"] == "kept", kept
    assert "data-picks" not in server.ask("GET", "/tests/1/recordings").body.decode()
    assert server.ask("GET", "/api/tests/1/files/marks.csv").status == 404, "what was kept last has no marks"
    names = [row["picks"] for row in csv.DictReader(io.StringIO(
        server.ask("GET", "/api/tests/1/files/recordings.csv").body.decode())) if row["method"]]  # fmt: skip
    assert len(names) == 2, "and what was kept before stands as it was"
    assert names[1] == "[]"


@pytest.mark.parametrize(
    ("picks", "words"),
    [
        ([], "no picture"), ([[0.4, 1.0]], "another length"), ([[0.4], [0.4]], "twice"), ([[-0.1]], "below 0"),
        ([[0.4, 1e6, 10.0]], "far outside"), ([[0.4, 10.0, 10.0, 0.0]], "uncertainty"), ([[]], "another length"),
        ([[k / 100.0] for k in range(501)], "500"),
    ],
)  # fmt: skip
def test_marks_that_are_none_are_refused(server: Running, digest: str, picks: Any, words: str) -> None:
    """422 with what is wrong, from a page and from a program alike."""
    body = {"method": "watch", "stated": STATED, "picks": picks}
    answer = server.post(f"/api/tests/1/recordings/{digest}/told", body)
    assert answer.status == 422, answer.body
    assert words in json.dumps(answer.json()["faults"])
    photograph = {"method": "trace", "stated": {}, "picks": [[1.0]]}
    assert server.post(f"/api/tests/1/recordings/{digest}/told", photograph).status == 422


def test_a_film_without_a_drop_has_nothing_to_mend(server: Running) -> None:
    """A file that is no film: the reason once, and no picture."""
    reply = send_file(server, "/api/watch", STATED, b"RIFF" + bytes(200), "drop.mp4").json()
    assert (reply["view"], reply["values"]) == ({"kind": "none"}, [])
    assert reply["refused"]
    assert "Not used" not in reply["shown"], "the page says it beside the form, and once"


@pytest.mark.parametrize(
    ("surface", "reason"),
    [("steel block", "too few drops"), ("carpet", "taken at carpet"), ("", "it is not said what held")],
)
def test_what_a_film_fell_on_reaches_the_clause(server: Running, film: Path, surface: str, reason: str) -> None:
    """The rule's own surface is met, another one and none are said as the reason why the clause is not tested."""
    fields = {**STATED, "surface": surface, "spec": "table-tennis-plastic"}
    document = send_file(server, "/api/watch", fields, film.read_bytes(), film.name).json()["document"]
    (clause,) = document["clauses"]
    assert (clause["decision"], reason in clause["reason"]) == ("not tested", True), clause
    assert ('--surface "' in document["command"]) == bool(surface)
