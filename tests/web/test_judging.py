from __future__ import annotations

import asyncio
import threading

import pytest

from ballbench.errors import BadRequest, Fault
from ballbench.web.judging import Judging


def test_one_result_asked_for_by_many_is_worked_out_once() -> None:
    """Eight that ask while it is under way, and one later, get the result of one run; another key has its own."""
    runs: list[int] = []
    begun, go_on = threading.Event(), threading.Event()

    def work() -> int:
        runs.append(1)
        begun.set()
        go_on.wait(10)
        return len(runs)

    async def ask() -> list[int]:
        judging = Judging()
        eight = [asyncio.ensure_future(judging.once("same", work)) for _ in range(8)]
        await asyncio.to_thread(begun.wait, 10)
        assert await judging.quick(lambda: 7) == 7  # a quick check passes what is under way
        go_on.set()
        return [*await asyncio.gather(*eight), await judging.once("same", work), await judging.once("other", work)]

    assert asyncio.run(ask()) == [1] * 9 + [2]


def test_what_could_not_be_judged_is_tried_again() -> None:
    """A fault goes to everybody who asked, and is not kept."""
    runs: list[int] = []

    def work() -> None:
        runs.append(1)
        raise BadRequest(Fault("test", "no reading", "a test with readings", "measure first"))

    async def ask() -> None:
        judging = Judging()
        for _ in range(2):
            with pytest.raises(BadRequest):
                await judging.once("same", work)

    asyncio.run(ask())
    assert len(runs) == 2
