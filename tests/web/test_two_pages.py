from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest
from bench_client import PATIENCE_S, Bench, benches
from box_walk import WATCH, says
from servers import Stream, act, new_test
from two_at_the_bench import Person, browsing, value_at, words_at

from ballbench.workflows.opening import open_notebook

TEST = 1
NAMES = ("E", "M")
TOO = " read this place too; both readings are kept."


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A bench in a process of its own, with one open test: 16 balls of two makes, two diameters and a mass of each."""
    with closing(open_notebook(tmp_path / "notebook")) as notebook:
        assert new_test(notebook, balls=8) == TEST
    with benches() as starter:
        opened = Bench(starter, tmp_path / "notebook")
        opened.start()
        opened.post(f"/api/tests/{TEST}/sittings", act(kind="bench"))
        yield opened
        opened.kill()


@contextmanager
def measuring(browser: Any, bench: Bench, pictures: Path, name: str = "") -> Iterator[Person]:
    """Open the measuring page as somebody, or to look on; no error is let through, and a failure leaves a picture."""
    context, raised = browser.new_context(), []
    context.add_init_script(WATCH)
    context.add_init_script(f"localStorage.setItem('ballbench.by', '{name}')")
    page = context.new_page()
    page.on("pageerror", lambda error: raised.append(str(error)))
    try:
        page.goto(f"http://127.0.0.1:{bench.port}/tests/{TEST}/measure")
        yield Person(page, words_at(bench.get(f"/api/tests/{TEST}/bench")))
        assert raised == []
    except BaseException:
        page.screenshot(path=pictures / f"failed-{name or 'looking-on'}.png", full_page=True)
        raise
    finally:
        context.close()


@dataclass(slots=True)
class Together:
    """Where people wait for each other: to begin, when all is read, and for what a page opened last shows.

    Parameters
    ----------
    begin, read : Barrier
        Everybody is there; everybody has read all.
    tray : Future
        What that page shows of each ball.
    """

    begin: Barrier = field(default_factory=lambda: Barrier(len(NAMES)))
    read: Barrier = field(default_factory=lambda: Barrier(len(NAMES) + 1))
    tray: Future[list[str]] = field(default_factory=Future)

    def give_up(self) -> None:
        """Let nobody wait any more."""
        self.begin.abort()
        self.read.abort()
        self.tray.cancel()


@dataclass(frozen=True, slots=True)
class Evening:
    """What somebody typed, as place and number in order, and what their page showed at any time."""

    typed: list[tuple[int, str]]
    shown: set[str]


def measures(bench: Bench, pictures: Path, name: str, together: Together) -> Evening:
    """Read as fast as the page takes it, until all is read; then the page comes to show what the last one shows."""
    try:
        with browsing() as browser, measuring(browser, bench, pictures, name) as person:
            person.says("entry").to_be_focused()
            together.begin.wait(PATIENCE_S)
            person.reads_all()
            together.read.wait(PATIENCE_S)
            comes_to_show(person, together.tray.result(PATIENCE_S))
            return Evening(person.typed, set(person.page.evaluate("takeShown()")))
    except BaseException:
        together.give_up()
        raise


def looks_on(bench: Bench, pictures: Path, together: Together) -> list[str]:
    """Open a page when half is read, and one when all is; give what both come to show of each ball."""
    half = len(words_at(state_of(bench))) // 2
    with Stream(bench, TEST, after=0) as stream:
        for count, _ in enumerate(stream.events()):
            assert not together.read.broken
            if count == half:
                break
    with browsing() as browser, measuring(browser, bench, pictures) as third:
        together.read.wait(PATIENCE_S)
        with measuring(browser, bench, pictures, "E") as last:
            last.says("done").to_contain_text("All 48 read.")
            says(last.part("tray").locator("[data-holder]")).to_have_count(0)
            words = [str(one.get_attribute("aria-label")) for one in pieces_of(last).all()]
        together.tray.set_result(words)
        comes_to_show(third, words)
        return words


def pieces_of(person: Person) -> Any:
    """Find the balls in the tray."""
    return person.part("tray").get_by_role("button")


def comes_to_show(person: Person, words: list[str]) -> None:
    """Wait until a page shows the same of each ball."""
    says(pieces_of(person)).to_have_count(len(words))
    for i, one in enumerate(words):
        says(pieces_of(person).nth(i)).to_have_attribute("aria-label", one)


def state_of(bench: Bench) -> dict[str, Any]:
    """Everything that the notebook has of the test."""
    state: dict[str, Any] = bench.get(f"/api/tests/{TEST}/bench")
    return state


def test_two_pages_at_full_speed_and_two_late_ones_agree(bench: Bench, tmp_path: Path) -> None:
    """Each number is kept at the place that tells it, once unless the page says so; all pages show the same tray."""
    together = Together()
    with ThreadPoolExecutor(len(NAMES)) as pool:
        evenings = [pool.submit(measures, bench, tmp_path, name, together) for name in NAMES]
        try:
            words = looks_on(bench, tmp_path, together)
        except BaseException:
            together.give_up()
            raise
        by_name = dict(zip(NAMES, (one.result(PATIENCE_S) for one in evenings), strict=True))
    state = state_of(bench)
    right = {place["id"]: value_at(place) for place in state["places"]}
    kept = [(one["place"], one["text"]) for one in state["readings"]]
    assert [one for one in kept if one[1] != right[one[0]]] == []
    assert sorted(kept) == sorted(one for evening in by_name.values() for one in evening.typed)
    assert all(evening.typed for evening in by_name.values())
    seen: dict[int, str] = {}
    for one in state["readings"]:
        if one["place"] in seen:
            assert f"{seen[one['place']]}{TOO}" in by_name[one["by"]].shown
        seen[one["place"]] = one["by"]
    assert seen.keys() == right.keys()
    for ball, label in zip(state["balls"], words, strict=True):
        assert label.startswith(f"Ball {ball['number']}: all 3 read")
        assert all(right[place["id"]] in label for place in state["places"] if place["ball"] == ball["id"])


def ball_of(person: Person) -> str:
    """Give the ball that a page asks for."""
    person.says("where").to_be_visible()
    return str(person.part("where").text_content()).partition(" · ")[0]


def test_two_people_are_never_sent_to_one_ball(bench: Bench, tmp_path: Path) -> None:
    """A ball that somebody has in the hand for one axis is asked of nobody else, for no axis."""
    with (
        browsing() as browser,
        measuring(browser, bench, tmp_path, "E") as one,
        measuring(browser, bench, tmp_path, "M") as other,
    ):
        one.says("entry").to_be_focused()
        other.says("where").not_to_contain_text(ball_of(one))
        balls = set()
        for person in (one, other, one, one, other, one, one, other, other):
            person.reads()
            person.says("where").not_to_contain_text(ball_of(other if person is one else one))
            balls |= {ball_of(one), ball_of(other)}
        assert len(balls) > 4
