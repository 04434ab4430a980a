from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from one_page import at_the_bench, open_bench, says, texts, typed
from servers import Running


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
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


def test_a_scanned_label_takes_that_ball_in_hand(page: Any, server: Running) -> None:
    """`ball 03` and Enter, which is what a scanner types, asks for ball 03 next and keeps no reading."""
    at_the_bench(page, server.host)
    where = page.get_by_test_id("where")
    for number in ("03", "01"):
        typed(page, f"ball {number}")
        says(where).to_contain_text(number)
    assert texts(server) == []


def test_a_label_of_another_test_is_said(page: Any, server: Running) -> None:
    """A number that the test does not have takes no ball in hand, and is said in words."""
    at_the_bench(page, server.host)
    where = page.get_by_test_id("where").text_content()
    typed(page, "ball 99")
    says(page.get_by_text("The label says ball 99, and this test has no such ball.")).to_be_visible()
    assert page.get_by_test_id("where").text_content() == where
    assert texts(server) == []
