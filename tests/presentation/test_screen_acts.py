from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings

UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")


@pytest.fixture(scope="module")
def pages(screens: ModuleType, findings: Findings, comparison: Comparison) -> dict[str, str]:
    return {f"/{name}": page for name, page in screens.every_page(findings, comparison).items()}


@pytest.fixture
def bench(bench_server: ModuleType, pages: dict[str, str]) -> Iterator[Any]:
    with bench_server.serving(bench_server.Bench(dict(pages))) as running:
        yield running


@pytest.fixture
def open_page(browser: Any, bench: Any) -> Iterator[Callable[[str], Any]]:
    context = browser.new_context(viewport={"width": 1000, "height": 800})
    faults: list[str] = []

    def open_it(name: str) -> Any:
        tab = context.new_page()
        tab.on("pageerror", lambda error: faults.append(str(error)))
        tab.goto(f"{bench.address}/{name}")
        return tab

    yield open_it
    bench.changes.put(None)
    context.close()
    assert faults == []


def says(part: Any) -> Any:
    """Wait for what a part of the page is to say; by Playwright's own means, which need no evaluation in the page."""
    return pytest.importorskip("playwright.sync_api").expect(part)


def _acted(body: dict[str, Any]) -> dict[str, Any]:
    """Give what was typed, after a look at what every act carries."""
    assert UUID.fullmatch(body["key"])
    assert UUID.fullmatch(body["client"])
    assert MOMENT.fullmatch(body["at"])
    return {name: value for name, value in body.items() if name not in {"key", "client", "at"}}


def _fill_set_up(tab: Any) -> None:
    tab.get_by_label("Title of the test").fill("Autumn balls")
    tab.get_by_label("Your name").fill("E")
    tab.get_by_label("Make", exact=True).fill("Curlew")
    tab.get_by_label("Box", exact=True).fill("C-1")
    tab.get_by_label("Balls in it").fill("12")
    tab.get_by_role("button", name="Another box of this make").click()
    second = tab.get_by_role("group", name="Make 1, box 2")
    second.get_by_label("Box", exact=True).fill("C-2")
    second.get_by_label("Balls in it").fill("12")
    second.get_by_text("Bought or given").click()
    second.get_by_label("Bought on").fill("2026-11-02")
    second.get_by_label("Price").fill("12.50")
    diameter = tab.get_by_role("group", name="diameter")
    diameter.get_by_label("Display step").fill("0,01")
    diameter.get_by_text("Its noise and offset").click()
    diameter.get_by_label("SD of repeated readings").fill("0.008")
    diameter.get_by_label("Degrees of freedom").fill("20")
    diameter.get_by_label("Zeroed").select_option("once a sitting")
    tab.get_by_role("group", name="mass").get_by_role("checkbox").uncheck()
    tab.get_by_label("Surface").fill("steel block")
    tab.get_by_role("button", name="Add a reference piece").click()
    piece = tab.get_by_role("group", name="Reference piece 1")
    piece.get_by_label("Name").fill("steel ball")
    piece.get_by_label("Is", exact=True).fill("20")
    piece.get_by_label("Standard uncertainty").fill("0.001")
    tab.get_by_text("Shuffled order").click()
    tab.get_by_label("A control ball").fill("8")


