"""Work that takes a processor for long, a few at a time, so that entering readings never waits behind it."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from anyio import CapacityLimiter, to_thread

__all__ = ["Judging"]

_AT_ONCE = 2
"""Each uses all processors already; a second one lets a quick result pass a long one (own choice)."""

_KEPT = 32
"""Results that are kept, the ones asked for last (own choice)."""

_Result = TypeVar("_Result")


class Judging:
    """A turn for each judgement or comparison, and one of their own for quick checks; none waits in a thread."""

    def __init__(self) -> None:
        self._turns, self._quick_turn = CapacityLimiter(_AT_ONCE), CapacityLimiter(1)
        self._kept: OrderedDict[Hashable, asyncio.Future[Any]] = OrderedDict()

    async def quick(self, work: Callable[[], _Result]) -> _Result:
        """Run a quick check; an official in a dispute does not wait behind the judgement of a whole test."""
        return await to_thread.run_sync(work, limiter=self._quick_turn)

    async def once(self, key: Hashable, work: Callable[[], _Result]) -> _Result:
        """Run something when its turn comes, wait for the same where it is under way, or give what it gave before.

        Parameters
        ----------
        key : hashable
            Everything that the result depends on, the revision of its test among it.
        work : callable
            Gives the result, the same for the same key; what it raises is not kept.
        """
        if key not in self._kept:
            self._kept[key] = asyncio.ensure_future(to_thread.run_sync(work, limiter=self._turns))
        self._kept.move_to_end(key)
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        task = self._kept[key]
        try:
            return await asyncio.shield(task)
        finally:
            if task.done() and task.exception() is not None and self._kept.get(key) is task:
                del self._kept[key]
