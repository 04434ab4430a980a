from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib import resources

import pytest

from ballbench.presentation.screens.measure import MeasurePage, measure_html
from ballbench.presentation.screens.static_files import static_file
from ballbench.records.ball_test import BallTest, Box, PlannedQuantity

DIAMETER = PlannedQuantity(
    "diameter", "diameter", "mm", ("seam", "across", "free"), 1, "caliper", believable=(39.417, 41.283),
    limits=(40.017, 40.583),
)  # fmt: skip
TEST = BallTest(
    id=7, title="Winter <league>", requirement="table-tennis-plastic", requirement_title="40 mm ball",
    requirement_digest="sha256:0", set_up="2026-11-20T19:00:00+00:00", set_up_by="E", blind=True, stage="under way",
    rule="guarded", risk=0.05, seed=1, invented=True, quantities=(DIAMETER,), boxes=(Box(1, "Plover", "C-1"),),
)  # fmt: skip

VOID = frozenset({"meta", "link", "input", "br", "path", "rect", "circle", "line"})
TYPED = frozenset({"input", "select", "textarea"})


class _Page(HTMLParser):
    """Tags with their attributes, and which are open; complains of tags closed out of order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.labelled: set[str | None] = set()
        self._open: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        own = dict(attrs)
        self.tags.append((tag, own))
        if tag == "label":
            self.labelled.add(own.get("for"))
        elif tag in TYPED and any(name == "label" for name, _ in self._open):
            own["within"] = "label"
        if tag not in VOID:
            self._open.append((tag, own))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self._open.pop()[0] == tag

    def ids(self) -> list[str]:
        return [name for _, own in self.tags if (name := own.get("id"))]

    def by_id(self, name: str) -> dict[str, str | None]:
        return next(own for _, own in self.tags if own.get("id") == name)


@pytest.fixture(scope="module")
def page() -> _Page:
    return _Page(measure_html(MeasurePage(TEST)))


def modules() -> dict[str, str]:
    folder = resources.files("ballbench.presentation.screens").joinpath("static/measure")
    return {one.name: one.read_text(encoding="utf-8") for one in folder.iterdir()}


def test_nothing_of_the_boxes_is_in_the_page() -> None:
    """A blind test stays blind: no make, box, limit or believable bound stands in the page that is sent."""
    for test in (TEST, replace(TEST, blind=False)):
        text = measure_html(MeasurePage(test))
        for secret in ("Plover", "C-1", "40.017", "40.583", "39.417", "41.283"):
            assert secret not in text


def test_page_holds_no_style_and_no_script_of_its_own(page: _Page) -> None:
    """The content security policy lets nothing inline through: the page holds no style, and its scripts are files."""
    scripts = [own for tag, own in page.tags if tag == "script"]
    files = {f"/static/{name}.js" for name in ("waits_line", "measure/page", "share_link")}
    assert {script.get("src") for script in scripts} == files
    assert not any(tag == "style" or "style" in own for tag, own in page.tags)
    assert not any(name.startswith("on") for _, own in page.tags for name in own)


def test_every_control_has_a_name(page: _Page) -> None:
    """Every field is named by a label, and an id names one element alone."""
    ids = page.ids()
    assert len(ids) == len(set(ids))
    for tag, own in page.tags:
        if tag in TYPED:
            assert own.get("id") in page.labelled or own.get("within") == "label", own


def test_references_between_elements_lead_somewhere(page: _Page) -> None:
    """Labels and descriptions point at elements that there are."""
    ids = set(page.ids())
    for _, own in page.tags:
        for name in ("for", "aria-labelledby", "aria-describedby", "aria-controls"):
            assert set((own.get(name) or "").split()) <= ids, own


def test_scripts_find_every_part_they_name(page: _Page) -> None:
    """An element that a script asks for by its id is in the page."""
    named = {name for text in modules().values() for name in re.findall(r"\bpart\(\"([a-z-]+)\"\)", text)}
    assert len(named) > 30
    assert named <= set(page.ids())


def test_hooks_are_there_once(page: _Page) -> None:
    """What a test of the running page holds on to is there: the entry, where to measure, what is said and asked."""
    hooks = [own["data-testid"] for _, own in page.tags if "data-testid" in own]
    assert len(hooks) == len(set(hooks))
    assert {"entry", "where", "said", "ask", "waiting", "tray", "alarm", "done", "begin"} <= set(hooks)


def test_page_speaks_politely_and_at_once(page: _Page) -> None:
    """What was kept is told when the reader pauses, a question at once (WAI-ARIA 1.2, aria-live)."""
    assert page.by_id("aloud")["aria-live"] == "polite"
    assert page.by_id("alert")["aria-live"] == "assertive"


def test_title_is_escaped_and_invented_data_are_called_so() -> None:
    """A title is text and never markup; invented data are called invented, other data are not."""
    text = measure_html(MeasurePage(TEST))
    assert "Winter &lt;league&gt;" in text
    assert "<league>" not in text
    assert "Invented data" in text
    assert "Invented data" not in measure_html(MeasurePage(replace(TEST, invented=False)))


def test_modules_load_each_other_and_nothing_else() -> None:
    """Every module that is imported is there and is served, every one is reached from the page, and none loads more."""
    texts = modules()
    reached, waiting = set(), ["page.js"]
    while waiting:
        name = waiting.pop()
        reached.add(name)
        found = re.findall(r"^import .*?from \"\./([a-z_]+\.js)\";$", texts[name], re.MULTILINE | re.DOTALL)
        waiting += [other for other in found if other not in reached]
    assert reached | {"records.js"} == set(texts)
    for name, text in texts.items():
        served = static_file(f"measure/{name}")
        assert served is not None
        assert served.media_type.startswith("text/javascript")
        addresses = set(re.findall(r"https?://[^\"'\s]+", text))
        assert addresses <= {"http://www.w3.org/2000/svg"}
        assert not re.search(r"\beval\(|new Function|innerHTML|outerHTML|insertAdjacentHTML|\.style\b", text)
