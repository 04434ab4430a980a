from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from one_page import at_the_bench, open_bench, says, state_of, typed
from servers import Running


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    """A bench with a sitting begun."""
    with open_bench(tmp_path) as running:
        yield running


def person(browser: Any, host: str, name: str, place: int, *, deaf: bool) -> Any:
    """Come to the bench with a place in hand; deaf: nothing is heard of what others do."""
    context = browser.new_context()
    context.add_init_script(
        f"localStorage.setItem('ballbench.by', '{name}');"
        f"if (!sessionStorage.getItem('ballbench.place.1')) sessionStorage.setItem('ballbench.place.1', '{place} 0');"
    )
    page = context.new_page()
    if deaf:
        page.route("**/api/tests/1/live*", lambda _: None)
    page.goto(f"http://{host}/tests/1/measure")
    return page


def test_a_ball_taken_at_the_same_moment_at_another_axis_is_left_with_words(browser: Any, server: Running) -> None:
    """Of two pages that take one ball at different axes, the second is sent to another ball and told who has it."""
    state = state_of(server)
    ball = state["balls"][2]
    seam, across = (
        next(one["id"] for one in state["places"] if (one["ball"], one["axis"]) == (ball["id"], axis))
        for axis in ("seam", "across")
    )
    with_it = person(browser, server.host, "E", across, deaf=False)
    says(with_it.get_by_test_id("where")).to_contain_text(f"Ball {ball['number']} · diameter across")
    with_it.wait_for_timeout(200)
    late = person(browser, server.host, "M", seam, deaf=True)
    says(late.get_by_test_id("said")).to_contain_text(f"Ball {ball['number']} · diameter along the seam is with E now")
    says(late.get_by_test_id("alert")).to_contain_text("is with E now")
    says(late.get_by_test_id("where")).to_be_visible()
    says(late.get_by_test_id("where")).not_to_contain_text(f"Ball {ball['number']}")
    says(with_it.get_by_test_id("where")).to_contain_text(f"Ball {ball['number']} · diameter across")
    for page in (with_it, late):
        page.context.close()


def test_a_ball_is_kept_in_hand_until_its_reading_is_kept(browser: Any, server: Running) -> None:
    """While the reading of a place is on its way nobody else is granted it; once it is kept, the ball is free."""
    context = browser.new_context()
    page = context.new_page()
    held: list[Any] = []
    page.route("**/api/tests/1/readings", lambda route: held.append(route))  # noqa: PLW0108 - a builtin has no signature
    at_the_bench(page, server.host)
    first = state_of(server)["places"][:2]
    for place in first:
        where = page.get_by_test_id("where").text_content()
        with page.expect_request("**/api/tests/1/readings"):
            typed(page, f"42.7{place['order'] % 10}")
        says(page.get_by_test_id("where")).not_to_have_text(where)
        page.wait_for_timeout(300)
        other = {"client": str(uuid.uuid4()), "by": "M", "place": place["id"]}
        assert server.post("/api/tests/1/claims", other).json()["granted"] is False
        held.pop().continue_()
        says(page.get_by_test_id("said")).not_to_contain_text("waiting:")
        page.wait_for_timeout(300)
    assert server.post("/api/tests/1/claims", other).json()["granted"] is True
    context.close()
