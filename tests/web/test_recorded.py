from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from drop_sounds import START_S, drop_wav, rebound_mm, several_wav, silent_wav, truth
from examples.recorded import clips, photos
from examples.recorded.photos import Ball, Lens, Scene
from recorded_bench import STATED, bounce_test, places_of, send_file, sent_recording
from servers import Running, act, bench_server

from ballbench.presentation.bounces_json import bounces_to_json
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.listen import ListenRequest, listen
from ballbench.workflows.opening import Notebook, open_notebook


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    """A notebook with a test, and a blind one."""
    opened = open_notebook(tmp_path_factory.mktemp("notebook"))
    bounce_test(opened)
    bounce_test(opened, blind=True)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def server(notebook: Notebook) -> Iterator[Running]:
    """The bench; what reads recordings is started once."""
    with bench_server(notebook) as running:
        yield running


@pytest.fixture(scope="module")
def digest(server: Running) -> str:
    """A sound of a drop, kept with the first test."""
    return sent_recording(server, 1, drop_wav())


def told(server: Running, test: int, digest: str, **more: Any) -> Any:
    """What a recording of a test tells."""
    body = {"method": "listen", "stated": STATED, **more}
    answer = server.post(f"/api/tests/{test}/recordings/{digest}/told", body)
    assert answer.status == 200, answer.body
    return answer.json()


def keeping(place: int, **more: Any) -> dict[str, Any]:
    """The act that keeps the rebound of the first drop."""
    usual = {"place": place, "value": "drop 1, rebound", "method": "listen", "stated": STATED, "picks": None}
    return act(**{**usual, **more})


def test_a_sound_that_belongs_to_no_test_is_told_and_forgotten(server: Running, notebook: Notebook) -> None:
    """Its document is that of the command, its truth lies in the interval, and the notebook's folder is as it was."""
    before = sorted(path.name for path in notebook.recordings.iterdir())
    answer = send_file(server, "/api/listen", STATED, drop_wav(), "../Curlew_07.wav")
    assert answer.status == 200, answer.body
    reply = answer.json()
    assert reply["document"]["format"] == "ballbench/bounces/1"
    (one,) = reply["document"]["recordings"]
    assert (one["file"], one["refused"]) == ("Curlew_07.wav", None)
    rebound = one["drops"][0]["rebound"]
    assert abs(rebound["value"] - rebound_mm()) < 2.0 * rebound["u"]
    found = [pick["time"] for pick in reply["view"]["drops"][0]["picks"]]
    assert found == pytest.approx(truth().times + START_S, abs=5e-4), "half a millisecond, as `listen` is tested"
    assert sorted(path.name for path in notebook.recordings.iterdir()) == before


def test_the_page_says_what_the_command_writes(server: Running, tmp_path: Path) -> None:
    """For the same sound and the same words the document is the same, to the last digit."""
    sound = tmp_path / "drop.wav"
    sound.write_bytes(drop_wav())
    reply = send_file(server, "/api/listen", STATED, sound.read_bytes()).json()
    assert reply["document"] == json.loads(bounces_to_json(listen(ListenRequest((sound,), FlightWords(**STATED)))))


def test_two_drops_in_one_recording_are_two_readings_of_a_ball(server: Running) -> None:
    """Each is kept at a place of its own, and the second keeps the picks of the first."""
    digest = sent_recording(server, 1, drop_wav(seed=9))
    picks = [[one["time"] for one in drop["picks"]] for drop in told(server, 1, digest)["view"]["drops"]]
    two = [picks[0][:3], picks[0][4:]]
    found = told(server, 1, digest, picks=two)
    values = [one["name"] for one in found["values"] if one["quantity"] == "bounce_restitution"]
    assert {name.split(",")[0] for name in values} == {"drop 1", "drop 2"}
    ball = places_of(server, 1, "bounce_restitution")[0]
    body = keeping(ball["id"], picks=two, value=values[0])
    assert server.post(f"/api/tests/1/recordings/{digest}/readings", body).json()["status"] == "kept"
    other = next(one for one in places_of(server, 1, "bounce_restitution") if one["ball"] != ball["ball"])
    body = keeping(other["id"], picks=two, value=next(name for name in values if name.startswith("drop 2, impact 2")))
    assert server.post(f"/api/tests/1/recordings/{digest}/readings", body).json()["status"] == "kept"
    rows = server.ask("GET", "/api/tests/1/files/picks.csv").body.decode().splitlines()
    assert len([row for row in rows if digest in row]) == sum(map(len, two))


