"""Recordings are decoded and worked out in processes of their own, a few at a time, each for a limited time.

A file that somebody sends may be damaged, endless, or made to harm: what reads it can be ended without the bench.
"""

from __future__ import annotations

import asyncio
import weakref
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from anyio import CapacityLimiter, to_thread

from ballbench.errors import BadRecording, Fault
from ballbench.web.problems import Refused
from ballbench.web.reader_process import Ended, ReaderProcess, TooLong

__all__ = ["Decoding"]

_AT_ONCE = 2
"""Each uses a processor; a second one lets a sound pass a film (own choice)."""
_WAITING = 12
"""More than that at once are refused; each holds a file on the disk meanwhile (own choice)."""
_KEPT = 16
"""Results that are kept, the ones asked for last (own choice)."""
_PATIENCE_S = 90.0
"""Longest work on one recording (own choice): a minute of film takes less than half of it."""

_Result = TypeVar("_Result")


class Decoding:
    """A turn for each recording; processes are started when they are needed, and used again.

    Parameters
    ----------
    patience_s : float
        Work that takes longer is ended.
    """

    def __init__(self, patience_s: float = _PATIENCE_S) -> None:
        self._turns = CapacityLimiter(_AT_ONCE)
        self._patience_s = patience_s
        self._kept: OrderedDict[Hashable, asyncio.Future[Any]] = OrderedDict()
        self._under_way = 0
        self._idle: list[ReaderProcess] = []
        self._end = weakref.finalize(self, _end_all, self._idle)

    def close(self) -> None:
        """End the processes that have nothing to do."""
        self._end()

    async def once(self, key: Hashable, work: Callable[..., _Result], *given: Any) -> _Result:
        """Work something out when its turn comes, wait for the same where it is under way, or give it from before.

        Parameters
        ----------
        key : hashable
            Everything that the result depends on.
        work : callable
            Of a module, not made on the way: a process knows it by its name.
        given : object
            Its arguments.

        Raises
        ------
        BadInput
            What `work` raises, which is not kept; `BadRecording` where it takes too long, or ends its process.
        Refused
            Too many are waiting.
        """
        if key not in self._kept:
            if self._under_way >= _WAITING:
                raise Refused(429, _too_many(), {"Retry-After": "10"})
            self._under_way += 1
            self._kept[key] = asyncio.ensure_future(self._run(work, given))
        self._kept.move_to_end(key)
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        task: asyncio.Future[_Result] = self._kept[key]
        try:
            return await asyncio.shield(task)
        finally:
            if task.done() and (task.cancelled() or task.exception() is not None) and self._kept.get(key) is task:
                del self._kept[key]

    async def _run(self, work: Callable[..., _Result], given: tuple[Any, ...]) -> _Result:
        try:
            return await to_thread.run_sync(self._asked, work, given, limiter=self._turns)
        except TooLong as error:
            found, allowed = f"more work than {self._patience_s:g} s", f"a recording that takes {self._patience_s:g} s"
            raise BadRecording(Fault("recording", found, allowed, "cut out the part with the ball")) from error
        except Ended as error:
            found, allowed = "a file on which its reader breaks off", "a recording that can be read"
            todo = "record it again, or save it in another format"
            raise BadRecording(Fault("recording", found, allowed, todo)) from error
        finally:
            self._under_way -= 1

    def _asked(self, work: Callable[..., _Result], given: tuple[Any, ...]) -> _Result:
        """Ask a process that lives; in a thread, of which there are as many as turns."""
        while self._idle:
            reader = self._idle.pop()
            if not reader.lives:
                reader.end()
                continue
            try:
                return self._asked_of(reader, work, given)
            except Ended:  # it may just have ended for want of work: a fresh one tells whether it was that
                break
        return self._asked_of(ReaderProcess(), work, given)

    def _asked_of(self, reader: ReaderProcess, work: Callable[..., _Result], given: tuple[Any, ...]) -> _Result:
        try:
            return reader.ask(work, given, self._patience_s)
        finally:
            if reader.lives and self._end.alive:
                self._idle.append(reader)
            else:
                reader.end()


def _end_all(readers: list[ReaderProcess]) -> None:
    while readers:
        readers.pop().end()


def _too_many() -> Fault:
    allowed = f"{_WAITING} recordings at once"
    return Fault("recording", "too many that wait to be read", allowed, "send it again in a moment")
