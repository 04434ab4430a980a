from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from servers import Running, act, bench_server, new_test

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.web.planning import Planning
from ballbench.web.problems import MEDIA_TYPE
from ballbench.workflows.opening import open_notebook

PLAN: dict[str, Any] = {
    "requirement": "golf", "quantity": "mass", "true_mean": "45.5", "true_sd": "0.1", "balls": [2, 3], "axes": [1],
    "tests": 20, "instrument": {"name": "scale", "quantity": "mass", "unit": "g", "resolution": 0.01, "sd": 0.02},
}  # fmt: skip


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A bench with a blind test and one plan."""
    folder: Path = tmp_path_factory.mktemp("notebook")
    notebook = open_notebook(folder)
    assert new_test(notebook, blind=True) == 1
    with bench_server(notebook) as running:
        assert running.post("/api/plans", act(**PLAN)).json()["plan"] == 1
        yield running
    notebook.close()


def test_plans_are_worked_out_one_at_a_time_and_say_how_far_they_are() -> None:
    """Two that ask for the same get one result; another waits its turn; what is asked for meanwhile is answered."""
    begun, go_on, at_once, most = threading.Event(), threading.Event(), [0], [0]

    def work(tell: Any) -> str:
        at_once[0] += 1
        most[0] = max(most[0], at_once[0])
        tell("designs", 1, 3)
        begun.set()
        assert go_on.wait(10)
        at_once[0] -= 1
        return "planned"

    async def ask() -> None:
        planning = Planning(lambda: False)
        asked = [asyncio.ensure_future(planning.once(key, work)) for key in ("first", "first", "second")]
        await asyncio.to_thread(begun.wait, 10)
        first, second = planning.under_way
        assert (first.key, first.waiting, first.what, first.done, first.total) == ("first", False, "designs", 1, 3)
        assert (second.key, second.waiting) == ("second", True)
        go_on.set()
        assert await asyncio.gather(*asked) == ["planned"] * 3
        assert planning.under_way == ()

    asyncio.run(ask())
    assert most == [1]


def test_a_plan_ends_with_the_server_and_goes_on_without_whoever_asked() -> None:
    """Who leaves is not waited for, and the work goes on; a server that is about to end stops it, with words."""
    ended, done = [False], threading.Event()

    def work(tell: Any) -> None:
        while not done.wait(0.01):
            tell("designs", 0, 1)

    async def ask() -> None:
        planning = Planning(lambda: ended[0])
        leaving = asyncio.ensure_future(planning.once("left", work))
        await asyncio.sleep(0.05)
        leaving.cancel()
        with pytest.raises(asyncio.CancelledError):
            await leaving
        assert [one.key for one in planning.under_way] == ["left"]
        again = asyncio.ensure_future(planning.once("left", work))
        await asyncio.sleep(0)
        ended[0] = True
        with pytest.raises(Conflict):
            await again

    asyncio.run(ask())


def test_what_went_wrong_is_not_kept() -> None:
    """The same may be asked again after a fault."""

    def work(_: Any) -> None:
        raise BadRequest(Fault("plan", "nothing", "something", "ask again"))

    async def ask() -> None:
        planning = Planning(lambda: False)
        for _ in range(2):
            with pytest.raises(BadRequest):
                await planning.once("same", work)
            assert planning.under_way == ()

    asyncio.run(ask())


@pytest.mark.parametrize(
    "path", ["/plan", "/plan?requirement=golf", "/plans/1", "/tests/new?requirement=golf&plan=1", "/"]
)
def test_the_pages_of_plans_are_there(server: Running, path: str) -> None:
    """Each is a page with a heading."""
    answer = server.ask("GET", path)
    assert (answer.status, b"<h1>" in answer.body) == (200, True)


@pytest.mark.parametrize(
    ("path", "status"),
    [("/api/plans/2", 404), ("/plans/2", 404), ("/plans/none", 404), ("/api/plans/none", 404),
     ("/plan?requirement=none", 422), ("/tests/new?requirement=golf&plan=2", 404),
     ("/tests/new?requirement=golf&plan=none", 422)],
)  # fmt: skip
def test_what_is_not_there_is_a_problem(server: Running, path: str, status: int) -> None:
    """404 or 422 in the one shape, as JSON or as a page."""
    answer = server.ask("GET", path)
    kind = MEDIA_TYPE if path.startswith("/api/") else "text/html; charset=utf-8"
    assert (answer.status, answer.headers["content-type"]) == (status, kind)


@pytest.mark.parametrize(
    ("changes", "status", "where"),
    [
        ({"true_sd": "0.1 kg m"}, 422, "option --true-sd"), ({"qualification": 9, "instrument": None}, 404, "notebook"),
        ({"balls": []}, 422, "option --balls"), ({"tests": 1}, 422, "option --tests"), ({"by": ""}, 422, "by"),
        ({"requirement": "none"}, 422, None), ({"instrument": {**PLAN["instrument"], "sd": -1.0}}, 422, None),
        ({"instrument": {**PLAN["instrument"], "quantity": "diameter", "unit": "mm"}}, 422, "instrument, quantity"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_a_problem(
    server: Running, changes: dict[str, Any], status: int, where: str | None
) -> None:
    """Each names its field; no plan is kept."""
    answer = server.post("/api/plans", act(**{**PLAN, **changes}))
    assert (answer.status, answer.headers["content-type"]) == (status, MEDIA_TYPE), answer.body
    assert where in (None, answer.json()["faults"][0]["where"])
    assert len(server.ask("GET", "/api/plans").json()["plans"]) == 1


def test_the_same_plan_sent_again_is_the_same_plan(server: Running) -> None:
    """The same key gets the same answer; with another request it is refused."""
    sent = act(**{**PLAN, "seed": 5, "balls": [2]})
    first = server.post("/api/plans", sent)
    assert (first.status, server.post("/api/plans", sent).body) == (201, first.body)
    assert server.post("/api/plans", {**sent, "seed": 6}).status == 409


@pytest.mark.parametrize(
    ("path", "status"),
    [("/qualify", 200), ("/qualify/new", 200), ("/qualify/new?requirement=golf", 200), ("/tests/1/qualify", 200),
     ("/tests/9/qualify", 404), ("/qualify/new?requirement=none", 422), ("/api/tests/1/qualification", 409),
     ("/api/tests/9/qualification", 404)],
)  # fmt: skip
def test_the_pages_of_instruments_are_there(server: Running, path: str, status: int) -> None:
    """A blind test under way gives no result: its page says so, and the interface answers 409."""
    answer = server.ask("GET", path)
    assert answer.status == status
    if path == "/tests/1/qualify":
        assert b"Hidden until" in answer.body


def test_nothing_is_kept_of_a_blind_test_that_goes_on(server: Running) -> None:
    """409 for the act too, and no instrument is qualified."""
    assert server.post("/api/tests/1/qualification", act()).status == 409
    assert server.post("/api/tests/9/qualification", act()).status == 404
    assert server.ask("GET", "/api/instruments").json()["qualified"] == []
