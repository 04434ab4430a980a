"""The server itself: it says when it takes requests, and ends like any program when it is told to."""

from __future__ import annotations

import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import uvicorn
from fastapi import FastAPI

from ballbench.web.live import Hub

__all__ = ["BenchServer", "server_of"]

_PATIENCE_S = 20
"""An answer that is under way when the server ends may take so long (own choice)."""


class BenchServer(uvicorn.Server):
    """A server whose open streams end when it does, and that ends like any program when it is told to.

    Parameters
    ----------
    config : uvicorn.Config
        With the application.
    hub : Hub
        Its streams.
    ready : callable
        Called when requests are taken.
    """

    def __init__(self, config: uvicorn.Config, hub: Hub, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._hub = hub
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, and say so."""
        await super().startup(sockets)
        if self.started:
            self._ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End all streams, then everything else."""
        self._hub.close()
        await super().shutdown(sockets)

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Take SIGINT and SIGTERM as the wish to end; a second SIGINT does not wait for answers under way."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {number: signal.signal(number, self.handle_exit) for number in (signal.SIGINT, signal.SIGTERM)}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


def server_of(app: FastAPI, ready: Callable[[], None]) -> BenchServer:
    """Make a server that is still to be run, on sockets that are bound.

    Parameters
    ----------
    app : FastAPI
        With the streams as ``state.hub``.
    ready : callable
        Called when requests are taken.
    """
    config = uvicorn.Config(
        app, loop="asyncio", http="h11", ws="none", lifespan="off", interface="asgi3", log_config=None,
        log_level="error", access_log=False, proxy_headers=False, server_header=False,
        timeout_graceful_shutdown=_PATIENCE_S,
    )  # fmt: skip
    return BenchServer(config, app.state.hub, ready)
