from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_client import Bench, benches
from box_walk import AXES, BOX, MAKE, AtTheBench, at_the_bench, changes_of, place_of
from servers import act

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
UNDER_A_KEYBOARD = {"width": 390, "height": 430}
"""What a keyboard on the screen leaves of it, CSS px (own choice)."""
SMALLEST = 44
"""Least height and width of what is tapped, CSS px (WCAG 2.2, 2.5.5 Target Size, enhanced)."""
BUTTONS = ("take-back", "later", "zeroed", "spoiled")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A bench in a process of its own, with a blind test of twelve balls at three places and a steel ball."""
    with benches() as starter:
        opened = Bench(starter, tmp_path / "notebook")
        opened.start()
        tool = {"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01}
        piece = {"name": "steel ball", "quantity": "diameter", "value": 20, "u": 0.001, "unit": "mm"}
        test = act(
            requirement="table-tennis-plastic", makes=[{"make": MAKE, "boxes": [{"label": BOX, "balls": 12}]}],
            quantities=[{"name": "diameter", "axes": AXES, "instrument": "caliper"}], instruments=[tool],
            references=[{**piece, "instrument": "caliper"}], blind=True, invented=True, seed=5,
        )  # fmt: skip
        assert opened.post("/api/tests", test)["id"] == 1
        yield opened
        opened.kill()


def tap(at: AtTheBench, name: str) -> None:
    """Tap one of the buttons instead of a reading."""
    at.page.get_by_test_id(name).tap()


def begin(at: AtTheBench) -> None:
    """Say who measures, and begin a sitting."""
    at.page.goto("/tests/1/measure")
    at.page.get_by_test_id("by").tap()
    at.page.keyboard.type("E")
    tap(at, "begin-go")
    at.says("entry").to_be_focused()
    at.looks()


def takes_back(at: AtTheBench) -> None:
    """Type a wrong number, take it back by a tap, and type what is right."""
    where = at.where
    at.reads(text="40.33")
    at.backed.append(len(at.kept) - 1)
    tap(at, "take-back")
    at.says("where").to_have_text(where)
    at.looks("40.33")
    at.reads()


def puts_off(at: AtTheBench) -> tuple[int, str] | None:
    """Leave a place for later by a tap, and give it."""
    where = at.where
    tap(at, "later")
    at.leaves(where)
    at.says("entry").to_be_focused()
    at.looks()
    return place_of(where)


def zeroes(at: AtTheBench) -> None:
    """Zero the caliper by a tap; the place stays, and the entry is listening."""
    where = at.where
    tap(at, "zeroed")
    at.says("said").to_contain_text("caliper zeroed")
    at.says("entry").to_be_focused()
    at.looks()
    assert at.where == where


def spoils(at: AtTheBench) -> tuple[int, str] | None:
    """Spoil an attempt by two taps; the place stays, and the entry is listening."""
    where = at.where
    tap(at, "spoiled")
    at.says("reasons").to_be_visible()
    at.page.get_by_test_id("reasons").get_by_role("button", name="slipped in the jaws").tap()
    at.says("reasons").to_be_hidden()
    at.says("said").to_contain_text("spoiled: slipped in the jaws. Read it again.")
    at.says("entry").to_be_focused()
    at.looks()
    assert at.where == where
    return place_of(where)


def fits(at: AtTheBench) -> None:
    """See that nothing scrolls sideways, that all stands whole on the screen, and that buttons are large enough."""
    page = at.page
    width, height = (page.evaluate(f"inner{side}") for side in ("Width", "Height"))
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    boxes = [page.get_by_test_id(name).bounding_box() for name in ("where", "entry", *BUTTONS)]
    for box in boxes:
        assert 0 <= box["x"] <= box["x"] + box["width"] <= width
        assert 0 <= box["y"] <= box["y"] + box["height"] <= height
    for box in boxes[2:]:  # the entry has the focus, and gets it back from a tap anywhere beside the buttons
        assert min(box["width"], box["height"]) >= SMALLEST
    for i, one in enumerate(boxes):
        for other in boxes[i + 1 :]:
            beside = one["x"] + one["width"] <= other["x"] or other["x"] + other["width"] <= one["x"]
            below = one["y"] + one["height"] <= other["y"] or other["y"] + other["height"] <= one["y"]
            assert beside or below, "nothing covers anything"


def to_the_end(at: AtTheBench) -> None:
    """Read what is left; the check of the caliper comes behind what was put off."""
    while not at.is_done:
        at.reads()
    assert at.kept[-1].place is None
    at.all_sent()
    at.says("done").to_contain_text("All 36 read.")
    at.looks()


def finish(at: AtTheBench) -> None:
    """Finish the test on its own page."""
    at.page.get_by_role("link", name="This test").tap()
    at.page.wait_for_url("**/tests/1")
    at.looks_around()
    at.page.get_by_role("button", name="Finish the test").tap()
    at.page.wait_for_url("**/tests/1/judge")


def what_the_notebook_has(bench: Bench) -> list[tuple[Any, str, str]]:
    """Give every reading in order: number and axis of the ball, number, and what was said of it last."""
    state = bench.get("/api/tests/1/bench")
    assert all(place["filled"] for place in state["places"])
    numbers = {ball["id"]: int(ball["number"]) for ball in state["balls"]}
    return [
        ((numbers[one["ball"]], one["axis"]) if one["ball"] else None, one["text"], one["standing"])
        for one in state["readings"]
    ]


def test_a_box_is_measured_on_a_phone_by_taps(browser: Any, bench: Bench, tmp_path: Path) -> None:
    """Under a keyboard on the screen, by taps on buttons, all is there once, in order and right, and stays blind."""
    with at_the_bench(browser, bench, tmp_path, **PHONE) as at:
        begin(at)
        at.reads()
        fits(at)
        at.page.set_viewport_size(UNDER_A_KEYBOARD)
        at.reads()
        fits(at)
        takes_back(at)
        later = puts_off(at)
        zeroes(at)
        spoiled = spoils(at)
        fits(at)
        to_the_end(at)
        finish(at)
    kept = [(one.place, one.text, "taken back" if i in at.backed else "kept") for i, one in enumerate(at.kept)]
    assert what_the_notebook_has(bench) == kept
    changes = changes_of(bench, 1)
    by_kind = [change["kind"] for change in changes if change["kind"] not in {"entry", "set up", "sitting begun"}]
    assert by_kind == ["taken back", "put off", "noted", "spoiled", "finish"]
    told = {change["kind"]: change["reply"] for change in changes}
    state = bench.get("/api/tests/1/bench")
    numbers = {ball["id"]: int(ball["number"]) for ball in state["balls"]}
    for kind, place in (("put off", later), ("spoiled", spoiled)):
        at_ball = told[kind]["place"]["ball"]
        assert ((numbers[at_ball], told[kind]["place"]["axis"]) if at_ball else None) == place
