from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from bench_client import Bench, benches
from box_mishaps import lost_point
from box_walk import AXES, BOX, MAKE, AtTheBench, at_the_bench, place_of, true_value
from servers import act

BALL_IN_THE_JAWS_MS = 4000
"""After so long somebody who reads quickly has the next ball in the jaws (own choice)."""


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A bench in a process of its own, with a blind test of twelve balls at three places, and a sitting begun."""
    with benches() as starter:
        opened = Bench(starter, tmp_path / "notebook")
        opened.start()
        tool = {"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01}
        opened.post("/api/tests", act(
            requirement="table-tennis-plastic", makes=[{"make": MAKE, "boxes": [{"label": BOX, "balls": 12}]}],
            quantities=[{"name": "diameter", "axes": AXES, "instrument": "caliper"}], instruments=[tool],
            blind=True, invented=True, seed=5,
        ))  # fmt: skip
        opened.post("/api/tests/1/sittings", act(kind="bench"))
        yield opened
        opened.kill()


@contextmanager
def at_a_clock(browser: Any, bench: Bench, pictures: Path) -> Iterator[AtTheBench]:
    """Come to the bench as E, with a clock that can be put forward."""
    with at_the_bench(browser, bench, pictures, viewport={"width": 1280, "height": 800}) as at:
        at.page.clock.install()
        at.page.add_init_script("localStorage.setItem('ballbench.by', 'E')")
        at.page.goto("/tests/1/measure")
        at.says("entry").to_be_focused()
        yield at


def test_a_question_that_comes_late_takes_no_place_away(browser: Any, bench: Bench, tmp_path: Path) -> None:
    """What is asked when the next ball is in the jaws already waits: the next number is kept at the next ball."""
    with at_a_clock(browser, bench, tmp_path) as at:
        held: list[Any] = []

        def hold(route: Any) -> None:
            held.append(route)

        at.page.route("**/api/tests/1/readings", hold, times=1)
        odd, first, wrong = place_of(at.where), at.where, lost_point(at)
        with at.page.expect_request("**/api/tests/1/readings"):
            at.types(wrong)
        at.leaves(first)
        second = at.where
        at.page.clock.fast_forward(BALL_IN_THE_JAWS_MS)
        held[0].continue_()
        at.says("ask").to_contain_text(f"{odd[0]:02d} {odd[1]}")
        at.says("alert").to_contain_text(f"{odd[0]:02d} {odd[1]}")
        at.says("where").to_have_text(second)
        at.looks(wrong)
        at.reads(instead=wrong)
        at.says("where").to_have_text(first)
        at.says("ask").to_contain_text(f"{wrong} mm is far from this box")
        at.reads(instead=wrong)
        at.all_sent()
    numbers = {ball["id"]: int(ball["number"]) for ball in bench.get("/api/tests/1/bench")["balls"]}
    readings = bench.get("/api/tests/1/bench")["readings"]
    assert len(readings) == 2
    assert all(one["text"] == true_value(numbers[one["ball"]], one["axis"]) for one in readings)


def test_a_ball_that_another_read_meanwhile_is_not_left_in_silence(browser: Any, bench: Bench, tmp_path: Path) -> None:
    """A page whose place somebody else reads asks for another, and says of the first who read it."""
    with at_a_clock(browser, bench, tmp_path) as at:
        first = at.where
        number, axis = place_of(first)
        state = bench.get("/api/tests/1/bench")
        ball = next(one["id"] for one in state["balls"] if int(one["number"]) == number)
        place = next(one["id"] for one in state["places"] if (one["ball"], one["axis"]) == (ball, axis))
        at.page.clock.fast_forward(BALL_IN_THE_JAWS_MS)
        other = act(place=place, text=true_value(number, axis))
        bench.post("/api/tests/1/readings", {**other, "by": "M"})
        at.says("said").to_contain_text(f"Ball {number:02d} · along the seam was read by M")
        at.says("alert").to_contain_text("was read by M")
        at.leaves(first)
        at.reads()
        at.says("said").not_to_contain_text("was read by M")
