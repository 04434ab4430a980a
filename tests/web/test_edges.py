from __future__ import annotations

import io
import json
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from servers import Answer, Running, act, bench_server, new_test

from ballbench.workflows.opening import Notebook, open_notebook


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    """A notebook with one test."""
    opened = open_notebook(tmp_path / "notebook")
    new_test(opened)
    yield opened
    opened.close()


@pytest.fixture
def server(notebook: Notebook) -> Iterator[Running]:
    """The bench."""
    with bench_server(notebook) as running:
        yield running


def kept(server: Running, count: int) -> list[int]:
    """Enter so many readings; give their numbers."""
    places = server.ask("GET", "/api/tests/1/bench").json()["places"]
    diameters = [one["id"] for one in places if one["quantity"] == "diameter"][:count]
    told = [server.post("/api/tests/1/readings", act(place=place, text="42.71")).json() for place in diameters]
    return [one["reading"]["id"] for one in told]


def state(server: Running) -> Any:
    """The bench as it stands."""
    return server.ask("GET", "/api/tests/1/bench").json()


def test_another_request_under_a_key_is_a_conflict(server: Running) -> None:
    """409 with the fault at `key`, nothing is written, and the first request still gets its own answer."""
    place = state(server)["places"][0]["id"]
    body = act(place=place, text="42.71")
    first = server.post("/api/tests/1/readings", body)
    before = state(server)
    other = server.post("/api/tests/1/readings", {**body, "text": "42.72"})
    assert (other.status, other.json()["faults"][0]["where"]) == (409, "key")
    assert other.headers["content-type"] == "application/problem+json"
    assert state(server) == before
    later = {**body, "at": act()["at"], "client": str(uuid.uuid4())}
    assert server.post("/api/tests/1/readings", later).json() == first.json()


def test_many_readings_are_excluded_in_one_act(server: Running) -> None:
    """One revision for all of them; where one is none of the test, not one is excluded."""
    numbers = kept(server, 4)
    revision = state(server)["revision"]
    body = act(readings=[*numbers, 999], action="exclude", reason="caliper dropped")
    assert server.post("/api/tests/1/corrections", body).status == 404
    assert {one["standing"] for one in state(server)["readings"]} == {"kept"}
    told = server.post("/api/tests/1/corrections", {**body, "readings": numbers})
    assert told.status == 200
    assert [one["standing"] for one in told.json()["readings"]] == ["excluded"] * 4
    assert state(server)["revision"] == revision + 1 == told.json()["revision"]


@pytest.mark.parametrize("more", [{}, {"reading": 1, "readings": [1]}, {"readings": []}, {"readings": [1, 1]}])
def test_one_reading_or_several(server: Running, more: dict[str, Any]) -> None:
    """Neither, both, or one twice: refused before anything is said of any."""
    kept(server, 1)
    told = server.post("/api/tests/1/corrections", act(action="exclude", reason="odd", **more))
    assert (told.status, told.json()["faults"][0]["where"][:7]) == (422, "reading")
    assert state(server)["readings"][0]["standing"] == "kept"


@pytest.mark.parametrize("word", ["%00", "a%00b", "%07"])
def test_a_quantity_that_cannot_be_printed_is_refused(server: Running, word: str) -> None:
    """As in every other address: 422 at the parameter's name."""
    told = server.ask("GET", f"/api/tests/1/comparison?quantity={word}")
    assert (told.status, told.json()["faults"][0]["where"]) == (422, "quantity")


def brought(server: Running, files: dict[str, bytes], where: str = "/api/imports/whole") -> Answer:
    """Send a form with files."""
    edge, out = uuid.uuid4().hex, io.BytesIO()
    own = {"key": str(uuid.uuid4()), "by": "E", "requirement": "golf"} if where == "/api/imports" else {
        "key": str(uuid.uuid4()), "by": "E"}  # fmt: skip
    for name, text in own.items():
        out.write(f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode())
    for name, content in files.items():
        head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="{name}.bin"\r\n'
        out.write(head.encode() + b"Content-Type: application/octet-stream\r\n\r\n" + content + b"\r\n")
    out.write(f"--{edge}--\r\n".encode())
    headers = {"Content-Type": f"multipart/form-data; boundary={edge}", "Origin": f"http://{server.host}"}
    return server.ask("POST", where, headers, out.getvalue())


def test_a_test_goes_out_and_comes_in_whole(server: Running) -> None:
    """everything.zip, sent back alone, is a test with the same title, seed, readings and sitting."""
    kept(server, 3)
    whole = server.ask("GET", "/api/tests/1/files/everything.zip").body
    told = brought(server, {"archive": whole})
    assert told.status == 201, told.body
    made = told.json()
    own = state(server)["test"]
    assert {name: made[name] for name in ("title", "seed", "rule", "risk", "set_up", "set_up_by")} == {
        name: own[name] for name in ("title", "seed", "rule", "risk", "set_up", "set_up_by")
    }
    again = server.ask("GET", f"/api/tests/{made['id']}/files/readings.csv").body
    assert again == server.ask("GET", "/api/tests/1/files/readings.csv").body


def test_an_archive_that_is_none(server: Running) -> None:
    """Told with the field's name; no test is made."""
    kept(server, 1)
    whole = server.ask("GET", "/api/tests/1/files/everything.zip").body
    bad = [brought(server, {"archive": content}) for content in (b"PK\x03\x04 no archive", b"readings", whole[:-200])]
    bad.append(brought(server, {"readings": whole}))
    assert [(one.status, json.loads(one.body)["faults"][0]["where"]) for one in bad] == [(422, "archive")] * 4
    assert len(server.ask("GET", "/api/tests").json()["tests"]) == 1


def test_readings_come_in_with_what_is_stated_of_them(server: Running) -> None:
    """The files of a test one by one, test.toml among them; one with a fault is told by its field."""
    kept(server, 2)
    names = {"readings": "readings.csv", "bench": "bench.toml", "test": "test.toml"}
    files = {field: server.ask("GET", f"/api/tests/1/files/{name}").body for field, name in names.items()}
    made = brought(server, files, "/api/imports")
    assert (made.status, made.json()["title"], made.json()["set_up"]) == (
        201, "Winter league (invented)", state(server)["test"]["set_up"])  # fmt: skip
    bad = brought(server, {**files, "test": b"title = 1"}, "/api/imports")
    assert (bad.status, {fault["where"].partition(",")[0] for fault in bad.json()["faults"]}) == (422, {"test"})