def test_a_photograph_gives_the_form_of_the_outline(server: Running, notebook: Notebook, tmp_path: Path) -> None:
    """Three lobes of 0.05 mm show 0.1 mm of form: kept as a reading of a ball, without picks."""
    test = bounce_test(notebook, outline=True)
    lens = Lens(9000.0, 320.0, 240.0)
    ball = Ball(20.0, (photos.Lobe(3, 0.05, 0.3),), 1000.0)
    picture = photos.saved(
        photos.photographed(Scene(640, 480, lens, (ball,)), np.random.default_rng(1)), tmp_path / "b.png"
    )
    digest = sent_recording(server, test, picture.read_bytes(), "ball.png")
    asked = {"method": "trace", "stated": {"diameter": "40.00 mm"}}
    found = server.post(f"/api/tests/{test}/recordings/{digest}/told", asked).json()
    assert found["refused"] == ""
    (value,) = found["values"]
    assert abs(value["value"] - 0.1) < 3.0 * value["u"] + 0.001
    place = places_of(server, test, "outline_form")[0]["id"]
    body = act(**asked, place=place, value=value["name"], picks=None)
    kept = server.post(f"/api/tests/{test}/recordings/{digest}/readings", body).json()
    if kept["status"] == "asked":
        body = act(**asked, place=place, value=value["name"], picks=None, confirms=kept["question"]["key"])
        kept = server.post(f"/api/tests/{test}/recordings/{digest}/readings", body).json()
    assert kept["reading"]["text"] == f"{value['value']:.3f}"
    row = next(one for one in csv.DictReader(io.StringIO(
        server.ask("GET", f"/api/tests/{test}/files/recordings.csv").body.decode())) if one["method"])  # fmt: skip
    assert (row["method"], row["picks"], json.loads(row["stated"])) == ("trace", "[]", {"diameter": "40.00 mm"})
    assert server.ask("GET", f"/api/tests/{test}/files/picks.csv").status == 404


def test_a_film_gives_the_rebound(server: Running, tmp_path: Path) -> None:
    """A film of a drop with known truth: what it tells holds the truth, and is kept as any other reading."""
    film = tmp_path / "drop.mp4"
    true = clips.film(film, clips.Scene(width=120, height=360, pixel=0.00115), np.random.default_rng(2))
    digest = sent_recording(server, 1, film.read_bytes(), "drop.mp4")
    found = told(server, 1, digest, method="watch")
    value = next(one for one in found["values"] if one["quantity"] == "rebound")
    assert abs(value["value"] - true.rebound) < 4.0 * value["u"] + 0.2
    body = keeping(places_of(server, 1, "rebound")[0]["id"], method="watch", value=value["name"])
    kept = server.post(f"/api/tests/1/recordings/{digest}/readings", body).json()
    assert kept["reading"]["text"] == f"{value['value']:.1f}"


@pytest.mark.parametrize(
    ("surface", "decision", "reason"),
    [
        ("steel block", "not met", ""),  # 231 mm, where the clause asks for 240 mm to 260 mm
        ("carpet", "not tested", "the readings were taken at carpet"),
        ("", "not tested", "it is not said what held"),
    ],
)
def test_what_the_balls_fell_on_reaches_the_clause(server: Running, surface: str, decision: str, reason: str) -> None:
    """Three drops are held against a rule on a steel block; on another surface, or on one that nobody said, not."""
    fields = {**STATED, "surface": surface, "spec": "table-tennis-plastic"}
    document = send_file(server, "/api/listen", fields, several_wav(3)).json()["document"]
    (clause,) = document["clauses"]
    assert (clause["decision"], reason in (clause["reason"] or "")) == (decision, True), clause
    assert ('--surface "' in document["command"]) == bool(surface)


def test_picks_that_come_with_a_sound_are_taken_as_they_are(server: Running) -> None:
    """A person's picks are not moved, by a microsecond or at all, and those that the program found are not there."""
    picks = [[START_S, round(START_S + truth().times[1] + 0.0031, 6)]]
    answer = send_file(server, "/api/listen", {**STATED, "picks": json.dumps(picks)}, drop_wav())
    shown = answer.json()["view"]
    assert [[pick["time"] for pick in drop["picks"]] for drop in shown["drops"]] == picks
    assert (shown["mended"], {pick["found"] for drop in shown["drops"] for pick in drop["picks"]}) == (True, {False})


