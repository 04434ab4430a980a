from __future__ import annotations

import asyncio
import socket
import uuid
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest
from bench_client import Line
from servers import PATIENCE_S, Running, Stream, act, bench_server, new_test
from two_at_the_bench import at_the_bench, browsing, value_at, words_at

from ballbench.web.addresses import bound
from ballbench.workflows.opening import Notebook, open_notebook

TEST = 1
CLIENTS = [str(uuid.UUID(int=number, version=4)) for number in range(1, 9)]


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    """A notebook with one test: 16 balls of two makes, two diameters and a mass of each."""
    opened = open_notebook(tmp_path / "notebook")
    assert new_test(opened, balls=8) == TEST
    yield opened
    opened.close()


@pytest.fixture
def bench(notebook: Notebook) -> Iterator[Running]:
    """The bench of that notebook."""
    with bench_server(notebook) as server:
        yield server


@pytest.fixture
def lines(bench: Running) -> Iterator[list[Line]]:
    """A connection for each of eight people."""
    opened = [Line(bench.port) for _ in CLIENTS]
    yield opened
    for line in opened:
        line.close()


def state_of(bench: Running) -> dict[str, Any]:
    """Everything that the notebook has of the test."""
    state: dict[str, Any] = bench.ask("GET", f"/api/tests/{TEST}/bench").json()
    return state


def enter(line: Line, client: str, place: dict[str, Any], text: str, **more: Any) -> dict[str, Any]:
    """Type a number for a place, and give the answer."""
    sent = {**act(client=client, place=place["id"], text=text), **more}
    status, told = line.ask("POST", f"/api/tests/{TEST}/readings", sent)
    assert status == 200, told
    assert isinstance(told, dict)
    return told


def at_once(people: int, work: Callable[[int], Any]) -> list[Any]:
    """Let people do something at the same moment, each in a thread of their own."""
    start = Barrier(people)

    def one(person: int) -> Any:
        start.wait(PATIENCE_S)
        return work(person)

    with ThreadPoolExecutor(people) as pool:
        return list(pool.map(one, range(people)))


@pytest.mark.parametrize("people", [2, 8])
def test_people_who_enter_at_once_never_meet_at_a_place(bench: Running, lines: list[Line], people: int) -> None:
    """Every number is kept once, at the place that it was meant for, and all hear of all in the notebook's order."""
    places = state_of(bench)["places"]
    with ExitStack() as ears:
        streams = [ears.enter_context(Stream(bench, TEST, after=1)) for _ in range(people)]

        def work(person: int) -> list[dict[str, Any]]:
            own = places[person::people]
            return [enter(lines[person], CLIENTS[person], place, value_at(place)) for place in own]

        replies = [told for own in at_once(people, work) for told in own]
        heard = [stream.changes(len(places)) for stream in streams]
    kept = state_of(bench)["readings"]
    assert sorted((one["place"], one["text"]) for one in kept) == sorted((one["id"], value_at(one)) for one in places)
    assert all(one == heard[0] for one in heard)
    assert [one["revision"] for one in heard[0]] == sorted(told["revision"] for told in replies)
    assert [one["reply"]["reading"]["id"] for one in heard[0]] == [one["id"] for one in kept]
    shares = Counter({CLIENTS[person]: len(places[person::people]) for person in range(people)})
    assert Counter(one["client"] for one in heard[0]) == shares


@pytest.mark.parametrize("people", [2, 8])
def test_readings_that_collide_are_all_kept_and_said(bench: Running, lines: list[Line], people: int) -> None:
    """Of people who read one place at the same moment each is kept as a repeat, and told of those before."""
    texts = [f"43.{10 + person}" for person in range(people)]
    for place in state_of(bench)["places"][:12]:

        def work(person: int, place: dict[str, Any] = place) -> dict[str, Any]:
            return enter(lines[person], CLIENTS[person], place, texts[person])

        replies = sorted(at_once(people, work), key=lambda told: told["reading"]["repeat"])
        assert [told["reading"]["repeat"] for told in replies] == list(range(1, people + 1))
        assert sorted(told["reading"]["text"] for told in replies) == texts
        order = [told["reading"]["id"] for told in replies]
        assert [[one["id"] for one in told["also"]] for told in replies] == [order[:n] for n in range(people)]


