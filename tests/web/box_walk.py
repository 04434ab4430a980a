"""A person at the measuring page of a bench in a process of its own: what they read, and what the page shows them."""

from __future__ import annotations

import http.client
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from bench_client import PATIENCE_S, Bench

from ballbench import __version__

__all__ = [
    "AXES",
    "BOX",
    "LIMITS",
    "MAKE",
    "WATCH",
    "AtTheBench",
    "Kept",
    "at_the_bench",
    "changes_of",
    "fetched",
    "place_of",
    "says",
    "true_value",
]

MAKE, BOX = "Plover", "C-1"
LIMITS = ("40.00", "40.60", "40.6", "40.50", "40.5")
"""What the requirement allows of a diameter, mm, as in `table-tennis-plastic`."""
STEEL = "20.00"
"""What the caliper shows for the steel ball, mm."""
AXES = ("seam", "across", "free")

_PATIENCE_MS = 60_000
"""A page that hangs ends a test with an error after so long; nothing is measured with it."""
_AXIS_OF = {"along the seam": "seam", "across the seam": "across", "free": "free"}
_NUMBER = re.compile(r"\d+[.,]\d+|\d{3,}")
_WHERE = re.compile(r"Ball (\d+) · (along the seam|across the seam|free) · axis [123] of 3")

WATCH = """(() => {
  const NAMES = ["title", "aria-label", "aria-description", "aria-valuetext", "alt", "placeholder"];
  const shown = new Set();
  const look = (node) => {
    if (node.nodeType === Node.TEXT_NODE) shown.add(node.data);
    if (node.nodeType !== Node.ELEMENT_NODE) return;
    for (const name of NAMES) if (node.hasAttribute(name)) shown.add(node.getAttribute(name));
    node.childNodes.forEach(look);
  };
  const hear = (changes) => {
    for (const { type, target, addedNodes, attributeName } of changes) {
      if (type === "attributes") shown.add(target.getAttribute(attributeName) ?? "");
      if (type === "characterData") shown.add(target.data);
      addedNodes.forEach(look);
    }
  };
  const watch = new MutationObserver(hear);
  watch.observe(document, {subtree: true, childList: true, characterData: true, attributeFilter: NAMES});
  globalThis.takeShown = () => {
    hear(watch.takeRecords());
    look(document.documentElement);
    const texts = [...shown];
    shown.clear();
    return texts;
  };
})()"""
"""Notes every text, title and name that stands in the page, also what stood there for a moment alone."""


def fetched(bench: Bench, path: str) -> bytes:
    """Fetch something that is there, as it is sent."""
    line = http.client.HTTPConnection("127.0.0.1", bench.port, PATIENCE_S)
    try:
        line.request("GET", path)
        answer = line.getresponse()
        body = answer.read()
        assert answer.status == 200, (path, answer.status, body)
        return body
    finally:
        line.close()


def changes_of(bench: Bench, test: int) -> list[dict[str, Any]]:
    """Give everything that was submitted to a test, in order, as its stream tells it."""
    last = bench.get(f"/api/tests/{test}/bench")["revision"]
    line = http.client.HTTPConnection("127.0.0.1", bench.port, PATIENCE_S)
    try:
        line.request("GET", f"/api/tests/{test}/live?after=0")
        answer, told = line.getresponse(), []
        while not told or told[-1]["revision"] < last:
            text = answer.readline().decode()
            if text.startswith('data: {"revision"'):
                told.append(json.loads(text.removeprefix("data: ")))
        return told
    finally:
        line.close()


def place_of(where: str) -> tuple[int, str] | None:
    """Give number and axis of the ball that the page asks for; None: it asks for the steel ball."""
    found = _WHERE.fullmatch(where)
    assert found or where.startswith("Steel ball · "), where
    return (int(found[1]), _AXIS_OF[found[2]]) if found else None


