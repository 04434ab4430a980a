from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from one_page import at_the_bench, open_bench, says, texts, typed, until_kept
from servers import Running

READINGS = "**/api/tests/1/readings"
TITLE = "This is a fault of ballbench"
PROBLEM = {"type": "about:blank", "title": TITLE, "status": 500, "faults": []}


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    """A bench with a sitting begun."""
    with open_bench(tmp_path) as running:
        yield running


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A page of a browser of its own."""
    context = browser.new_context()
    errors: list[str] = []
    opened = context.new_page()
    opened.on("pageerror", lambda error: errors.append(str(error)))
    yield opened
    context.close()
    assert errors == []


def failing(text: str, tries: list[str], times: int = 10**6) -> Callable[[Any], None]:
    """Let the server fail at a reading of this text so many times; every try is noted."""

    def answer(route: Any) -> None:
        sent = route.request.post_data_json
        if sent["text"] == text and len(tries) < times:
            tries.append(sent["key"])
            route.fulfill(status=500, json=PROBLEM, content_type="application/problem+json")
        else:
            route.continue_()

    return answer


def test_one_that_cannot_be_kept_holds_no_other_place(page: Any, server: Running) -> None:
    """A 500 on one reading is said with its title, not as a lost connection, and readings of other places are kept."""
    tries: list[str] = []
    page.route(READINGS, failing("42.70", tries))
    at_the_bench(page, server.host)
    typed(page, "42.70")
    trouble = page.get_by_test_id("trouble")
    says(trouble).to_contain_text("“42.70”")
    says(trouble).to_contain_text(f"the server could not keep this one. It says: {TITLE} (500).")
    typed(page, "42.71")
    typed(page, "42.72")
    says(page.get_by_test_id("said")).to_contain_text("kept:")
    says(page.get_by_test_id("waiting")).to_be_hidden()
    says(page.get_by_test_id("facts")).to_contain_text("3 of 18 readings")
    page.wait_for_timeout(300)
    until_kept(page, server, ["42.71", "42.72"])


def test_it_is_tried_again_under_its_key(page: Any, server: Running) -> None:
    """After two failures the third try is kept, without an act of the person, and nothing is said any more."""
    tries: list[str] = []
    page.route(READINGS, failing("42.70", tries, times=2))
    at_the_bench(page, server.host)
    typed(page, "42.70")
    says(page.get_by_test_id("trouble")).to_be_visible()
    says(page.get_by_test_id("trouble")).to_be_hidden(timeout=20_000)
    assert len(set(tries)) == 1
    assert (len(tries), texts(server)) == (2, ["42.70"])


def test_what_depends_on_the_order_waits_behind_it(page: Any, server: Running) -> None:
    """A mark that was made after a reading that cannot be kept is not sent before it."""
    page.route(READINGS, failing("42.70", []))
    marks: list[str] = []
    page.on("request", lambda request: marks.append(request.url) if request.url.endswith("/marks") else None)
    at_the_bench(page, server.host)
    typed(page, "42.70")
    says(page.get_by_test_id("trouble")).to_be_visible()
    page.get_by_test_id("zeroed").click()
    typed(page, "42.71")
    page.wait_for_timeout(300)
    assert (marks, texts(server)) == ([], [])
    with page.expect_response("**/marks"):
        page.get_by_role("button", name="Set it aside").click()
    page.wait_for_timeout(300)
    assert texts(server) == ["42.71"]


def test_one_set_aside_is_kept_over_a_reload_and_can_be_sent(page: Any, server: Running) -> None:
    """Set aside, a reading is listed, also after a reload, its place is asked for again, and it is sent when told."""
    tries: list[str] = []
    page.route(READINGS, failing("42.70", tries))
    at_the_bench(page, server.host)
    where = page.get_by_test_id("where")
    asked = where.text_content()
    typed(page, "42.70")
    says(where).not_to_have_text(asked)
    page.get_by_role("button", name="Set it aside").click()
    listed = page.get_by_test_id("set-aside")
    says(listed).to_contain_text("“42.70”")
    says(listed).to_contain_text("by E")
    says(page.get_by_test_id("trouble")).to_be_hidden()
    typed(page, "42.71")
    says(where).to_have_text(asked)
    until_kept(page, server, ["42.71"])
    before = len(tries)
    page.reload()
    says(listed).to_contain_text("“42.70”")
    assert len(tries) == before
    page.unroute(READINGS)
    with page.expect_response(READINGS):
        listed.get_by_role("button", name="Send it again").click()
    says(listed).to_be_hidden()
    until_kept(page, server, ["42.71", "42.70"])


def test_one_set_aside_leaves_the_list_only_when_said_twice(page: Any, server: Running) -> None:
    """“It is written down” asks once more before the only copy goes."""
    page.route(READINGS, failing("42.70", []))
    at_the_bench(page, server.host)
    typed(page, "42.70")
    page.get_by_role("button", name="Set it aside").click()
    listed = page.get_by_test_id("set-aside")
    listed.get_by_role("button", name="It is written down").click()
    says(listed).to_contain_text("“42.70”")
    listed.get_by_role("button", name="Take it off the list for good").click()
    says(listed).to_be_hidden()
    assert texts(server) == []


def test_a_bench_that_cannot_be_told_is_asked_for_again_with_words(page: Any, server: Running) -> None:
    """Where the state of the test itself fails, the page says so, not that there is no connection, and goes on."""
    failures: list[int] = []

    def fail_once(route: Any) -> None:
        failures.append(1)
        route.fulfill(status=500, json=PROBLEM) if len(failures) == 1 else route.continue_()

    page.route("**/api/tests/1/bench", fail_once)
    page.goto(f"http://{server.host}/tests/1/measure")
    says(page.get_by_test_id("waiting")).to_contain_text(f"the server could not say how the test stands: {TITLE}")
    says(page.get_by_test_id("waiting")).not_to_contain_text("no connection")
    says(page.get_by_test_id("begin")).to_be_visible()
