from __future__ import annotations

import json
from html.parser import HTMLParser
from typing import Any

import pytest
from servers import FAULT, Running, act

from ballbench.errors import BadInput, BadNotebook, BadRequest, Fault
from ballbench.web.problems import Refused, of_error
from ballbench.web.strict_json import strict_json

JSON = {"Content-Type": "application/json"}


def problem(answer: Any, status: int) -> list[dict[str, str]]:
    """Check the shape of a problem and give its faults."""
    assert answer.status == status
    assert answer.headers["content-type"] == "application/problem+json"
    found = answer.json()
    assert {"type", "title", "status", "faults"} <= set(found) <= {"type", "title", "status", "faults", "more"}
    assert (found["type"], found["status"]) == ("about:blank", status)
    assert found["title"]
    for fault in found["faults"]:
        assert set(fault) == {"where", "found", "allowed", "todo"}
        assert all(isinstance(text, str) and text for text in fault.values())
    return found["faults"]


@pytest.mark.parametrize(
    ("what", "status"), [("readings", 422), ("missing", 404), ("conflict", 409), ("not-converged", 422), ("ours", 500)]
)
def test_what_is_raised_becomes_a_problem(door: Running, what: str, status: int) -> None:
    """Bad input, a missing thing, a conflict, no convergence and our own fault have the one shape of RFC 9457."""
    assert problem(door.ask("GET", f"/api/raise/{what}"), status)


def test_a_fault_comes_through_as_it_was_raised(door: Running) -> None:
    """Where, found, allowed and todo are those of the workflow, word by word."""
    (fault,) = problem(door.ask("GET", "/api/raise/readings"), 422)
    assert fault == {"where": FAULT.where, "found": FAULT.found, "allowed": FAULT.allowed, "todo": FAULT.todo}


def test_many_faults_are_counted_and_fifty_are_shown(door: Running) -> None:
    """Of 65 faults 50 are listed and 15 are counted."""
    answer = door.ask("GET", "/api/raise/many")
    assert len(problem(answer, 422)) == 50
    assert answer.json()["more"] == 15


def test_a_notebook_that_does_not_answer_is_no_fault_of_the_sender() -> None:
    """A database that cannot write is 503, so that a sender keeps what it has and sends it again; bad input is 422."""
    fault = Fault("notebook", "a full disk", "room", "make room")
    assert of_error(BadNotebook(fault)).status == 503
    assert of_error(BadRequest(fault)).status == 422
    assert of_error(BadInput(fault)).status == 422


