"""Changes of a test as they happen, as server-sent events (HTML standard, section 9.2).

The notebook is the only source: a stream reads there what came after the revision that it has told last, when a bell
rings or a few seconds have passed. So nothing is missed over a broken connection, and what another server process
wrote to the same notebook is told too.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections import Counter
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, Protocol

from anyio import CapacityLimiter, to_thread
from starlette.responses import StreamingResponse
from starlette.types import Receive, Scope, Send

from ballbench.errors import BadInput, Fault
from ballbench.web.claims import Claim, Claims
from ballbench.web.problems import Problem, answer
from ballbench.web.settings import Settings

__all__ = ["Hub", "LiveAnswer"]

BATCH = 500
READERS = 4
"""Threads that read for streams: entering readings never waits behind them (own choice)."""
RETRY_MS = 2000
"""A browser whose stream ended comes back after so long (own choice)."""


class _Change(Protocol):
    """What happened, as the notebook gives it."""

    @property
    def revision(self) -> int: ...
    @property
    def kind(self) -> str: ...
    @property
    def client(self) -> str: ...
    @property
    def reply(self) -> Mapping[str, Any]: ...


class _Source(Protocol):
    """The part of a notebook that streams need."""

    def changes(self, test_id: int, after: int, limit: int = ...) -> tuple[_Change, ...]: ...
    def on_change(self, listener: Callable[[int, int], None]) -> None: ...


class Hub:
    """All open streams of a server.

    Parameters
    ----------
    source : Notebook
        What is read.
    claims : Claims
        Who is at which place.
    settings : Settings
        Heartbeat, and how many streams.
    """

    def __init__(self, source: _Source, claims: Claims, settings: Settings) -> None:
        self._source = source
        self._claims = claims
        self._settings = settings
        self._loop: asyncio.AbstractEventLoop | None = None
        self._bells: dict[int, asyncio.Event] = {}
        self._open: Counter[str] = Counter()
        self._readers = CapacityLimiter(READERS)
        self._closed = False
        source.on_change(self.ring)

    def ring(self, test: int, _revision: int = 0) -> None:
        """Wake the streams of a test; from any thread."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the loop ended meanwhile, and its streams with it
                self._loop.call_soon_threadsafe(self._ring, test)

    @property
    def closed(self) -> bool:
        """Whether the server is about to end."""
        return self._closed

    def close(self) -> None:
        """End all streams; on the loop's own thread."""
        self._closed = True
        for test in list(self._bells):
            self._ring(test)

    @contextmanager
    def place_for(self, peer: str) -> Iterator[bool]:
        """Count a stream of an address in; False: there are too many."""
        full = self._open[peer] >= self._settings.streams_each or self._open.total() >= self._settings.streams_in_all
        if full or self._closed:
            yield False
            return
        self._open[peer] += 1
        try:
            yield True
        finally:
            self._open[peer] -= 1
            self._open += Counter()  # forget addresses without streams

    async def stream(self, test: int, after: int, welcome: Callable[[], bool]) -> AsyncIterator[str]:
        """Give the events of a test after a revision, without end.

        Parameters
        ----------
        test : int
            In the notebook.
        after : int
            The last revision already told.
        welcome : callable
            Whether the reader may still read on.
        """
        self._loop = asyncio.get_running_loop()
        told: dict[str, Any] | None = None
        spoke = self._loop.time()
        yield f"retry: {RETRY_MS}\n\n"
        while not self._closed and welcome():
            bell = self._bells.setdefault(test, asyncio.Event())  # before reading: what comes meanwhile rings it
            try:
                changes = await to_thread.run_sync(self._source.changes, test, after, BATCH, limiter=self._readers)
            except BadInput:
                return  # the notebook does not answer: the browser asks again from the revision it has
            after = changes[-1].revision if changes else after
            text = "".join(_change_event(change) for change in changes)
            held = _held(self._claims.held(test))
            if held != told:
                told = held
                text += _event("claims", {"held": held})
            now = self._loop.time()
            if not text and now - spoke >= self._settings.heartbeat_s:
                text = ": still here\n\n"
            if text:
                spoke = now
                yield text
            if len(changes) < BATCH:
                with contextlib.suppress(TimeoutError):
                    await asyncio.wait_for(bell.wait(), self._settings.poll_s)

    def _ring(self, test: int) -> None:
        bell = self._bells.pop(test, None)
        if bell is not None:
            bell.set()


class LiveAnswer(StreamingResponse):
    """An event stream that counts among its address's streams.

    Parameters
    ----------
    hub : Hub
        Of the server.
    content : async iterator of str
        The events.
    peer : str
        The reader's address.
    """

    media_type = "text/event-stream"

    def __init__(self, hub: Hub, content: AsyncIterator[str], peer: str) -> None:
        super().__init__(content)
        self._hub = hub
        self._peer = peer

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Stream until the reader leaves or the server ends, or say that there are too many."""
        with self._hub.place_for(self._peer) as granted:
            if granted:
                await super().__call__(scope, receive, send)
            else:
                await answer(_too_many(), scope["path"])(scope, receive, send)


def _too_many() -> Problem:
    fault = Fault("live", "too many open streams from this address", "a few pages of the bench at once",
                  "close pages of the bench that are not needed, and load this one again")  # fmt: skip
    return Problem(429, (fault,), headers={"Retry-After": "5"})


def _held(claims: tuple[Claim, ...]) -> dict[str, Any]:
    return {str(claim.place): {"client": claim.client, "by": claim.by} for claim in claims}


def _change_event(change: _Change) -> str:
    data = {"revision": change.revision, "kind": change.kind, "client": change.client, "reply": change.reply}
    return f"id: {change.revision}\n{_event('change', data)}"


def _event(name: str, data: Mapping[str, Any]) -> str:
    return f"event: {name}\ndata: {json.dumps(data, ensure_ascii=False)}\n\n"
