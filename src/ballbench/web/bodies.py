"""What a request may bring: how much, how slowly, and of which kind."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import Request
from fastapi.routing import APIRoute
from starlette.datastructures import Headers
from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ballbench.errors import Fault
from ballbench.web.problems import Problem, Refused, answer
from ballbench.web.sender_clock import sender_clock
from ballbench.web.settings import Settings
from ballbench.web.strict_json import StrictJson

__all__ = ["Bodies", "JsonRoute", "UploadRoute"]

_Handler = Callable[[Request], Coroutine[Any, Any, Response]]

_MIB = 1024 * 1024
_FILES = "multipart/form-data"


class Bodies:
    """ASGI middleware that counts the body of a request while it comes.

    Parameters
    ----------
    app : ASGI application
        What is inside.
    settings : Settings
        Bounds.
    """

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self._app = app
        self._settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, and end it when its body is too large, does not come on, or breaks off."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        files = _kind(headers) == _FILES
        limit = self._settings.upload_bytes if files else self._settings.json_bytes
        declared = headers.get("content-length", "0")
        if not declared.isdecimal() or int(declared[:20]) > limit:
            await answer(_too_large(limit), scope["path"])(scope, receive, send)
            return
        body = _Body(receive, send, limit, self._settings.patience_s, by_part=files)
        try:
            await self._app(scope, body.receive, body.send)
        except ClientDisconnect:
            if not body.broken_off:
                raise
        if body.problem is not None:
            await answer(body.problem, scope["path"])(scope, receive, send)


class _Body:
    """One request's body. What goes wrong with it is remembered, and the answer of the application is then dropped."""

    def __init__(self, receive: Receive, send: Send, limit: int, patience_s: float, *, by_part: bool) -> None:
        self._receive = receive
        self._send = send
        self._limit = limit
        self._patience_s = patience_s
        self._by_part = by_part  # files may take long as long as they come on; anything else must be there soon
        self._until = asyncio.get_running_loop().time() + patience_s
        self._had = 0
        self._more = True
        self._answering = False
        self.problem: Problem | None = None
        self.broken_off = False

    async def receive(self) -> Message:
        """Give the next part; once the body is there, whatever comes, such as that the reader left."""
        if not self._more:
            return await self._receive()
        if self._by_part:
            self._until = asyncio.get_running_loop().time() + self._patience_s
        try:
            async with asyncio.timeout_at(self._until):
                message = await self._receive()
        except TimeoutError:
            return self._stop(_too_slow())
        if message["type"] == "http.disconnect":
            self.broken_off = True
            return message
        self._had += len(message.get("body", b""))
        self._more = message.get("more_body", False)
        return self._stop(_too_large(self._limit)) if self._had > self._limit else message

    async def send(self, message: Message) -> None:
        """Pass the answer on, unless the body went wrong before it began."""
        if self.problem is None or self._answering:
            self._answering = True
            await self._send(message)

    def _stop(self, problem: Problem) -> Message:
        if not self._answering:
            self.problem = problem
        self.broken_off = True
        return {"type": "http.disconnect"}


class JsonRoute(APIRoute):
    """A route whose requests bring JSON."""

    def get_route_handler(self) -> _Handler:
        """Refuse another kind before anything of it is read, and JSON that goes beyond the interface."""
        handler = super().get_route_handler()

        async def handle(request: Request) -> Response:
            return await handler(StrictJson(request.scope, request.receive))

        return _only(handle, "application/json")


class UploadRoute(APIRoute):
    """A route whose requests bring files."""

    def get_route_handler(self) -> _Handler:
        """Refuse another kind before anything of it is read."""
        return _only(super().get_route_handler(), _FILES)


def _only(handler: _Handler, kind: str) -> _Handler:
    async def handle(request: Request) -> Response:
        found = _kind(request.headers)
        if request.method == "POST" and found != kind:
            fault = Fault("header Content-Type", ascii(found[:80]) if found else "nothing", kind, f"send it as {kind}")
            raise Refused(415, fault)
        with sender_clock(request.headers):
            return await handler(request)

    return handle


def _kind(headers: Headers) -> str:
    return headers.get("content-type", "").partition(";")[0].strip().lower()


def _too_large(limit: int) -> Problem:
    fault = Fault("body", f"more than {limit / _MIB:g} MiB", f"at most {limit / _MIB:g} MiB", "send less at once")
    return Problem(413, (fault,), headers={"Connection": "close"})


def _too_slow() -> Problem:
    fault = Fault("body", "a part that did not come", "a body that comes on", "send it again over a better connection")
    return Problem(408, (fault,), headers={"Connection": "close"})
