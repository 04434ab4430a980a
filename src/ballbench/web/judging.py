"""Work that takes a processor for long, a few at a time, so that entering readings never waits behind it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from anyio import CapacityLimiter, to_thread

__all__ = ["Judging"]

_AT_ONCE = 2
"""Each uses all processors already; a second one lets a quick result pass a long one (own choice)."""

_Result = TypeVar("_Result")


class Judging:
    """A turn for each judgement or comparison; the others wait without holding a thread."""

    def __init__(self) -> None:
        self._turns = CapacityLimiter(_AT_ONCE)

    async def do(self, work: Callable[[], _Result]) -> _Result:
        """Run something in a thread when its turn comes."""
        return await to_thread.run_sync(work, limiter=self._turns)