def test_a_recording_in_which_nothing_is_heard_says_why_and_what_to_do(server: Running) -> None:
    """The reason and the next step; the sound is there to be picked in by hand, and then it tells something."""
    quiet = send_file(server, "/api/listen", STATED, silent_wav()).json()
    assert "record again" in quiet["refused"]
    assert "record again" not in quiet["shown"], "the reason is said once"
    assert (quiet["values"], quiet["view"]["kind"], quiet["view"]["drops"]) == ([], "sound", [])
    by_hand = {**STATED, "picks": "[[0.4, 0.84]]"}
    assert send_file(server, "/api/listen", by_hand, silent_wav()).json()["values"]


@pytest.mark.parametrize("content", [b"", b"RIFF", b"\x00" * 5000, b"<script>alert(1)</script>" * 50, b"%PDF-1.7"])
def test_a_file_that_is_no_sound_says_so(server: Running, content: bytes) -> None:
    """No traceback and no 500: the reason and what to do, in the answer of a recording that was refused."""
    answer = send_file(server, "/api/listen", STATED, content, "<b>drop</b>.wav")
    assert answer.status == 200, answer.body
    reply = answer.json()
    assert reply["refused"]
    assert (reply["view"], reply["values"]) == ({"kind": "none"}, [])
    assert b"<script>" not in reply["shown"].encode()
    assert b"<b>drop</b>" not in reply["shown"].encode()


@pytest.mark.parametrize(
    ("fields", "where"),
    [
        ({"ball": ""}, "option --ball"), ({"ball": "round"}, "option --ball"),
        ({"drop_height": "high"}, "option --drop-height"), ({"picks": "{"}, "picks"), ({"picks": "[[-1]]"}, "picks"),
        ({"picks": "[[]]"}, "picks"), ({"picks": "[]"}, "picks"), ({"picks": "[[1e999]]"}, "picks"),
        ({"picks": "[[0.5, 0.4]]"}, "picks.csv"), ({"picks": json.dumps([[0.001 * i for i in range(600)]])}, "picks"),
        ({"spec": "no-such-rule"}, "requirement"),
    ],
)  # fmt: skip
def test_what_is_stated_wrongly_is_refused(server: Running, fields: dict[str, str], where: str) -> None:
    """422 with the place that is wrong: the ball, the height, picks that are none, too many or backwards, the rule."""
    answer = send_file(server, "/api/listen", {**STATED, **fields}, silent_wav(0.5))
    assert answer.status == 422, answer.body
    assert where in answer.json()["faults"][0]["where"], answer.body


def test_a_value_of_a_recording_becomes_a_reading(server: Running, notebook: Notebook, digest: str) -> None:
    """The value that was told, with the display's decimals; recording and picks hang on it; the file is as it came."""
    reply = told(server, 1, digest)
    value = next(one for one in reply["values"] if one["name"] == "drop 1, rebound")
    place = places_of(server, 1, "rebound")[0]["id"]
    body = keeping(place)
    kept = server.post(f"/api/tests/1/recordings/{digest}/readings", body)
    assert kept.status == 200, kept.body
    reading = kept.json()["reading"]
    assert (reading["text"], reading["unit"], reading["place"]) == (f"{value['value']:.1f}", "mm", place)
    assert server.post(f"/api/tests/1/recordings/{digest}/readings", body).body == kept.body
    assert hashlib.sha256((notebook.recordings / digest).read_bytes()).hexdigest() == digest
    rows = server.ask("GET", "/api/tests/1/files/picks.csv").body.decode().splitlines()
    assert rows[0] == "file,drop,impact,time_s,by,time"
    assert len([row for row in rows if row.startswith(f"sha256:{digest},")]) == 8


def test_a_stranger_gets_the_same_value_from_the_files(server: Running, notebook: Notebook, tmp_path: Path) -> None:
    """Recording, picks.csv and what recordings.csv says was stated give the value of the reading again."""
    digest = sent_recording(server, 1, drop_wav(seed=5))
    picks = [[one["time"] for one in drop["picks"]] for drop in told(server, 1, digest)["view"]["drops"]]
    picks[0][1] = round(picks[0][1] - 0.0004, 6)
    place = places_of(server, 1, "rebound")[0]["id"]
    kept = server.post(f"/api/tests/1/recordings/{digest}/readings", keeping(place, picks=picks)).json()
    files = {name: server.ask("GET", f"/api/tests/1/files/{name}").body for name in ("picks.csv", "recordings.csv")}
    row = next(one for one in csv.DictReader(io.StringIO(files["recordings.csv"].decode()))
               if one["digest"] == digest and one["method"])  # fmt: skip
    (tmp_path / "picks.csv").write_bytes(files["picks.csv"])
    (tmp_path / "another name.wav").write_bytes(server.ask("GET", f"/api/tests/1/recordings/{digest}").body)
    found = listen(
        ListenRequest(
            (tmp_path / "another name.wav",), FlightWords(**json.loads(row["stated"])), picks=tmp_path / "picks.csv"
        )
    )
    rebound = found.recordings[0].drops[0].rebound
    assert rebound is not None
    assert f"{rebound.value:.1f}" == kept["reading"]["text"]
    assert rebound.value == pytest.approx(json.loads(row["told"])["result"], abs=1e-9)
    assert notebook.place


