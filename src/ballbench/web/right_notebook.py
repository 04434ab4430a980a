"""Readings that waited in a browser are for one notebook; another one on the same address does not take them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from anyio import to_thread
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from ballbench.errors import Fault
from ballbench.web.problems import Problem, answer

__all__ = ["HEADER", "RightNotebook"]

HEADER = "Ballbench-Notebook"
"""Header by which a sender says which notebook an act is for; without it, it is for the one that answers."""


class RightNotebook:
    """ASGI middleware that refuses what is meant for another notebook.

    Parameters
    ----------
    app : ASGI application
        What is inside.
    name : callable
        Gives the name of the notebook that is open; asked when a sender first names one.
    """

    def __init__(self, app: ASGIApp, name: Callable[[], str]) -> None:
        self._app = app
        self._name = cache(name)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or say that it belongs elsewhere."""
        meant = Headers(scope=scope).get(HEADER) if scope["type"] == "http" else None
        if meant is None or meant == await to_thread.run_sync(self._name):
            await self._app(scope, receive, send)
            return
        allowed = "acts for the notebook that is open here"
        fault = Fault("notebook", "an act for another notebook", allowed, "open that notebook to send it")
        await answer(Problem(409, (fault,)), scope["path"])(scope, receive, send)