def true_value(number: int, axis: str) -> str:
    """Give the diameter of an invented ball at an axis, mm: within the limits, and nowhere the same."""
    return f"{40.10 + 0.01 * (3 * (number - 1) + AXES.index(axis)):.2f}"


def says(part: Any) -> Any:
    """Wait for what a part of a page is to say."""
    return pytest.importorskip("playwright.sync_api").expect(part)


@dataclass(frozen=True, slots=True)
class Kept:
    """A reading that the page accepted: number and axis of its ball (None: the steel ball), and its number, mm."""

    place: tuple[int, str] | None
    text: str


@dataclass(slots=True)
class AtTheBench:
    """A person at the measuring page.

    Parameters
    ----------
    page : playwright page
        Where they measure; its browser notes what it shows.
    kept : list of Kept
        What they saw accepted, in the order in which they typed it.
    backed : list of int
        Which of those they took back.
    """

    page: Any
    kept: list[Kept] = field(default_factory=list)
    backed: list[int] = field(default_factory=list)

    def says(self, name: str) -> Any:
        """Wait for what a part of the page, named by its hook, is to say."""
        return says(self.page.get_by_test_id(name))

    @property
    def where(self) -> str:
        """What the page says to measure now."""
        self.says("where").to_be_visible()
        return str(self.page.get_by_test_id("where").text_content())

    @property
    def is_done(self) -> bool:
        """Whether the page has nothing left to ask for."""
        return bool(self.page.get_by_test_id("done").is_visible())

    def types(self, text: str) -> None:
        """Type something and press Enter."""
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def reads(self, text: str = "", write: Callable[[str], str] = str, instead: str = "") -> None:
        """Type the true value of the place that the page asks for, or another, instead of one that is asked about."""
        where = self.where
        place = place_of(where)
        text = text or (STEEL if place is None else true_value(*place))
        self.types(write(text))
        self.leaves(where)
        self.kept.append(Kept(place, text))
        self.looks(text, instead)

    def leaves(self, where: str) -> None:
        """Wait until the page asks for another place, or for none."""
        says(self.page.get_by_test_id("where").filter(has_text=where, visible=True)).to_have_count(0)

    def all_sent(self) -> None:
        """Wait until nothing waits in the browser any more."""
        self.says("said").not_to_contain_text("waiting:")
        self.says("waiting").to_be_hidden()

    def looks(self, *typed: str) -> None:
        """See that the page showed nothing since the last look that a blind test hides, but what was just typed."""
        for text in self.page.evaluate("takeShown()"):
            numbers = set(_NUMBER.findall(text)) - {STEEL, *_NUMBER.findall(__version__), *typed}
            assert not numbers, (numbers, text)
            assert not any(name in text for name in (MAKE, BOX)), text

    def looks_around(self) -> None:
        """See that another page of a blind test shows no value of a ball, no limit and no make."""
        shown = " ".join(self.page.evaluate("takeShown()"))
        values = {one.text for one in self.kept if one.place is not None}
        assert not [text for text in (*values, *LIMITS, MAKE, BOX) if text in shown]


@contextmanager
def at_the_bench(browser: Any, bench: Bench, pictures: Path, **window: Any) -> Iterator[AtTheBench]:
    """Open a page of a browser of its own; its scripts raise nothing, and a failure leaves a picture behind."""
    context = browser.new_context(base_url=f"http://127.0.0.1:{bench.port}", **window)
    context.set_default_timeout(_PATIENCE_MS)
    pytest.importorskip("playwright.sync_api").expect.set_options(timeout=_PATIENCE_MS)
    context.add_init_script(WATCH)
    page, raised = context.new_page(), []
    page.on("pageerror", lambda error: raised.append(str(error)))
    try:
        yield AtTheBench(page)
        assert raised == []
    except BaseException:
        page.screenshot(path=pictures / "failed.png", full_page=True)
        raise
    finally:
        context.close()