def test_set_up_is_posted_as_it_was_typed(bench: Any, open_page: Callable[[str], Any]) -> None:
    """Everything arrives in the shape of the interface, and what is left empty does not."""
    tab = open_page("set-up")
    _fill_set_up(tab)
    assert "24 balls, 4 readings each: 96 readings, about 24 min" in tab.locator("#amount").text_content()
    with tab.expect_navigation():
        tab.get_by_role("button", name="Set it up").click()
    assert tab.url == f"{bench.address}/tests/7"
    ((path, body),) = bench.posted
    assert path == "/api/tests"
    first = {"label": "C-1", "balls": 12}
    assert _acted(body) == {
        "by": "E", "title": "Autumn balls", "requirement": "island-match-ball",
        "makes": [{"make": "Curlew", "boxes": [first, {**first, "label": "C-2", "bought": "2026-11-02",
                                                       "price": "12.50"}]}],
        "quantities": [{"name": "diameter", "axes": ["seam", "across", "free"], "repeats": 1, "instrument": "caliper"},
                       {"name": "marking", "axes": [], "repeats": 1}],
        "instruments": [{"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01, "sd": 0.008,
                         "dof": 20, "zeroed": "each sitting"}],
        "references": [{"name": "steel ball", "quantity": "diameter", "value": 20, "u": 0.001, "unit": "mm",
                        "instrument": "caliper"}],
        "blind": True, "rule": "guarded", "risk": 0.05, "seed": 20261120, "invented": False, "control_every": 8,
        "conditions": {"surface": "steel block"},
    }  # fmt: skip


def test_fault_stands_beside_its_field_and_nothing_is_lost(bench: Any, open_page: Callable[[str], Any]) -> None:
    """A fault of the answer is said in a summary with the focus and beside the field it names; the words stay."""
    fault = {"where": "makes 1, box 2, balls", "found": "0", "allowed": "1 to 500 balls", "todo": "count them again"}
    bench.answer = lambda *_: (422, {"title": "This cannot be used", "status": 422, "faults": [fault]})
    tab = open_page("set-up")
    _fill_set_up(tab)
    tab.get_by_role("button", name="Set it up").click()
    summary = tab.locator("#faults")
    summary.wait_for()
    assert "found 0. Allowed: 1 to 500 balls. What to do: count them again." in summary.text_content()
    assert tab.evaluate("document.activeElement.id") == "faults"
    field = tab.get_by_role("group", name="Make 1, box 2").get_by_label("Balls in it")
    assert field.get_attribute("aria-invalid") == "true"
    assert "count them again" in tab.locator(f"#{field.get_attribute('aria-describedby')}").text_content()
    assert field.input_value() == "12"
    summary.get_by_role("link", name="Make 1, box 2: Balls in it").click()
    assert field.evaluate("field => field === document.activeElement")
    assert tab.get_by_label("Title of the test").input_value() == "Autumn balls"


def test_empty_fields_are_said_all_at_once(bench: Any, open_page: Callable[[str], Any]) -> None:
    """Nothing is posted while a name or a number is missing; every such field is named in the words of the page."""
    tab = open_page("set-up")
    tab.get_by_role("group", name="mass").get_by_role("checkbox").uncheck()
    tab.get_by_role("button", name="Set it up").click()
    links = tab.locator("#faults a").all_text_contents()
    assert links == ["Your name", "Make 1: Make", "Make 1, box 1: Box", "Make 1, box 1: Balls in it",
                     "diameter: Display step"]  # fmt: skip
    assert bench.posted == []


def test_number_that_reads_two_ways_is_asked_about(bench: Any, open_page: Callable[[str], Any]) -> None:
    """1,000 balls might be one or a thousand: nothing is posted, and the field says so."""
    tab = open_page("set-up")
    _fill_set_up(tab)
    tab.get_by_role("group", name="Make 1, box 1").get_by_label("Balls in it").fill("1,000")
    tab.get_by_role("button", name="Set it up").click()
    assert '"1,000"' in tab.locator("#faults").text_content()
    assert bench.posted == []


def test_act_sent_twice_keeps_its_key(bench: Any, open_page: Callable[[str], Any]) -> None:
    """Without an answer the same words go again under the same key; other words have a new one."""
    bench.answer = lambda *_: (0, None)
    tab = open_page("test")
    tab.get_by_label("Your name").fill("E")
    for _ in range(2):
        with tab.expect_event("requestfailed"):
            tab.get_by_role("button", name="Finish the test").click()
        tab.get_by_text("no answer").wait_for()
    tab.get_by_label("Your name").fill("second reader")
    with tab.expect_event("requestfailed"):
        tab.get_by_role("button", name="Finish the test").click()
    keys = [(body["by"], body["key"]) for path, body in bench.posted if path == "/api/tests/7/finish"]
    assert len(dict(keys)) == 2
    first = {key for by, key in keys if by == "E"}
    assert len(first) == 1
    assert first.isdisjoint(key for by, key in keys if by != "E")


