"""Plans are worked out one at a time, in a thread beside the server, and say how far they are."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from anyio import CapacityLimiter, to_thread

from ballbench.errors import Conflict, Fault

__all__ = ["Planning", "UnderWay"]

Told = Callable[[str, int, int], None]
"""Told what is worked on, how much of it is done, and how much there is."""


@dataclass(slots=True)
class UnderWay:
    """A plan that is worked out: its key, whether it waits for another, and how far it is."""

    key: str
    waiting: bool = True
    what: str = ""
    done: int = 0
    total: int = 0
    work: asyncio.Future[Any] | None = field(default=None, repr=False)


class Planning:
    """The one who plans.

    Parameters
    ----------
    ended : callable
        Whether the server is about to end: the work then ends too, and nothing is kept.
    """

    def __init__(self, ended: Callable[[], bool]) -> None:
        self._turn = CapacityLimiter(1)
        self._ended = ended
        self._under_way: dict[str, UnderWay] = {}

    @property
    def under_way(self) -> tuple[UnderWay, ...]:
        """Plans that are worked out or wait, the first first."""
        return tuple(self._under_way.values())

    async def once(self, key: str, work: Callable[[Told], Any]) -> Any:
        """Work a plan out when its turn comes, or wait for the same where it is under way.

        It goes on when whoever asked goes away: what comes out is kept in the notebook, and given when the same is
        asked for again.

        Parameters
        ----------
        key : str
            Of the submission.
        work : callable
            Gives the reply; is given whom to tell how far it is.
        """
        one = self._under_way.get(key)
        if one is None:
            one = self._under_way[key] = UnderWay(key)
            one.work = asyncio.ensure_future(self._run(one, work))
            one.work.add_done_callback(_looked_at)
        assert one.work is not None  # noqa: S101 - set just after it was made, on the same thread
        return await asyncio.shield(one.work)

    async def _run(self, one: UnderWay, work: Callable[[Told], Any]) -> Any:
        def tell(what: str, done: int, total: int) -> None:
            if self._ended():
                todo = "open the bench and send it again"
                raise Conflict(Fault("plan", "a bench that is about to end", "a bench that stays open", todo))
            one.waiting, one.what, one.done, one.total = False, what, done, total

        def begin() -> Any:
            one.waiting = False
            return work(tell)

        try:
            return await to_thread.run_sync(begin, limiter=self._turn)
        finally:
            del self._under_way[one.key]


def _looked_at(work: asyncio.Future[Any]) -> None:
    """Take note of what went wrong, though whoever asked may have gone away."""
    if not work.cancelled():
        work.exception()
