"""Readings that waited in a browser are for one notebook; another one on the same address does not take them."""

from __future__ import annotations

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
    name : str
        Of the notebook that is open.
    """

    def __init__(self, app: ASGIApp, name: str) -> None:
        self._app = app
        self._name = name

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or say that it belongs elsewhere."""
        meant = Headers(scope=scope).get(HEADER, self._name) if scope["type"] == "http" else self._name
        if meant == self._name:
            await self._app(scope, receive, send)
            return
        allowed = "acts for the notebook that is open here"
        fault = Fault("notebook", "an act for another notebook", allowed, "open that notebook to send it")
        await answer(Problem(409, (fault,)), scope["path"])(scope, receive, send)
