from __future__ import annotations

import io
import itertools
import zipfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from dataclasses import fields as fields_of
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from drop_sounds import drop_wav
from recorded_bench import STATED, bounce_test, places_of, sent_recording
from schemathesis.checks import CHECKS
from servers import Running, act, bench_server, new_test

from ballbench.web.api import bench, plans, qualifications, quick, tests
from ballbench.web.api.acts import Act
from ballbench.workflows import bench_requests as requests
from ballbench.workflows.opening import Notebook, open_notebook
from ballbench.workflows.plan_at_bench import AskPlan
from ballbench.workflows.qualify_test import Keep
from ballbench.workflows.quick_check import QuickCheck
from ballbench.workflows.set_up import SetUp

HELD = ("not_a_server_error", "status_code_conformance", "content_type_conformance", "response_schema_conformance")
SHARED = "http://192.0.2.7:1"
FORMS = {
    f"POST /api/{path}"
    for path in ("imports", "imports/whole", "listen", "trace", "watch", "tests/{t}/recordings")
}  # fmt: skip
"""Operations that take files."""
PATIENCE_S = 120.0
"""The first recording waits until its reader has loaded; a hanging server ends a test with an error."""
TO_FINISH = 2
"""Number of the second test."""


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    """A notebook with two tests: one to measure in, one to finish."""
    opened = open_notebook(tmp_path_factory.mktemp("notebook"))
    new_test(opened)
    assert new_test(opened) == TO_FINISH
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def server(notebook: Notebook) -> Iterator[Running]:
    """A server on it, shared, so that links can be made."""
    with bench_server(notebook, shared=SHARED) as running:
        yield running


@pytest.fixture(scope="module")
def description(server: Running) -> dict[str, Any]:
    """The interface's own description."""
    return server.ask("GET", "/api/openapi.json").json()


