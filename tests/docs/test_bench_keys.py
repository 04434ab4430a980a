from __future__ import annotations

import json
import shutil
import urllib.request
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from doc_pages import flat, page, section
from opened_bench import Opened, opened

MEASURE = page("docs/guides/measure.md")
KEYS = ("Enter", "Tab", "Backspace", "/", "*", "-", "Escape")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    with opened(tmp_path_factory.mktemp("bench")) as made:
        yield made


@pytest.fixture(scope="module")
def tab(bench: Opened) -> Iterator[Any]:
    """The bench page of a new test of two balls in a browser, a sitting begun."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("LEFT OUT: no chromium on this machine, so the keys of the guide were not pressed")
    playwright = pytest.importorskip("playwright.sync_api", reason="LEFT OUT: playwright is not installed")
    ask(
        bench, "/api/tests", requirement="golf", makes=[{"make": "Curlew", "boxes": [{"label": "C-1", "balls": 2}]}],
        quantities=[{"name": "diameter", "axes": ["seam", "across"], "instrument": "caliper"}],
        instruments=[{"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01}], seed=1,
    )  # fmt: skip
    ask(bench, "/api/tests/1/sittings", kind="bench")
    with playwright.sync_playwright() as running:
        browser = running.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        opened_page = browser.new_page()
        opened_page.add_init_script("localStorage.setItem('ballbench.by', 'E')")
        opened_page.goto(f"http://127.0.0.1:{bench.port}/tests/1/measure")
        opened_page.get_by_test_id("where").filter(has_text="Ball").wait_for()
        yield opened_page
        browser.close()


def ask(bench: Opened, path: str, **body: object) -> Any:
    """Give what stands at an address, or do something there."""
    act = {"key": str(uuid.uuid4()), "client": str(uuid.uuid4()), "by": "E", "at": "2026-11-25T18:00:00+01:00"}
    request = urllib.request.Request(
        f"http://127.0.0.1:{bench.port}{path}", json.dumps({**act, **body}).encode() if body else None,
        {"Content-Type": "application/json"},
    )  # fmt: skip
    with urllib.request.urlopen(request) as answer:  # noqa: S310 - the bench that the test opened
        return json.load(answer)


def test_the_keys_do_what_the_guide_says(bench: Opened, tab: Any) -> None:
    """Each key of the table, pressed in turn, does its act: seen in the notebook and on the page."""
    table = section(MEASURE, "The keys")
    for key in KEYS:
        assert f"`{key}`" in table
    where, said, asked = (tab.get_by_test_id(name) for name in ("where", "said", "ask"))
    first = where.inner_text()

    def state() -> Any:
        return ask(bench, "/api/tests/1/bench")

    tab.keyboard.type("42.71")
    tab.keyboard.press("Enter")
    said.filter(has_text="42.71").filter(has_not_text="waiting").wait_for()
    tab.keyboard.press("Enter")  # on nothing: nothing
    tab.keyboard.press("Backspace")
    said.filter(has_text="taken back").wait_for()
    where.filter(has_text=first).wait_for()
    tab.keyboard.type("42.70")
    tab.keyboard.press("Tab")
    said.filter(has_text="42.70").filter(has_not_text="waiting").wait_for()
    assert [one["standing"] for one in state()["readings"]] == ["taken back", "kept"]

    second = where.inner_text()
    tab.keyboard.press("/")
    tab.wait_for_function("(before) => document.getElementById('where').innerText !== before", arg=second)
    tab.keyboard.press("*")
    tab.get_by_test_id("aloud").filter(has_text="zeroed").wait_for(state="attached")
    tab.keyboard.press("-")
    tab.get_by_test_id("reasons").wait_for()
    tab.keyboard.press("3")
    tab.get_by_test_id("aloud").filter(has_text="spoiled: spun").wait_for(state="attached")

    tab.keyboard.type("4270")
    tab.keyboard.press("Enter")
    asked.filter(has_text="Look again").wait_for()
    tab.keyboard.press("Escape")
    asked.wait_for(state="hidden")
    now = state()
    assert [question["text"] for question in now["questions"]] == ["4270"]
    assert sorted(place["put_off"] for place in now["places"]) == [0, 0, 0, 1]
    assert sum(place["spoiled"] for place in now["places"]) == 1


def test_typed_again_it_is_kept_as_read(bench: Opened, tab: Any) -> None:
    """As the guide says of a question: the same number again is kept, and the notebook says that it was asked about."""
    assert "is far from this box. Look again.** Type it once more to keep it as read" in flat(MEASURE)
    tab.keyboard.type("49.99")
    tab.keyboard.press("Enter")
    tab.get_by_test_id("ask").filter(has_text="49.99 mm is far from this box. Look again.").wait_for()
    tab.keyboard.type("49.99")
    tab.keyboard.press("Enter")
    tab.get_by_test_id("said").filter(has_text="49.99").filter(has_not_text="waiting").wait_for()
    last = ask(bench, "/api/tests/1/bench")["readings"][-1]
    assert (last["text"], last["confirmed"]) == ("49.99", True)
