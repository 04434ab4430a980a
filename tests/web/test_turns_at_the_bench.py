from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from one_page import at_the_bench, open_bench, says, state_of, typed
from servers import Running


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    """A bench with three balls at one place and a steel ball."""
    with open_bench(tmp_path, checked=True) as running:
        yield running


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A page of a browser of its own."""
    context = browser.new_context()
    yield context.new_page()
    context.close()


DIGITS = itertools.cycle(range(1, 5))
"""No two readings in a row are alike: an instrument that sends twice is asked about."""


def piece_of(page: Any) -> str:
    """Give what the page asks for, the piece alone, and the moment of a check."""
    words = str(page.get_by_test_id("where").text_content())
    return f"steel {words.rpartition(', ')[2]}" if words.startswith("Steel") else words.partition(" · ")[0]


def reads(page: Any) -> None:
    """Read the piece in hand, and wait for the next place."""
    before = page.get_by_test_id("where").text_content()
    typed(page, f"42.7{next(DIGITS)}")
    done = page.get_by_test_id("done").filter(visible=True)
    done.or_(page.get_by_test_id("where").filter(has_not_text=str(before), visible=True)).first.wait_for()


def test_the_end_check_comes_behind_what_was_put_off(page: Any, server: Running) -> None:
    """A ball put off is read before the last check, the middle check stays, and no check has to be read again."""
    at_the_bench(page, server.host)
    seen, put_off = [], ""
    while page.get_by_test_id("where").is_visible():
        if piece_of(page).startswith("Ball") and not put_off:
            put_off = piece_of(page)
            page.get_by_test_id("later").click()
            says(page.get_by_test_id("where")).not_to_contain_text(put_off)
            continue
        seen.append(piece_of(page))
        reads(page)
    assert [one for one in seen if one.startswith("steel")] == ["steel start", "steel middle", "steel end"]
    assert seen.index("steel middle") == 2
    assert seen[-2:] == [put_off, "steel end"]
    says(page.get_by_test_id("done")).to_contain_text("All 3 read.")
    says(page.get_by_test_id("done")).not_to_contain_text("was not checked")


def asks_again(page: Any, ball: int, places: int) -> None:
    """Ask for one more reading of a ball; then there are so many places."""
    page.locator("#again-ball").select_option(str(ball))
    page.locator("#again-why").fill("slipped")
    page.get_by_role("button", name="Read it again").click()
    says(page.get_by_test_id("facts")).to_contain_text(f"of {places} readings")


def test_a_ball_asked_for_again_is_read_before_the_end_check(page: Any, server: Running) -> None:
    """What is asked for once more comes before a last check that is open, and else the page asks for one more check."""
    at_the_bench(page, server.host)
    ball = state_of(server)["balls"][0]
    for _ in range(4):
        reads(page)
    page.get_by_text("Bench", exact=True).last.click()
    asks_again(page, ball["id"], 4)
    reads(page)
    where = page.get_by_test_id("where")
    says(where).to_have_text(f"Ball {ball['number']} · diameter · once more")
    reads(page)
    says(where).to_contain_text("instrument check, end")
    reads(page)
    asks_again(page, ball["id"], 5)
    says(where).to_have_text(f"Ball {ball['number']} · diameter · once more")
    reads(page)
    says(page.get_by_test_id("done")).to_contain_text("read the steel ball once more")
    page.get_by_role("button", name="Check the caliper now").click()
    says(where).to_contain_text("instrument check, end")


def test_home_and_bench_count_in_the_same_words(page: Any, server: Running) -> None:
    """After a check and two balls: "2 of 3 readings" and "2 of 3 instrument checks", at the bench and at home."""
    at_the_bench(page, server.host)
    for _ in range(4):
        reads(page)
    facts = page.get_by_test_id("facts")
    words = ["2 of 3 readings", "2 of 3 instrument checks"]
    for one in words:
        says(facts).to_contain_text(one)
    says(page.get_by_test_id("said")).not_to_contain_text("waiting:")
    for path in ("/", "/tests/1"):
        page.goto(f"http://{server.host}{path}")
        for one in words:
            says(page.locator("main")).to_contain_text(one)
        says(page.locator("main")).to_contain_text("1 reading and 1 instrument check left")