class Text(HTMLParser):
    """The words of a page."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.words = ""
        self.feed(page.decode())

    def handle_data(self, data: str) -> None:
        """Gather text."""
        self.words += data


@pytest.mark.parametrize("path", ["/raise/readings", "/nothing", "/tests/99999999999", "/tests/none"])
def test_a_page_answers_with_a_page(door: Running, path: str) -> None:
    """Where a person looks, a problem is a page with a heading and what to do, not JSON."""
    answer = door.ask("GET", path)
    assert answer.status in (404, 422)
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert b"<h1>" in answer.body
    assert "What to do" in Text(answer.body).words


@pytest.mark.parametrize("path", ["/api/raise/ours", "/raise/ours"])
def test_a_fault_of_our_own_says_so_and_gives_nothing_away(
    door: Running, path: str, caplog: pytest.LogCaptureFixture
) -> None:
    """The answer says whose fault it is and holds neither exception nor traceback; the terminal has both."""
    answer = door.ask("GET", path)
    assert answer.status == 500
    assert b"fault of ballbench" in answer.body
    for secret in (b"secret", b"Traceback", b"RuntimeError", b".py"):
        assert secret not in answer.body
    (record,) = caplog.records
    assert record.exc_info is not None
    assert str(record.exc_info[1]) == "the secret of the server"


def test_everything_that_is_wrong_with_a_body_is_said_at_once(door: Running) -> None:
    """A body with four things wrong has four faults, each at its field."""
    sent = {**act(text="1", count="many", colour="white"), "key": "again"}
    del sent["at"]
    faults = problem(door.post("/api/probe", sent), 422)
    assert {fault["where"] for fault in faults} == {"key", "at", "count", "colour"}
    assert next(f for f in faults if f["where"] == "count")["found"] == "'many'"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("at", "2026-11-21T10:00:00"), ("at", "yesterday"), ("at", 1764000000), ("at", None), ("key", ""),
        ("client", "me"), ("by", 7), ("by", "E" * 121), ("text", ["40.12"]), ("text", "x" * 501), ("count", 1.5),
        ("count", True), ("text", None),
    ],
)  # fmt: skip
def test_a_field_of_another_kind_is_refused_at_its_place(door: Running, field: str, value: object) -> None:
    """Times need a zone, keys are UUIDs, text has a length, numbers are numbers; the fault names the field."""
    before = len(door.seen)
    faults = problem(door.post("/api/probe", {**act(text="1"), field: value}), 422)
    assert [fault["where"] for fault in faults] == [field]
    assert len(door.seen) == before


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"[]", b"null", b'"text"', b'{"a": 1}{"b": 2}', b"{'a': 1}", b"[" * 100_000,
        b'{"a":' * 50_000, b"\x00",
    ],
    ids=lambda body: repr(body[:24]),
)  # fmt: skip
def test_what_is_no_json_object_is_refused(door: Running, body: bytes) -> None:
    """What is no JSON, or no object, or nested without end is 422 in the one shape, and reaches nothing."""
    before = len(door.seen)
    problem(door.ask("POST", "/api/probe", JSON, body), 422)
    assert len(door.seen) == before


@pytest.mark.parametrize(
    "text",
    [
        b'"\\ud800"', b'"a\\ude00b"', b'"a\\u0000b"', b'"\\u001b[2J"', b'"\\u0085"', b'"\\u0007"', b'"\xc3\x28"',
        b'"\xff"',
        b'"1", "count": NaN', b'"1", "count": 1e999', b'"1", "count": 9007199254740993', b'"1", "text": "2"',
        b'"1", "count": ' + b"9" * 5000, b'"1", "\\ud800": 1', b'"1", "count": 1.5', b"NaN",
        b"-Infinity", b'"1",', b'"1" //',
    ],
    ids=lambda text: repr(text[:24]),
)  # fmt: skip
def test_what_no_database_could_keep_is_refused(door: Running, text: bytes) -> None:
    """In an act that is good otherwise, what RFC 8259 or 7493 (I-JSON) rules out, and control characters, are 422."""
    before = len(door.seen)
    whole = json.dumps(act(text="HERE")).encode()
    assert door.ask("POST", "/api/probe", JSON, whole).status == 200
    problem(door.ask("POST", "/api/probe", JSON, whole.replace(b'"HERE"', text)), 422)
    assert len(door.seen) == before + 1


@pytest.mark.parametrize(
    "text", ["NaN", "Infinity", "-Infinity", "[NaN]", '{"a": {"b": [1, NaN]}}', "-9007199254740992"]
)
def test_a_number_that_is_none_is_refused_wherever_it_stands(text: str) -> None:
    """NaN, the infinities and whole numbers beyond 2^53 are no JSON here, in fields of any kind (RFC 8259, 6)."""
    with pytest.raises(Refused) as refused:
        strict_json(text.encode())
    assert refused.value.problem.status == 422
    assert strict_json(b'{"a": [1e-300, -9007199254740991, 0.1]}') == {"a": [1e-300, -9007199254740991, 0.1]}


def test_json_is_utf_8_without_a_mark(door: Running) -> None:
    """JSON in UTF-16, or behind a byte order mark, is refused (RFC 8259, 8.1)."""
    whole = json.dumps(act(text="40.12"))
    for body in (whole.encode("utf-16"), whole.encode("utf-16-le"), whole.encode("utf-8-sig")):
        problem(door.ask("POST", "/api/probe", JSON, body), 422)


@pytest.mark.parametrize("text", ["40,12", "Ø 40.12 mm", "Λ 🎾", "a\tb\nc", "\u202e40", " 40.12 ", "\"<&>'", "\\"])
def test_printable_text_comes_through_as_it_is(door: Running, text: str) -> None:
    """Text of any script arrives as it was sent: nothing of it is trimmed, changed or escaped on the way."""
    answer = door.post("/api/probe", act(text=text))
    assert answer.status == 200
    assert answer.json() == {"text": text}
    assert door.seen[-1].text == text


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "HEAD", "TRACE"])
def test_a_method_that_there_is_not_says_which_there_is(door: Running, method: str) -> None:
    """405 carries Allow (RFC 9110, 15.5.6)."""
    answer = door.ask(method, "/api/probe")
    assert answer.status == 405
    assert set(answer.headers["allow"].split(", ")) <= {"GET", "POST"}
    assert answer.headers["allow"]


def test_a_form_that_cannot_be_read_is_refused(door: Running) -> None:
    """Files in a form without a boundary, with a torn part, or without the file that is asked for are 422."""
    own = {"Origin": f"http://{door.host}"}
    head = 'Content-Disposition: form-data; name="file"; filename="r.csv"'
    for kind, body in (
        ("multipart/form-data", b"--b\r\n\r\n--b--\r\n"),
        ("multipart/form-data; boundary=b", b"not a part at all"),
        ("multipart/form-data; boundary=b", f"--b\r\n{head}".encode()),
        ("multipart/form-data; boundary=b", b'--b\r\nContent-Disposition: form-data; name="x"\r\n\r\n1\r\n--b--\r\n'),
        (
            "multipart/form-data; boundary=b",
            b'--b\r\nContent-Disposition: form-data; name="file"\r\n\r\n1\r\n--b--\r\n',
        ),
    ):
        problem(door.ask("POST", "/api/files", {**own, "Content-Type": kind}, body), 422)


def test_the_description_s_example_of_a_problem_is_json_itself(door: Running) -> None:
    """A problem is JSON without NaN or comments: a strict reader takes it."""

    def refuse(name: str) -> None:
        raise AssertionError(name)

    json.loads(door.ask("GET", "/api/nothing").body, parse_constant=refuse)
