"""People at measuring pages of one test, each with a browser of their own, who type as fast as the page takes it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest

__all__ = ["Person", "at_the_bench", "browsing", "value_at", "words_at"]

_AXES = {"seam": "diameter along the seam · axis 1 of 2", "across": "diameter across the seam · axis 2 of 2"}


def value_at(place: dict[str, Any]) -> str:
    """Give the number that belongs to a place, and to no other of its test."""
    return f"{42.70 + 0.01 * place['order']:.2f}"


def words_at(state: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give every place of a test by the words in which the page asks for it."""
    numbers = {ball["id"]: ball["number"] for ball in state["balls"]}
    return {
        f"Ball {numbers[place['ball']]} · {_AXES.get(place['axis'], place['quantity'])}": place
        for place in state["places"]
    }


@contextmanager
def browsing() -> Iterator[Any]:
    """Start a browser for the thread that asks for it."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("LEFT OUT: no chromium on this machine, so two browsers did not measure side by side")
    playwright = pytest.importorskip("playwright.sync_api", reason="LEFT OUT: playwright is not installed")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


@dataclass(slots=True)
class Person:
    """Somebody at a measuring page.

    Parameters
    ----------
    page : playwright page
        In a browser of their own.
    places : dict
        Every place of the test by the words in which the page asks for it.
    typed : list of (int, str)
        The place that each number was typed for, and the number.
    """

    page: Any
    places: dict[str, dict[str, Any]]
    typed: list[tuple[int, str]] = field(default_factory=list)

    def part(self, name: str) -> Any:
        """Find a part of the page by its hook."""
        return self.page.get_by_test_id(name)

    def says(self, name: str) -> Any:
        """Wait for what a part of the page is to say."""
        return pytest.importorskip("playwright.sync_api").expect(self.part(name))

    def reads(self, text: str = "") -> None:
        """Type the number of the place in hand, or another.

        The place is looked at once the first digit stands in the entry, for from then on the page leaves it there.
        """
        self.page.keyboard.type("4")
        if self.part("entry").input_value() != "4":
            self.page.keyboard.press("Escape")
            return
        place = self.places[self.part("where").text_content()]
        text = text or value_at(place)
        assert text[0] == "4"
        self.page.keyboard.type(text[1:])
        self.page.keyboard.press("Enter")
        self.typed.append((place["id"], text))

    def reads_all(self) -> None:
        """Read whatever the page asks for, until it says that all is read."""
        all_read = self.part("done").filter(has_text="All ", visible=True)
        asks = self.part("where").filter(visible=True)
        while True:
            all_read.or_(asks).first.wait_for()
            if not asks.count():
                break
            self.reads()
        self.all_sent()

    def all_sent(self) -> None:
        """Wait until nothing waits in the browser any more."""
        self.says("said").not_to_contain_text("waiting:")
        self.says("waiting").to_be_hidden()


@contextmanager
def at_the_bench(browser: Any, address: str, name: str, places: dict[str, dict[str, Any]]) -> Iterator[Person]:
    """Open the measuring page in a context of its own and begin; no error of its scripts is let through."""
    context, errors = browser.new_context(), []
    page = context.new_page()
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(address)
    person = Person(page, places)
    person.part("by").fill(name)
    person.part("begin-go").click()
    person.says("entry").to_be_focused()
    yield person
    assert errors == []
    context.close()
