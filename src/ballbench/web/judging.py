"""Work that takes a processor for long, a few at a time, so that entering readings never waits behind it."""

from __future__ import annotations

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
    """A turn for each judgement or comparison; the others wait without holding a thread."""

    def __init__(self) -> None:
        self._turns = CapacityLimiter(_AT_ONCE)
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()

    async def do(self, work: Callable[[], _Result]) -> _Result:
        """Run something in a thread when its turn comes."""
        return await to_thread.run_sync(work, limiter=self._turns)

    async def once(self, key: Hashable, work: Callable[[], _Result]) -> _Result:
        """Run something when its turn comes, or give what it gave before.

        Parameters
        ----------
        key : hashable
            Everything that the result depends on, the revision of its test among it.
        work : callable
            Gives the result, the same for the same key; what it raises is not kept.
        """
        if key not in self._kept:
            result = await self.do(work)
            self._kept[key] = result
        self._kept.move_to_end(key)
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        return self._kept[key]  # type: ignore[no-any-return]
