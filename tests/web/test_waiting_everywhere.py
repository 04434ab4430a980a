from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from one_page import TITLE, at_the_bench, open_bench, says, state_of, texts, typed
from servers import Running, act

READINGS = "**/api/tests/1/readings"
PAGES = ("/", "/tests", "/tests/1", "/tests/1/judge", "/tests/1/corrections", "/quick")


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    """A bench with a sitting begun."""
    with open_bench(tmp_path) as running:
        yield running


@pytest.fixture
def browsing(browser: Any) -> Iterator[Any]:
    """A browser of one's own, whose readings do not get through; what its pages complain of is noted."""
    context = browser.new_context()
    context.complaints = []
    context.on("console", lambda said: said.type == "error" and context.complaints.append(said.text))
    context.route(READINGS, lambda route: route.abort())
    yield context
    context.close()


STORED = """async (count) => {
  const opened = await new Promise((done) => {
    const request = indexedDB.open("ballbench", 1);
    request.onsuccess = () => done(request.result);
  });
  const stored = await new Promise((done) => {
    const request = opened.transaction("queue").objectStore("queue").count();
    request.onsuccess = () => done(request.result);
  });
  opened.close();
  return stored >= count;
}"""
"""Whether the browser's own store holds so many entries."""


def waits(context: Any, host: str, count: int) -> None:
    """Type so many readings that stay in the browser."""
    page = context.new_page()
    at_the_bench(page, host)
    for i in range(count):
        typed(page, f"42.7{i}")
        says(page.get_by_test_id("waiting")).to_contain_text(f"{i + 1} reading")
    page.wait_for_function(STORED, arg=count)  # an entry is shown at once, and stored a moment later
    page.close()


def test_every_page_says_what_waits_in_its_browser(browsing: Any, server: Running) -> None:
    """Two readings that wait are said on every page, with the way to the measuring page, and no policy is broken."""
    waits(browsing, server.host, 2)
    page = browsing.new_page()
    browsing.complaints.clear()
    for path in PAGES:
        page.goto(f"http://{server.host}{path}")
        line = page.locator("#waits-here")
        says(line).to_contain_text("2 readings wait in this browser, not in the notebook yet")
        says(line.get_by_role("link", name=f"measuring page of {TITLE}")).to_have_attribute("href", "/tests/1/measure")
    assert browsing.complaints == []
    browsing.unroute(READINGS)
    bench = browsing.new_page()
    bench.goto(f"http://{server.host}/tests/1/measure")
    says(line).to_be_hidden()
    assert texts(server) == ["42.70", "42.71"]


def test_another_browser_is_told_nothing(browser: Any, browsing: Any, server: Running) -> None:
    """What waits in one browser is not said in another."""
    waits(browsing, server.host, 1)
    other = browser.new_context()
    page = other.new_page()
    page.goto(f"http://{server.host}/")
    page.wait_for_timeout(500)
    says(page.locator("#waits-here")).to_be_hidden()
    other.close()


def test_what_belongs_to_another_notebook_gets_no_link(browsing: Any, server: Running) -> None:
    """A reading of a test that this notebook has not is said to be for another one."""
    waits(browsing, server.host, 1)
    page = browsing.new_page()
    page.route("**/api/tests/1/bench", lambda route: route.fulfill(status=404, json={"faults": []}))
    page.goto(f"http://{server.host}/")
    says(page.locator("#waits-here")).to_contain_text("1 reading waits in this browser for another notebook")
    says(page.locator("#waits-here").get_by_role("link")).to_have_count(0)


def test_finish_warns_of_readings_that_wait_and_finishes_when_told_again(browsing: Any, server: Running) -> None:
    """Finish does not finish while a reading waits; said once more it does; sent after taking up again it is kept."""
    waits(browsing, server.host, 1)
    page = browsing.new_page()
    page.goto(f"http://{server.host}/tests/1")
    page.get_by_label("Your name").fill("E")
    page.get_by_role("button", name="Finish the test").click()
    says(page.locator("#finish-waits")).to_contain_text("1 reading waits in this browser, not in the notebook")
    assert state_of(server)["test"]["stage"] != "finished"
    with page.expect_navigation():
        page.get_by_role("button", name="Finish all the same").click()
    assert state_of(server)["test"]["stage"] == "finished"
    assert server.post("/api/tests/1/finish", act(again=True)).status == 200
    browsing.unroute(READINGS)
    page.goto(f"http://{server.host}/tests/1/measure")
    says(page.get_by_test_id("said")).to_contain_text("kept: ")
    assert texts(server) == ["42.70"]


def test_finish_asks_nothing_where_nothing_waits(browsing: Any, server: Running) -> None:
    """Without a reading that waits, one press finishes."""
    page = browsing.new_page()
    page.goto(f"http://{server.host}/tests/1")
    page.get_by_label("Your name").fill("E")
    with page.expect_navigation():
        page.get_by_role("button", name="Finish the test").click()
    assert state_of(server)["test"]["stage"] == "finished"


def test_the_way_to_share_stands_on_the_own_machine(browsing: Any, server: Running) -> None:
    """Home and measuring page lead to the page Share."""
    page = browsing.new_page()
    for path in ("/", "/tests/1/measure"):
        page.goto(f"http://{server.host}{path}")
        page.get_by_role("link", name="Share").click()
        says(page.get_by_role("heading", name="Share")).to_be_visible()