def test_form_of_set_up_works_by_keyboard(open_page: Callable[[str], Any]) -> None:
    """A new box is reached by Enter on its button, and the focus is in it; taking it away keeps the focus near."""
    tab = open_page("set-up")
    tab.get_by_role("button", name="Another box of this make").focus()
    tab.keyboard.press("Enter")
    assert tab.evaluate("document.activeElement.closest('fieldset').querySelector('legend').textContent") == (
        "Make 1, box 2"
    )
    tab.get_by_role("group", name="Make 1, box 2").get_by_role("button", name="Leave out this box").focus()
    tab.keyboard.press("Enter")
    assert tab.locator(".box-of-balls").count() == 1
    assert tab.evaluate("document.activeElement.name") == "label"


def test_requirements_are_found_by_words(open_page: Callable[[str], Any]) -> None:
    """Every typed word must stand in sport, title, edition, id or source; the count is said."""
    tab = open_page("choose")
    tab.get_by_label("Sport, title or number of a rule").fill("league squash")
    assert tab.locator("li[data-find]:visible").count() == 1
    assert tab.locator("#found").text_content() == "1 requirement"
    assert tab.get_by_role("link", name="Match ball").get_attribute("href") == "/tests/new?requirement=other"


def test_reading_is_corrected_with_reason_and_name(bench: Any, open_page: Callable[[str], Any]) -> None:
    """The dialog shows what was read, posts what is to hold, and gives the focus back to its line."""
    tab = open_page("corrections")
    tab.get_by_role("button", name="Change ball 05, diameter, across, reading 1").click()
    dialog = tab.get_by_role("dialog")
    assert "40.16 mm" in dialog.text_content().replace("\u00a0", " ")
    dialog.get_by_label("What it should have said").fill("40.19")
    dialog.get_by_label("Reason").fill("digit misread")
    dialog.get_by_label("Your name").fill("E")
    dialog.get_by_role("button", name="Write it down").click()
    dialog.wait_for(state="hidden")
    says(tab.locator("#said")).to_have_text("Written down.")
    ((path, body),) = bench.posted
    assert path == "/api/tests/7/corrections"
    assert _acted(body) == {"by": "E", "reading": 14, "action": "correct", "reason": "digit misread", "text": "40.19"}
    says(tab.locator("button[data-reading='14']")).to_be_focused()


def test_all_readings_in_doubt_are_excluded_in_one_act(bench: Any, open_page: Callable[[str], Any]) -> None:
    """One act with one key, one reason and every reading that the failed check touches."""
    tab = open_page("corrections")
    tab.get_by_label("One reason for all").fill("caliper dropped")
    tab.locator("#all-by").fill("E")
    tab.get_by_role("button", name="Exclude all 8 readings").click()
    says(tab.locator("#said")).to_have_text("8 of 8 excluded.")
    ((path, body),) = bench.posted
    assert path == "/api/tests/7/corrections"
    assert _acted(body) == {
        "by": "E",
        "readings": list(range(28, 36)),
        "action": "exclude",
        "reason": "caliper dropped",
    }


def test_readings_are_picked_by_ball_and_standing(open_page: Callable[[str], Any]) -> None:
    """The list narrows to what was corrected, excluded or taken back, and to one ball."""
    tab = open_page("corrections")
    tab.get_by_label("Standing").select_option("changed")
    assert tab.locator("#readings tbody tr:visible").count() == 3
    tab.get_by_label("Ball", exact=True).select_option("ball 03")
    assert tab.locator("#readings tbody tr:visible").count() == 1
    assert tab.locator("#picked").text_content() == "1 of 35 readings"