def test_an_act_that_comes_on_several_lines_at_once_is_done_once(bench: Running, lines: list[Line]) -> None:
    """An act that a browser sends again while the first is on its way is one reading, and has one answer."""
    places = state_of(bench)["places"][:12]
    for place in places:
        same = {name: value for name, value in act().items() if name in {"key", "at"}}

        def work(person: int, place: dict[str, Any] = place, same: dict[str, Any] = same) -> dict[str, Any]:
            return enter(lines[person], CLIENTS[0], place, value_at(place), **same)

        replies = at_once(8, work)
        assert all(told == replies[0] for told in replies)
    assert [one["place"] for one in state_of(bench)["readings"]] == [place["id"] for place in places]


def test_an_answer_is_sent_at_once() -> None:
    """On the bench's sockets the last bytes of an answer do not wait for a receipt (RFC 9293, 3.7.4: no delay)."""

    async def option() -> int:
        (listener,) = bound(["127.0.0.1"], 0)
        found: asyncio.Future[int] = asyncio.get_running_loop().create_future()

        def take(_: asyncio.StreamReader, answer: asyncio.StreamWriter) -> None:
            line = answer.get_extra_info("socket")
            found.set_result(line.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            answer.close()

        async with await asyncio.start_server(take, sock=listener):
            _, caller = await asyncio.open_connection(*listener.getsockname())
            await asyncio.wait_for(found, PATIENCE_S)
            caller.close()
            await caller.wait_closed()
        return found.result()

    assert asyncio.run(option()) != 0


def test_two_browsers_at_full_speed_read_every_place_right(bench: Running) -> None:
    """Two people type as fast as their pages take it: each number is kept once, at the place it was typed for."""
    address, places = f"http://{bench.host}/tests/{TEST}/measure", words_at(state_of(bench))
    names, start = ("E", "M"), Barrier(2)

    def measure(name: str) -> list[tuple[int, str]]:
        with browsing() as browser, at_the_bench(browser, address, name, places) as person:
            start.wait(PATIENCE_S)
            person.reads_all()
            return person.typed

    with ThreadPoolExecutor(2) as pool:
        typed = dict(zip(names, pool.map(measure, names), strict=True))
    state = state_of(bench)
    kept = {name: [(one["place"], one["text"]) for one in state["readings"] if one["by"] == name] for name in names}
    assert kept == typed
    assert all(typed.values())
    assert {one["place"] for one in state["readings"]} == {place["id"] for place in places.values()}
    right = {place["id"]: value_at(place) for place in places.values()}
    assert all(one["text"] == right[one["place"]] for one in state["readings"])


def test_two_browsers_at_one_place_keep_both_and_say_so(bench: Running) -> None:
    """Who reads on without a connection a place that another reads meanwhile is told so, and both readings stand."""
    address, places = f"http://{bench.host}/tests/{TEST}/measure", words_at(state_of(bench))
    with (
        browsing() as browser,
        at_the_bench(browser, address, "E", places) as alone,
        at_the_bench(browser, address, "M", places) as other,
    ):
        alone.page.context.set_offline(True)
        alone.says("waiting").to_contain_text("no connection")
        alone.reads()
        alone.reads("43.99")
        place = alone.typed[-1][0]
        words = next(words for words, one in places.items() if one["id"] == place)
        other.part("tray").locator(f'[data-ball-number="{words[5:7]}"]').click()
        other.says("where").to_have_text(words)
        other.reads()
        other.all_sent()
        alone.page.context.set_offline(False)
        alone.says("aloud").to_have_text("M read this place too; both readings are kept.")
        alone.all_sent()
    both = [one for one in state_of(bench)["readings"] if one["place"] == place]
    assert [(one["by"], one["text"], one["repeat"], one["standing"]) for one in both] == [
        ("M", dict(other.typed)[place], 1, "kept"), ("E", "43.99", 2, "kept"),
    ]  # fmt: skip
