from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from one_page import until_kept
from servers import Running, act, bench_server, new_test

from ballbench.workflows.opening import Notebook, open_notebook

READINGS = "**/api/tests/1/readings"
SILENT = "indexedDB.open = () => ({})"
"""A database that never answers."""
BROKEN_PUT = """
const put = IDBObjectStore.prototype.put;
let broken = true;
IDBObjectStore.prototype.put = function (entry) {
  if (broken) { broken = false; throw new Error("the disk is full"); }
  return put.call(this, entry);
};
"""
"""A database that does not take the first entry."""
WOKEN = "dispatchEvent(new Event('online'))"


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    """A notebook with one test."""
    opened = open_notebook(tmp_path / "notebook")
    new_test(opened)
    yield opened
    opened.close()


@pytest.fixture
def server(notebook: Notebook) -> Iterator[Running]:
    """The bench with a sitting begun."""
    with bench_server(notebook) as running:
        assert running.post("/api/tests/1/sittings", act(kind="bench")).status == 200
        yield running


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A page of a browser of its own."""
    context = browser.new_context()
    yield context.new_page()
    context.close()


def measuring(page: Any, host: str) -> None:
    """Open the measuring page as E."""
    page.goto(f"http://{host}/tests/1/measure")
    page.get_by_test_id("by").fill("E")
    page.get_by_test_id("begin-go").click()
    page.get_by_test_id("entry").wait_for()


def typed(page: Any, text: str) -> None:
    """Type a reading and keep it."""
    page.get_by_test_id("entry").fill(text)
    page.get_by_test_id("entry").press("Enter")


def texts(server: Running) -> list[str]:
    """What the notebook has."""
    return [reading["text"] for reading in server.ask("GET", "/api/tests/1/bench").json()["readings"]]


def test_what_was_kept_as_text_is_sent_once_the_database_answers(page: Any, server: Running) -> None:
    """A reading that waited as text while the database was silent is sent by the next page, and leaves the text."""
    page.route(READINGS, lambda route: route.abort())
    page.add_init_script(f"if (!localStorage.getItem('well')) {{ {SILENT} }}")
    measuring(page, server.host)
    typed(page, "42.70")
    page.wait_for_function("Object.keys(localStorage).some((name) => name.startsWith('ballbench.queue.'))")
    page.evaluate("localStorage.setItem('well', '1')")
    page.unroute(READINGS)
    with page.expect_response(READINGS):
        page.reload()
    page.wait_for_function("!Object.keys(localStorage).some((name) => name.startsWith('ballbench.queue.'))")
    assert texts(server) == ["42.70"]


def test_a_reading_that_the_store_did_not_take_is_sent_once(page: Any, server: Running) -> None:
    """After a write that failed, each reading is posted once, however often the queue is read again."""
    posted: list[str] = []
    page.on("request", lambda request: posted.append(request.url) if request.url.endswith("/readings") else None)
    page.add_init_script(BROKEN_PUT)
    measuring(page, server.host)
    for text in ("42.70", "42.71", "42.72"):
        with page.expect_response(READINGS):
            typed(page, text)
    assert len(posted) == len(texts(server)) == 3


def test_a_refused_reading_is_sent_again_under_its_key(page: Any, server: Running) -> None:
    """A reading refused because the test was finished is sent again once it is taken up, with its key and moment."""
    page.route(READINGS, lambda route: route.abort())
    measuring(page, server.host)
    with page.expect_event("requestfailed", lambda request: request.url.endswith("/readings")):
        typed(page, "42.70")
    assert server.post("/api/tests/1/finish", act()).status == 200
    page.unroute(READINGS)
    with page.expect_response(READINGS) as refused:
        page.evaluate(WOKEN)
    assert refused.value.status == 409
    assert server.post("/api/tests/1/finish", act(again=True)).status == 200
    server.post("/api/tests/1/sittings", act(kind="bench"))
    with page.expect_response(READINGS) as again:
        page.get_by_role("button", name="Send it again").click()
    assert again.value.status == 200
    assert again.value.request.post_data_json == refused.value.request.post_data_json
    assert texts(server) == ["42.70"]


def test_what_was_refused_after_the_end_is_kept_and_said(page: Any, server: Running) -> None:
    """A reading and a mark that waited until the test was finished: the page says so, and after a reload too."""
    sending = re.compile("/api/tests/1/(readings|marks)$")
    page.route(sending, lambda route: route.abort())
    measuring(page, server.host)
    with page.expect_event("requestfailed", lambda request: request.url.endswith("/readings")):
        typed(page, "42.70")
    page.get_by_test_id("zeroed").click()
    waiting = page.get_by_test_id("waiting")
    waiting.get_by_text("1 reading and 1 other entry wait here").wait_for()
    assert server.post("/api/tests/1/finish", act()).status == 200
    page.unroute(sending)
    page.evaluate(WOKEN)
    kept = "2 entries were refused and are kept here, not in the notebook: take the test up again to send them"
    waiting.get_by_text(kept).wait_for()
    page.reload()
    waiting.get_by_text(kept).wait_for()
    assert server.post("/api/tests/1/finish", act(again=True)).status == 200
    server.post("/api/tests/1/sittings", act(kind="bench"))
    for _ in range(2):
        page.get_by_role("button", name="Send it again").click()
    waiting.wait_for(state="hidden")
    page.wait_for_function("!document.querySelector('[data-testid=ask]')?.textContent.includes('not kept')")
    until_kept(page, server, ["42.70"])
    assert [reading["at"] for reading in server.ask("GET", "/api/tests/1/bench").json()["readings"]]


def test_a_reading_for_another_notebook_waits(page: Any, server: Running) -> None:
    """A reading made for another notebook is not taken here: it waits, and the page says where it belongs."""
    page.route(READINGS, lambda route: route.continue_(headers={**route.request.headers, "ballbench-notebook": "B"}))
    measuring(page, server.host)
    with page.expect_response(READINGS) as refused:
        typed(page, "42.70")
    assert refused.value.status == 409
    page.get_by_test_id("waiting").get_by_text("belong to another notebook").wait_for()
    assert texts(server) == []
    page.unroute(READINGS)
    with page.expect_response(READINGS):
        page.reload()
    assert texts(server) == ["42.70"]