def test_quick_check_takes_a_reading_for_each_enter(bench: Any, open_page: Callable[[str], Any]) -> None:
    """Enter goes on to the next reading, named by its place on the ball; empty ones are not posted."""
    tab = open_page("quick")
    tab.get_by_label("Requirement").select_option("island-match-ball")
    assert tab.get_by_text("No diameter of a ball is above 40.60 mm.").is_visible()
    tab.get_by_label("Which ball").fill("B")
    tab.get_by_label("Your name").fill("E")
    tab.get_by_label("Display step").fill("0.01")
    tab.get_by_label("Reading 1, seam").focus()
    for text in ("40.51", "40.61", "40.47"):
        tab.keyboard.type(text)
        tab.keyboard.press("Enter")
    assert tab.evaluate("document.activeElement.previousElementSibling.textContent") == "Reading 4, seam"
    with tab.expect_navigation():
        tab.get_by_role("button", name="Decide").click()
    assert tab.url == f"{bench.address}/quick/7"
    ((path, body),) = bench.posted
    assert path == "/api/quick-checks"
    assert _acted(body) == {
        "by": "E", "requirement": "island-match-ball", "quantity": "diameter", "ball": "B",
        "instrument": {"name": "caliper", "unit": "mm", "resolution": 0.01},
        "texts": ["40.51", "40.61", "40.47"], "axes": ["seam", "across", "free"], "note": "",
    }  # fmt: skip


def test_new_readings_are_offered_and_move_nothing(bench: Any, open_page: Callable[[str], Any]) -> None:
    """While a test goes on the page says that there is more, stays where the reader is, and changes only when asked."""
    tab = open_page("judge-live")
    tab.evaluate("scrollTo(0, 3000)")
    before = tab.evaluate("[scrollY, document.documentElement.scrollHeight]")
    for revision, kind, reply in (
        (301, "entry", {"status": "kept", "reading": {"id": 1}}),
        (302, "entry", {"status": "asked", "reading": None}),
        (303, "entry", {"status": "kept", "reading": {"id": 2}}),
        (304, "amended", {"status": "corrected", "readings": [{"id": 1}]}),
    ):
        bench.changes.put(json.dumps({"revision": revision, "kind": kind, "client": "x", "reply": reply}))
    button = tab.get_by_role("button", name="2 new readings and 1 other change: judge again")
    button.wait_for()
    assert tab.evaluate("[scrollY, document.documentElement.scrollHeight]") == before
    bench.pages["/judge-live"] = bench.pages["/judge-live"].replace("Curlew, 24\u00a0balls", "Curlew, 25\u00a0balls")
    button.click()
    tab.get_by_text("Curlew, 25 balls").wait_for()
    says(tab.locator("#live-again")).to_be_hidden()
    assert tab.evaluate("scrollY") == before[0]


def test_readings_file_is_taken_in(bench: Any, open_page: Callable[[str], Any]) -> None:
    """The file, what it is held against, title, name and key are posted as a form, and its test is opened."""
    tab = open_page("home-first")
    form = tab.locator("#import")
    form.get_by_label("Readings (CSV").set_input_files(
        {"name": "box.csv", "mimeType": "text/csv", "buffer": b"ball,diameter\n01,40.1\n"}
    )
    form.get_by_label("Requirement").select_option("island-match-ball")
    form.get_by_label("Title of the test").fill("Autumn balls")
    form.get_by_label("Your name").fill("E")
    with tab.expect_navigation():
        form.get_by_role("button", name="Take it in").click()
    assert tab.url == f"{bench.address}/tests/7"
    ((path, body),) = bench.posted
    assert path == "/api/imports"
    parts = re.findall(rb'name="(\w+)"(?:; filename="([^"]*)")?', body)
    assert parts == [(b"readings", b"box.csv"), (b"requirement", b""), (b"title", b""), (b"by", b""), (b"key", b"")]
    assert b"01,40.1" in body
