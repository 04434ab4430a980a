"""Servers with real sockets, and requests that say exactly what they are told to say."""

from __future__ import annotations

import http.client
import itertools
import json
import socket
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from typing import Any, Self

from fastapi import APIRouter, FastAPI, Request, UploadFile
from starlette.responses import HTMLResponse, Response

from ballbench.errors import BadReadings, Conflict, Fault, NotConverged, NotFound
from ballbench.web.addresses import bound
from ballbench.web.api.acts import Act, Number, TestId
from ballbench.web.api.answers import json_answer
from ballbench.web.api.sharing import sharing_router
from ballbench.web.app import make_app
from ballbench.web.bench_server import server_of
from ballbench.web.bodies import JsonRoute, UploadRoute
from ballbench.web.claims import Claims
from ballbench.web.live import Hub
from ballbench.web.pairing import Pairing
from ballbench.web.settings import Settings
from ballbench.web.shell import shell
from ballbench.web.static_files import static_router
from ballbench.workflows.opening import Notebook
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan, SetUp, set_up_test

PATIENCE_S = 120.0
"""A hanging server ends a test with an error after so long; nothing is measured with it."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back; names of headers in lower case."""

    status: int
    headers: dict[str, str]
    body: bytes

    def json(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


@dataclass(frozen=True, slots=True)
class Running:
    """A server that takes requests."""

    port: int
    app: FastAPI
    seen: list[Any] = field(default_factory=list)

    @property
    def host(self) -> str:
        """What the Host header of the bench's own pages says."""
        return f"127.0.0.1:{self.port}"

    def ask(
        self, method: str, path: str, headers: dict[str, str] | None = None, body: bytes | None = None,
        peer: str = "127.0.0.1", host: str | None = "own",
    ) -> Answer:  # fmt: skip
        """Send one request from an address of this machine; `host` None leaves the header out."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, PATIENCE_S, source_address=(peer, 0))
        try:
            line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            if host is not None:
                line.putheader("Host", self.host if host == "own" else host)
            for name, value in (headers or {}).items():
                line.putheader(name, value)
            if body is not None and "Content-Length" not in (headers or {}):
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body)
            got = line.getresponse()
            return Answer(got.status, {n.lower(): v for n, v in got.getheaders()}, got.read())
        finally:
            line.close()

    def post(self, path: str, value: object, headers: dict[str, str] | None = None, peer: str = "127.0.0.1") -> Answer:
        """Send JSON as one of the bench's own pages does."""
        own = {"Content-Type": "application/json", "Origin": f"http://{self.host}", "Sec-Fetch-Site": "same-origin"}
        return self.ask("POST", path, {**own, **(headers or {})}, json.dumps(value).encode(), peer)

    def raw(self, text: bytes, *, hang_up: bool = False) -> bytes:
        """Send bytes as they are, and give all that comes back until the server closes."""
        with socket.create_connection(("127.0.0.1", self.port), PATIENCE_S) as line:
            line.sendall(text)
            if hang_up:
                return b""
            parts = iter(lambda: line.recv(65536), b"")
            return b"".join(parts)


@contextmanager
def running(make: Callable[[int], FastAPI]) -> Iterator[Running]:
    """Serve an application on a free port until the end of the block."""
    (listener,) = bound(["127.0.0.1"], 0)
    port = listener.getsockname()[1]
    app, started = make(port), threading.Event()
    server = server_of(app, started.set)
    thread = threading.Thread(target=server.run, args=([listener],))
    thread.start()
    try:
        assert started.wait(PATIENCE_S)
        yield Running(port, app)
    finally:
        server.should_exit = True
        thread.join(PATIENCE_S)
        assert not thread.is_alive(), "the server does not end"


def settings_for(port: int, **changes: Any) -> Settings:
    """Give the settings of a server on a port; 127.0.0.1 alone is local."""
    own = Settings(frozenset({f"127.0.0.1:{port}"}), frozenset({"127.0.0.1"}), cookie=f"ballbench_{port}")
    return replace(own, **changes)


class Silent:
    """A notebook in which nothing happens."""

    def changes(self, test_id: int, after: int, limit: int = 500) -> tuple[Any, ...]:  # noqa: ARG002 - nothing happens
        """Nothing."""
        return ()

    def on_change(self, listener: Callable[[int, int], None]) -> None:
        """Nobody is ever called."""


class Probe(Act):
    """A body with a field of its own."""

    text: str
    count: Number = 1


FAULT = Fault("box.csv, line 7", "'4O.12'", "a number such as 40.12", "write digits only")
RAISED = {
    "readings": BadReadings(FAULT), "missing": NotFound(FAULT), "conflict": Conflict(FAULT),
    "not-converged": NotConverged("the mean", 0.2, 0.1), "ours": RuntimeError("the secret of the server"),
    "many": BadReadings([FAULT] * 60, 5),
}  # fmt: skip


def probes(seen: list[Any]) -> list[APIRouter]:
    """Give routes that note what reached them, and routes that raise."""
    pages, json_only, uploads = APIRouter(), APIRouter(route_class=JsonRoute), APIRouter(route_class=UploadRoute)

    @pages.get("/")
    def first() -> Response:
        return HTMLResponse("<h1>The bench</h1>")

    @pages.get("/tests/{t}")
    def test_page(t: TestId) -> Response:
        return HTMLResponse(f"<h1>Test {t}</h1>")

    @json_only.get("/api/probe")
    def read(request: Request) -> Response:
        return json_answer({"local": request.state.local, "device": request.state.device})

    @json_only.post("/api/probe")
    def write(body: Probe) -> Response:
        seen.append(body)
        return json_answer({"text": body.text})

    @uploads.post("/api/files")
    def upload(file: UploadFile) -> Response:
        seen.append(file.filename)
        return json_answer({"bytes": file.size})

    @json_only.get("/api/raise/{what}")
    @pages.get("/raise/{what}")
    def fail(what: str) -> Response:
        raise RAISED[what]

    return [pages, json_only, uploads]


@contextmanager
def probe_server(**changes: Any) -> Iterator[Running]:
    """Serve the probes behind the same door as the bench."""
    seen: list[Any] = []

    def make(port: int) -> FastAPI:
        settings = settings_for(port, **changes)
        pairing = Pairing()
        app = shell(
            settings, pairing, [*probes(seen), sharing_router(pairing, settings), static_router()], lambda: "probes"
        )
        app.state.hub, app.state.pairing = Hub(Silent(), Claims(), settings), pairing
        return app

    with running(make) as server:
        yield replace(server, seen=seen)


_SECONDS = itertools.count()


def act(**more: Any) -> dict[str, Any]:
    """Give the fields that every act has, as the pages send them; each act is some seconds after the one before."""
    at = datetime(2026, 11, 21, 10, tzinfo=timezone(timedelta(hours=1))) + timedelta(seconds=7 * next(_SECONDS))
    return {
        "key": str(uuid.uuid4()), "client": "7d2f6a4c-1b0d-4e5f-8a9b-0c1d2e3f4a5b", "by": "E",
        "at": at.isoformat(), **more,
    }  # fmt: skip


@contextmanager
def bench_server(notebook: Notebook, **changes: Any) -> Iterator[Running]:
    """Serve a notebook as `ballbench open` does."""
    with running(lambda port: make_app(notebook, settings_for(port, **changes))) as server:
        yield server


def new_test(notebook: Notebook, *, balls: int = 3, blind: bool = False) -> int:
    """Set up a test of invented golf balls of two makes, diameter at two axes and mass, and give its number."""
    makes = tuple(MakePlan(make, (BoxPlan(f"{make[0]}-1", balls),)) for make in ("Curlew", "Dunlin"))
    quantities = (QuantityPlan("diameter", ("seam", "across"), 1, "caliper"), QuantityPlan("mass", (), 1, "scale"))
    instruments = (InstrumentPlan("caliper", "diameter", "mm", 0.01), InstrumentPlan("scale", "mass", "g", 0.01))
    sent = act()
    request = SetUp(
        str(uuid.uuid4()), sent["client"], sent["by"], sent["at"], "golf", makes, quantities, instruments,
        title="Winter league (invented)", blind=blind, invented=True, seed=1,
    )  # fmt: skip
    return set_up_test(notebook, request).id


class Stream:
    """An event stream, read as a browser reads it (HTML standard, 9.2.6)."""

    def __init__(
        self, server: Running, test: int, *, after: int | None = None, last: int | None = None,
        headers: dict[str, str] | None = None, peer: str = "127.0.0.1",
    ) -> None:  # fmt: skip
        self._line = http.client.HTTPConnection("127.0.0.1", server.port, PATIENCE_S, source_address=(peer, 0))
        asked = f"/api/tests/{test}/live" + ("" if after is None else f"?after={after}")
        again = {} if last is None else {"Last-Event-ID": str(last)}
        self._line.request("GET", asked, headers={**(headers or {}), **again})
        self.answer = self._line.getresponse()
        self.last = last

    def events(self) -> Iterator[tuple[str, Any]]:
        """Give events with their data, comments as ``comment``, until the server ends the stream."""
        name, data = "message", ""
        while line := self.answer.readline().decode():
            field, _, value = line.rstrip("\n").partition(": ")
            if line == "\n" and data:
                yield name, json.loads(data)
                name, data = "message", ""
            elif line.startswith(":"):
                yield "comment", line[1:].strip()
            elif field == "event":
                name = value
            elif field == "data":
                data = value
            elif field == "id":
                self.last = int(value)

    def changes(self, count: int) -> list[dict[str, Any]]:
        """Give the next so many changes."""
        found = (data for name, data in self.events() if name == "change")
        return list(itertools.islice(found, count))

    def __enter__(self) -> Self:
        """The stream itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Hang up."""
        self.answer.close()
        self._line.close()
