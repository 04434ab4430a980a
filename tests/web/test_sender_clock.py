from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from servers import Running, act, bench_server, new_test
from starlette.datastructures import Headers

from ballbench.web.sender_clock import sender_clock, taken_at
from ballbench.workflows.opening import Notebook, open_notebook

ZONE = timezone(timedelta(hours=2))
NEAR = timedelta(seconds=20)
"""A machine under load may take so long for a request; every shift below is far more."""

HOUR_AHEAD = """
const Right = Date;
globalThis.Date = class extends Right {
  constructor(...parts) { parts.length ? super(...parts) : super(Date.now()); }
  static now() { return Right.now() + 3600e3; }
};
"""


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


def noted(server: Running, at: datetime, own: datetime | None) -> str:
    """Note something at a moment of the sender's clock, which shows `own` as it sends; give what was answered."""
    place = server.ask("GET", "/api/tests/1/bench").json()["places"][0]["id"]
    body = act(at=at.isoformat(), place=place, text="42.71")
    answer = server.post(
        "/api/tests/1/readings", body, {} if own is None else {"Ballbench-Sender-Time": own.isoformat()}
    )
    assert answer.status == 200, answer.body
    told = answer.json()
    return str((told["reading"] or told["question"])["at"])


@pytest.mark.parametrize(
    "off", [timedelta(hours=-1), timedelta(hours=1), timedelta(days=-20_000), timedelta(seconds=90)]
)
def test_a_clock_that_is_off_is_put_right(server: Running, off: timedelta) -> None:
    """A reading of ten minutes ago by a clock that is off is kept as of ten minutes ago, in the sender's zone."""
    now = datetime.now(ZONE)
    kept = datetime.fromisoformat(noted(server, now - timedelta(minutes=10) + off, now + off))
    assert abs(kept - (now - timedelta(minutes=10))) < NEAR
    assert kept.utcoffset() == timedelta(hours=2)


@pytest.mark.parametrize("off", [timedelta(), timedelta(seconds=-1), timedelta(seconds=1)])
def test_a_clock_that_agrees_changes_no_letter(off: timedelta) -> None:
    """Exact, or a second off, which a request may be on its way: the moment is kept as it was sent."""
    at = datetime(2026, 11, 21, 12, 0, 0, 120_456, ZONE)
    with sender_clock(Headers({"Ballbench-Sender-Time": (datetime.now(UTC) + off).isoformat()})):
        assert taken_at(at).isoformat() == at.isoformat()


def test_a_clock_of_which_nothing_is_said_changes_no_letter(server: Running) -> None:
    """Without the header the moment is kept as it was sent."""
    at = datetime(2026, 11, 21, 12, 0, 0, 120_000, ZONE)
    assert noted(server, at, None) == at.isoformat()


def test_nothing_is_taken_later_than_now(server: Running) -> None:
    """A moment that is still to come, by a clock that is ahead or for no reason, is the moment at which it came."""
    for own in (None, datetime.now(UTC)):
        before = datetime.now(UTC) - timedelta(milliseconds=1)
        kept = datetime.fromisoformat(noted(server, datetime.now(ZONE) + timedelta(days=3), own))
        assert before <= kept <= datetime.now(UTC)


@pytest.mark.parametrize("stated", ["", "soon", "2026-11-21T10:00:00", "x" * 300, "2026-11-21", "\xff"])
def test_a_clock_that_cannot_be_read_is_a_fault(server: Running, stated: str) -> None:
    """No time, or one without a zone: 422 with the header's name, and nothing is kept."""
    answer = server.post("/api/tests/1/marks", act(kind="opened"), {"Ballbench-Sender-Time": stated})
    assert answer.status == 422
    assert [fault["where"] for fault in answer.json()["faults"]] == ["header Ballbench-Sender-Time"]
    assert server.ask("GET", "/api/tests/1/bench").json()["sitting"] is None


def test_a_moment_beyond_the_calendar_is_a_fault(server: Running) -> None:
    """A clock of the year 9990 that dates an act to the first century: no such moment, told at the time."""
    body = act(kind="opened", at="0099-01-01T00:00:00+00:00")
    answer = server.post("/api/tests/1/marks", body, {"Ballbench-Sender-Time": "9990-01-01T00:00:00+00:00"})
    assert (answer.status, answer.json()["faults"][0]["where"]) == (422, "at")


def test_sent_again_by_a_clock_that_is_off_it_is_the_same_act(server: Running) -> None:
    """Each sending finds another difference of the clocks; the reply is that of the first."""
    body = act(kind="zeroed", at=(datetime.now(UTC) - timedelta(hours=1)).isoformat())
    told = []
    for seconds in (3600, 3597, 3590):
        own = datetime.now(UTC) - timedelta(seconds=seconds)
        told.append(server.post("/api/tests/1/marks", body, {"Ballbench-Sender-Time": own.isoformat()}).json())
    assert told[0] == told[1] == told[2]
    assert told[0]["status"] == "noted"


def test_the_page_says_what_its_clock_shows(server: Running, browser: Any) -> None:
    """On a phone that is an hour ahead a reading that waited from before the sitting's end is of that sitting."""
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script(HOUR_AHEAD)
    page.goto(f"http://{server.host}/tests/1/measure")
    page.get_by_test_id("by").fill("E")
    page.get_by_test_id("begin-go").click()
    page.get_by_test_id("entry").wait_for()
    page.route("**/api/tests/1/readings", lambda route: route.abort())
    with page.expect_event("requestfailed"):
        page.get_by_test_id("entry").fill("42.70")
        page.get_by_test_id("entry").press("Enter")
    now = datetime.now(UTC) + timedelta(seconds=3)
    assert server.post("/api/tests/1/sittings/end", act(at=now.isoformat())).status == 200
    assert server.post("/api/tests/1/sittings", act(kind="bench", at=now.isoformat())).status == 200
    page.unroute("**/api/tests/1/readings")
    with page.expect_response("**/api/tests/1/readings") as sent:
        page.evaluate("dispatchEvent(new Event('online'))")
    told = sent.value.json()["reading"]
    context.close()
    assert abs(datetime.fromisoformat(told["at"]) - datetime.now(UTC)) < timedelta(minutes=2)
    state = server.ask("GET", "/api/tests/1/bench").json()
    assert (state["sitting"]["label"], told["sitting"]) == ("2", state["sitting"]["id"] - 1)