def test_an_odd_value_is_asked_about(server: Running, digest: str) -> None:
    """Impacts 90 ms too near give a rebound that is far too low: it is asked about, and kept when it is confirmed."""
    picks = [[START_S, round(START_S + truth().times[1] - 0.09, 6)]]
    place = places_of(server, 1, "rebound")[0]["id"]
    answer = server.post(f"/api/tests/1/recordings/{digest}/readings", keeping(place, picks=picks))
    assert answer.status == 200, answer.body
    asked = answer.json()
    assert (asked["status"], asked["reading"]) == ("asked", None), asked
    again = keeping(place, picks=picks, confirms=asked["question"]["key"])
    assert server.post(f"/api/tests/1/recordings/{digest}/readings", again).json()["reading"]["confirmed"]


def test_a_blind_test_is_told_nothing_of_limits(server: Running) -> None:
    """What a recording tells there names no make and no limit; an odd value is told only to be far from this box."""
    digest = sent_recording(server, 2, drop_wav(seed=3))
    said = json.dumps(told(server, 2, digest))
    assert "Curlew" not in said
    assert "260 mm" not in said.replace("\u00a0", " ")
    page = server.ask("GET", "/tests/2/recordings").body.decode()
    assert "Curlew" not in page
    assert "Dunlin" not in page
    picks = [[START_S, round(START_S + truth().times[1] - 0.12, 6)]]
    place = places_of(server, 2, "rebound")[0]["id"]
    asked = server.post(f"/api/tests/2/recordings/{digest}/readings", keeping(place, picks=picks)).json()
    assert (asked["status"], asked["question"]["why"]) == ("asked", "far from this box, look again")


def test_what_is_told_names_the_ball_of_the_place(server: Running, digest: str) -> None:
    """Make and number of the ball that is chosen; in a blind test the make is not there."""
    place = places_of(server, 1, "bounce_restitution")[0]
    number = next(one["number"] for one in server.ask("GET", "/api/tests/1/bench").json()["balls"]
                  if one["id"] == place["ball"])  # fmt: skip
    (one,) = told(server, 1, digest, place=place["id"])["document"]["balls"]
    assert (one["product"] in {"Curlew", "Dunlin"}, one["ball"]) == (True, number)
    blind = sent_recording(server, 2, drop_wav(seed=3))
    (one,) = told(server, 2, blind, place=places_of(server, 2, "rebound")[-1]["id"])["document"]["balls"]
    assert one["product"] == "hidden make"
    wrong = {"method": "listen", "stated": STATED, "place": 99_999}
    assert server.post(f"/api/tests/1/recordings/{digest}/told", wrong).status == 404


def test_only_recordings_of_the_test_are_read(server: Running, digest: str) -> None:
    """Another test's, none, or a path: 404, and nothing of it is read."""
    body = {"method": "listen", "stated": STATED}
    for wrong in ("0" * 64, "..%2fnotebook.sqlite3", "%2fetc%2fpasswd"):
        assert server.post(f"/api/tests/1/recordings/{wrong}/told", body).status == 404
    assert server.post(f"/api/tests/2/recordings/{digest}/told", body).status == 404
    assert server.post(f"/api/tests/9/recordings/{digest}/told", body).status == 404


def test_what_is_stated_is_only_what_the_command_knows(server: Running, digest: str) -> None:
    """A field of another name, such as a path of a bench file, is refused."""
    for stated in ({**STATED, "bench": "/etc/passwd"}, {**STATED, "picks": "x"}):
        answer = server.post(f"/api/tests/1/recordings/{digest}/told", {"method": "listen", "stated": stated})
        assert answer.status == 422
        assert b"root:" not in answer.body