def operations(description: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Give method, path and description of every operation."""
    for path, own in description["paths"].items():
        for method, operation in own.items():
            yield method.upper(), path, operation


@dataclass(frozen=True, slots=True)
class Asked:
    """A good request: path and query filled in, a body where there is one, and the status that it must get."""

    operation: str
    path: dict[str, Any]
    status: int = 200
    body: Any = None
    query: dict[str, Any] | None = None


SETTING_UP = {
    "requirement": "golf", "title": "Winter league (invented)", "invented": True,
    "makes": [{"make": "Curlew", "boxes": [{"label": "C-1", "balls": 3, "given_by": "E"}]}],
    "quantities": [{"name": "diameter", "axes": ["seam"], "repeats": 1, "instrument": "caliper"},
                   {"name": "mass", "axes": [""], "repeats": 1, "instrument": "scale"}],
    "instruments": [{"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01, "offset": None},
                    {"name": "scale", "quantity": "mass", "unit": "g", "resolution": 0.01, "sd": 0.005, "dof": 9}],
    "references": [{"name": "steel ball", "quantity": "mass", "value": 45.0, "u": 0.002, "unit": "g",
                    "instrument": "scale"}],
    "seed": None,
}  # fmt: skip
"""As the set-up form sends it: a field that was left empty is null, a quantity without axes has one empty axis."""
CHECKED = {
    "requirement": "golf", "quantity": "diameter", "ball": "7", "texts": ["42.70", "42.71"], "axes": ["seam", "across"],
    "instrument": {"name": "caliper", "unit": "mm", "resolution": 0.01, "sd": None, "dof": None, "offset": None},
    "note": "",
}  # fmt: skip
READINGS = "product,ball,quantity,axis,value\n" + "".join(
    f"{make},{ball},{quantity},,{value + ball / 100:.2f}\n"
    for make, ball, (quantity, value) in itertools.product(
        ("Curlew", "Dunlin"), (1, 2, 3), (("diameter", 42.70), ("mass", 45.50))
    )
)


def good(server: Running, notebook: Notebook) -> Iterator[Asked]:
    """Give a good request for every operation but the stream, in an order in which each can be done."""
    one, at = {"t": 1}, "/api/tests/{t}"
    places = server.ask("GET", "/api/tests/1/bench").json()["places"]
    first, second, third, later = [place["id"] for place in places if place["quantity"] == "diameter"][:4]
    yield Asked("POST /api/tests", {}, 201, act(**SETTING_UP))
    yield Asked(f"POST {at}/sittings", one, body=act(kind="bench", air_c=21.5, ball_c=21.0))
    yield Asked(f"POST {at}/readings", one, body=act(place=first, text="42,70", confirms=None))
    yield Asked(f"POST {at}/readings", one, body=act(place=second, text="42.71"))
    yield Asked(f"POST {at}/readings", one, body=act(place=third, text="24.70"))  # far off: it is asked about
    yield Asked(f"POST {at}/marks", one, body=act(kind="impact", value=2, ball=1))
    yield Asked(f"POST {at}/marks", one, body=act(kind="conditioning begun"))
    yield Asked(f"POST {at}/spoiled", one, body=act(place=later, reason="hit the tube"))
    yield Asked(f"POST {at}/later", one, body=act(place=later))
    yield Asked(f"POST {at}/again", one, body=act(ball=1, quantity="diameter", axis="seam", reason="a draught"))
    yield Asked(f"POST {at}/corrections", one, body=act(reading=1, action="correct", text="42.71", reason="a slip"))
    yield Asked(f"POST {at}/corrections", one, body=act(reading=2, action="exclude", reason="it slipped in the jaws"))
    yield Asked(f"POST {at}/corrections", one, body=act(readings=[1, 2], action="keep", reason="seen again"))
    yield Asked(f"POST {at}/taken-back", one, body=act(reading=1))
    yield Asked(f"POST {at}/claims", one, body={"client": act()["client"], "by": "E", "place": later})
    yield Asked(f"POST {at}/sittings/end", one, body=act())
    yield Asked(f"POST {at}/finish", {"t": TO_FINISH}, body=act())
    yield from from_files(server)
    taken = {"t": server.ask("GET", "/api/tests").json()["tests"][0]["id"]}
    sound = {"key": act()["key"], "by": "E", "file": b"RIFF", "reading": 1}
    yield Asked(f"POST {at}/recordings", one, body=sound)
    kept = server.ask("GET", "/api/tests/1/recordings").json()["recordings"]
    yield from told_of_recordings(server, notebook)
    yield Asked("POST /api/quick-checks", {}, 201, act(**CHECKED))
    quick_id = max(one["id"] for one in [*server.ask("GET", "/api/tests").json()["tests"], {"id": 0}]) + 1
    yield Asked("GET /api/quick-checks/{id}", {"id": quick_id})
    yield from sharing(server)
    yield Asked(f"GET {at}/recordings", one)
    yield Asked(f"GET {at}/recordings/{{digest}}", {**one, "digest": kept[0]["digest"]})
    yield Asked("GET /api/tests", {}, query={"search": "league"})
    yield Asked(f"GET {at}/bench", one)
    yield Asked(f"GET {at}/numbers", one)
    yield Asked(f"GET {at}/history", one)
    yield Asked(f"GET {at}/which-ball", taken, query={"text": "45.51"})
    yield Asked(f"GET {at}/findings", taken)
    yield Asked(f"GET {at}/comparison", taken, query={"quantity": "diameter"})
    for name in ("readings.csv", "readings.xlsx", "balls.csv", "requirement.toml", "everything.zip"):
        yield Asked(f"GET {at}/files/{{name}}", {**taken, "name": name})
    yield Asked("GET /api/boxes", {})
    yield Asked("GET /api/boxes/{id}", {"id": 1})
    yield Asked("POST /api/tests", {}, 201, act(**{**SETTING_UP, "makes": [], "boxes": [{"box": 1}]}))
    yield from itertools.chain(paper(one, at), bench_aids())
    yield from qualified(server, at)
    yield Asked("GET /api/instruments", {})
    yield Asked("GET /api/requirements", {})
    yield Asked("GET /api/requirements/{name}", {"name": "golf"})


def told_of_recordings(server: Running, notebook: Notebook) -> Iterator[Asked]:
    """Give a good request for everything that recordings tell; in the last test the rebound of a sound is kept."""
    test = {"t": bounce_test(notebook)}
    digest = sent_recording(server, test["t"], drop_wav())
    of = {**test, "digest": digest}
    asked = {"method": "listen", "stated": STATED, "picks": None}
    yield Asked("POST /api/tests/{t}/recordings/{digest}/told", of, body=asked)
    place = places_of(server, test["t"], "rebound")[0]["id"]
    kept = act(**asked, place=place, value="drop 1, rebound", confirms="")
    yield Asked("POST /api/tests/{t}/recordings/{digest}/readings", of, body=kept)
    yield Asked("POST /api/listen", {}, body={**STATED, "file": drop_wav(), "picks": "[[0.4, 0.84]]"})
    for method in ("trace", "watch"):  # that which is none is told in the answer
        yield Asked(
            f"POST /api/{method}", {}, body={"file": b"RIFF", **({"ball": "40 mm, 2.7 g"} if method == "watch" else {})}
        )


def bench_aids() -> Iterator[Asked]:
    """Give a good request for every bench aid."""
    yield Asked("POST /api/vee", {}, body={"csv": "product,ball,angle,low,high\nA,1,90,0,0.03\n", "lobes": 3})
    pressed = "product,ball,orientation,direction,load,preload,seconds,deformation\nA,1,seam,forward,80,15,5,6.1\n"
    yield Asked("POST /api/press", {}, body={"csv": pressed, "spec": "tennis-type-2"})
    rolled = "product,ball,orientation,direction,veer,slope,angle,ball_diameter\nA,1,A,as placed,4,1000,3.0,40\n"
    yield Asked("POST /api/roll", {}, body={"csv": rolled, "spec": ""})


def from_files(server: Running) -> Iterator[Asked]:
    """Give a good request for every way in which files make a test; each is the newest then."""
    yield Asked("POST /api/example", {}, 201, act())
    file = {"key": act()["key"], "by": "E", "title": "From a file", "requirement": "golf"}
    yield Asked("POST /api/imports", {}, 201, {**file, "readings": READINGS.encode()})
    newest = server.ask("GET", "/api/tests").json()["tests"][0]["id"]
    whole = server.ask("GET", f"/api/tests/{newest}/files/everything.zip").body
    yield Asked("POST /api/imports/whole", {}, 201, {"key": act()["key"], "by": "E", "archive": whole})


def sharing(server: Running) -> Iterator[Asked]:
    """Give a good request for everything that lets a device of the network in and out."""
    yield Asked("POST /api/share/links", {}, body={"name": "phone"})
    token = server.post("/api/share/links", {}).json()["link"].partition("#")[2]
    yield Asked("POST /api/pair", {}, body={"token": token})
    yield Asked("GET /api/share", {})
    yield Asked("POST /api/share/unpaired", {}, body={"device": 1})


def qualified(server: Running, at: str) -> Iterator[Asked]:
    """Give a good request for everything of an instrument that is qualified, and of a plan that is made with it."""
    study = {**SETTING_UP, "purpose": "repeat study", "people": ["E", "F"], "makes": [],
             "quantities": SETTING_UP["quantities"][1:]}  # fmt: skip
    yield Asked("POST /api/tests", {}, 201, act(**study))
    own = {"t": server.ask("GET", "/api/tests").json()["tests"][0]["id"]}
    for place in server.ask("GET", f"/api/tests/{own['t']}/bench").json()["places"]:
        assert server.post(f"/api/tests/{own['t']}/readings", act(place=place["id"], text="45.01")).status == 200
    yield Asked(f"GET {at}/qualification", own, query={"quantity": "mass"})
    yield Asked(f"POST {at}/qualification", own, 201, body=act(quantity="mass"))
    asked = {"requirement": "golf", "quantity": "mass", "qualification": 1, "true_mean": "45.5", "true_sd": "0.1",
             "balls": [2], "axes": [1], "tests": 20}  # fmt: skip
    yield Asked("POST /api/plans", {}, 201, act(**asked))
    yield Asked("GET /api/plans", {})
    yield Asked("GET /api/plans/progress", {})
    yield Asked("GET /api/plans/{id}", {"id": 1})


def paper(one: dict[str, Any], at: str) -> Iterator[Asked]:
    """Give a good request for everything of a test that is printed."""
    yield Asked(f"GET {at}/bench-sheet.pdf", one, query={"paper": "letter"})
    yield Asked(f"GET {at}/labels.pdf", one, query={"first": 4})
    yield Asked(f"GET {at}/cup-strips.pdf", one, query={"pitch": 60})


def test_a_good_request_of_every_operation_is_answered_as_described(
    server: Running, notebook: Notebook, description: dict[str, Any]
) -> None:
    """One good request of each operation gets its status, and an answer of the described kind and shape."""
    loaded = schemathesis.openapi.from_dict(description)
    loaded.config.update(base_url=f"http://{server.host}")
    asked = set()
    for one in good(server, notebook):
        method, path = one.operation.split(" ")
        forms = one.operation in FORMS
        media = "multipart/form-data" if forms else "application/json"
        more = {"body": one.body, "media_type": media} if one.body is not None else {}
        case = loaded[path][method].Case(path_parameters=one.path, query=one.query or {}, **more)
        answer = case.call_and_validate(
            headers={"Origin": f"http://{server.host}"}, checks=[CHECKS.get_one(name) for name in HELD],
            timeout=PATIENCE_S,
        )  # fmt: skip
        assert answer.status_code == one.status, (one.operation, answer.text)
        asked.add(one.operation)
    described = {f"{method} {path}" for method, path, _ in operations(description)}
    assert asked == described - {"GET /api/tests/{t}/live"}


def test_every_operation_says_how_it_can_fail_in_the_one_shape(description: dict[str, Any]) -> None:
    """Each operation names the problems of the door and of its kind, all of them in the one shape of RFC 9457."""
    for method, path, operation in operations(description):
        failing = {status: one for status, one in operation["responses"].items() if status >= "400"}
        expected = {"403", "421", "422", "503"} | ({"408", "413", "415"} if method == "POST" else set())
        assert expected <= set(failing), path
        for one in failing.values():
            assert one["content"] == {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    assert description["components"]["schemas"]["Problem"]["required"] == ["type", "title", "status", "faults"]


def test_the_description_refers_to_nothing_that_it_lacks(description: dict[str, Any]) -> None:
    """Every reference leads to a shape in the description, and no shape of the framework's own errors is left in it."""
    found: set[str] = set()

    def look(part: Any) -> None:
        if isinstance(part, dict):
            found.update([part["$ref"]] if isinstance(part.get("$ref"), str) else [])
            for value in part.values():
                look(value)
        elif isinstance(part, list):
            for value in part:
                look(value)

    look(description)
    held = {f"#/components/schemas/{name}" for name in description["components"]["schemas"]}
    assert found <= held
    assert not [name for name in held if "Validation" in name]


def test_what_changes_the_notebook_carries_key_client_person_and_time(description: dict[str, Any]) -> None:
    """Each act in JSON needs the four, and takes no field beside its own; a form may leave client and time out."""
    elsewhere = {
        "/api/vee",
        "/api/press",
        "/api/roll",
        "/api/listen",
        "/api/trace",
        "/api/watch",
        "/api/tests/{t}/recordings/{digest}/told",
        "/api/tests/{t}/claims",
        "/api/pair",
        "/api/share/links",
        "/api/share/unpaired",
    }
    shapes = description["components"]["schemas"]
    for method, path, operation in operations(description):
        if method != "POST" or path in elsewhere:
            continue
        ((media, content),) = operation["requestBody"]["content"].items()
        shape = shapes[content["schema"]["$ref"].rpartition("/")[2]]
        if media == "application/json":
            assert {"key", "client", "by", "at"} <= set(shape["required"]), path
            assert shape["additionalProperties"] is False
        else:
            assert {"key", "by"} <= set(shape["required"]), path


@pytest.mark.parametrize(
    ("body", "record"),
    [
        (bench.NewEntry, requests.Entry), (bench.ReadingTakenBack, requests.TakeBack), (bench.Spoiled, requests.Spoil),
        (bench.Later, requests.PutOff), (bench.Again, requests.ReadAgain), (bench.NewMark, requests.Mark),
        (bench.NewSitting, requests.BeginSitting), (bench.SittingEnded, requests.EndSitting),
        (tests.Finished, requests.Finish), (quick.NewQuickCheck, QuickCheck), (tests.NewTest, SetUp),
        (qualifications.NewQualification, Keep), (plans.NewPlan, AskPlan),
    ],
    ids=lambda one: one.__name__,
)  # fmt: skip
def test_a_body_has_the_fields_of_what_the_workflow_takes(body: type[Act], record: Any) -> None:
    """A body and the record that it becomes have the same fields; that a test is a quick check is no field."""
    assert set(body.model_fields) == {one.name for one in fields_of(record)} - {"kind" if record is SetUp else ""}


def test_an_act_that_is_sent_again_gets_the_same_answer(server: Running) -> None:
    """The same body again gives the same bytes and no new revision; the same key for another act is refused."""

    def revision() -> int:
        return int(server.ask("GET", "/api/tests/1/bench").json()["revision"])

    sent = act(kind="impact", value=1, ball=2)
    first = server.post("/api/tests/1/marks", sent)
    assert revision() == first.json()["revision"]
    assert server.post("/api/tests/1/marks", sent).body == first.body
    assert server.post("/api/tests/1/sittings/end", {**act(), "key": sent["key"]}).status in (409, 422)
    assert revision() == first.json()["revision"]


def test_a_recording_comes_back_byte_by_byte_and_never_as_a_page(server: Running) -> None:
    """A file of every byte, named like a path and called a page, is kept under its hash and given back to be stored."""
    content = bytes(range(256)) * 300 + b"<script>alert(1)</script>"
    name = "../../evil.html"
    parts = [
        f'--b\r\nContent-Disposition: form-data; name="key"\r\n\r\n{act()["key"]}\r\n',
        '--b\r\nContent-Disposition: form-data; name="by"\r\n\r\nE\r\n',
        f'--b\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\nContent-Type: text/html\r\n\r\n',
    ]
    sent = "".join(parts).encode() + content + b"\r\n--b--\r\n"
    own = {"Origin": f"http://{server.host}", "Content-Type": "multipart/form-data; boundary=b"}
    kept = server.ask("POST", "/api/tests/1/recordings", own, sent).json()
    assert (kept["name"], kept["bytes"], len(kept["digest"])) == (name, len(content), 64)
    answer = server.ask("GET", f"/api/tests/1/recordings/{kept['digest']}")
    assert answer.body == content
    assert answer.headers["content-type"] == "application/octet-stream"
    assert answer.headers["content-disposition"].startswith("attachment")
    for wrong in ("0" * 64, "..%2f..%2fnotebook.sqlite3", "%2fetc%2fpasswd", "%00", kept["digest"].upper(), "."):
        assert server.ask("GET", f"/api/tests/1/recordings/{wrong}").status == 404


@pytest.mark.parametrize(
    "name",
    ["notebook.sqlite3", "..%2fnotebook.sqlite3", "..%2f..%2f..%2fetc%2fpasswd", "%2e%2e%2fbench.toml", "%00",
     "readings.csv%00", "%2fetc%2fpasswd", "C:%5creadings.csv", "READINGS.CSV", "readings.csv%2f", "readings"],
)  # fmt: skip
def test_no_name_leads_out_of_a_test_s_files(server: Running, name: str) -> None:
    """A test has the files of its list and no others: 404 for everything else, however it is written."""
    answer = server.ask("GET", f"/api/tests/1/files/{name}")
    assert answer.status == 404
    assert answer.headers["content-type"] == "application/problem+json"


def test_everything_comes_as_one_archive(server: Running, notebook: Notebook) -> None:
    """The archive holds the files that can be had singly, the same bytes, and a name that says which test it is."""
    test = new_test(notebook)
    places = server.ask("GET", f"/api/tests/{test}/bench").json()["places"]
    place = next(one["id"] for one in places if one["quantity"] == "diameter")
    assert server.post(f"/api/tests/{test}/readings", act(place=place, text="42.70")).json()["status"] == "kept"
    answer = server.ask("GET", f"/api/tests/{test}/files/everything.zip")
    assert answer.headers["content-disposition"] == f'attachment; filename="test-{test}-everything.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.body)) as archive:
        for name in set(archive.namelist()) - {"SHA256SUMS"}:
            assert archive.read(name) == server.ask("GET", f"/api/tests/{test}/files/{name}").body


def test_a_blind_test_that_goes_on_shows_no_result(tmp_path: Path) -> None:
    """Until a blind test is finished its results and files are 409, and no make stands in anything that is given."""
    results = ("findings", "comparison?quantity=diameter", "files/readings.csv", "files/everything.zip")
    with closing(open_notebook(tmp_path)) as notebook, bench_server(notebook) as server:
        test = new_test(notebook, blind=True)
        for i, place in enumerate(server.ask("GET", f"/api/tests/{test}/bench").json()["places"]):
            text = f"42.{70 + i % 5}" if place["quantity"] == "diameter" else f"45.{50 + i % 5}"
            kept = server.post(f"/api/tests/{test}/readings", act(place=place["id"], text=text))
            assert kept.json()["status"] == "kept", kept.body
        for name in results:
            assert server.ask("GET", f"/api/tests/{test}/{name}").status == 409
        pages = ("", "/measure", "/judge", "/compare", "/corrections")
        data = ("bench", "history", *results)
        for path in (
            "/", "/tests", "/api/tests", *(f"/tests/{test}{page}" for page in pages),
            *(f"/api/tests/{test}/{name}" for name in data),
        ):  # fmt: skip
            assert b"Dunlin" not in server.ask("GET", path).body, path
        assert server.ask("GET", "/api/tests?search=Dunlin").json() == {"tests": []}
        assert server.post(f"/api/tests/{test}/finish", act()).status == 200
        for name in results:
            assert server.ask("GET", f"/api/tests/{test}/{name}").status == 200
        assert b"Dunlin" in server.ask("GET", f"/api/tests/{test}/bench").body


def test_a_requirement_is_known_by_its_id_alone(server: Running) -> None:
    """No path leads to a file: neither in an address nor in a body is a requirement read from one."""
    for name in ("..%2f..%2fgolf", "%2fetc%2fpasswd", "golf.toml", "GOLF", "%00", "."):
        assert server.ask("GET", f"/api/requirements/{name}").status == 404
        assert server.ask("GET", f"/tests/new?requirement={name}").status in (404, 422)
    for name in ("/etc/passwd", "../golf", "golf.toml"):
        answer = server.post("/api/tests", act(**{**SETTING_UP, "requirement": name}))
        assert answer.status == 422
        assert b"root:" not in answer.body
