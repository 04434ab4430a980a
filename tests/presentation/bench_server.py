"""A little server for the pages: made-up pages, the files they load, and answers to what their scripts post."""

from __future__ import annotations

import json
import queue
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from ballbench.presentation.screens.static_files import static_file

__all__ = ["POLICY", "Bench", "serving"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "font-src 'none'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


@dataclass
class Bench:
    """What is served, and what was posted.

    Parameters
    ----------
    pages : dict
        HTML by path, such as ``"/judge"``.
    answer : callable
        Takes path and body of a post, gives status and reply; status 0 cuts the line without an answer.
    posted : list of (str, object)
        Every post in order.
    changes : queue
        What the live stream of a test says next.
    """

    pages: dict[str, str]
    answer: Callable[[str, Any], tuple[int, Any]] = lambda path, body: (200, {"id": 7})  # noqa: ARG005 - never the same
    posted: list[tuple[str, Any]] = field(default_factory=list)
    changes: queue.Queue[str | None] = field(default_factory=queue.Queue)
    address: str = ""


def _handler(bench: Bench) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            """Say nothing."""

        def do_GET(self) -> None:
            path = self.path.split("?", 1)[0]
            if path.endswith("/live"):
                return self._stream()
            found = static_file(path.removeprefix("/static/")) if path.startswith("/static/") else None
            if found is not None:
                return self._send(200, found.media_type, found.content)
            text = bench.pages.get(path)
            return self._send(200 if text else 404, "text/html; charset=utf-8", (text or "nothing").encode())

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            is_json = self.headers["Content-Type"] == "application/json"
            typed = json.loads(body) if is_json else body
            bench.posted.append((self.path, typed))
            status, reply = bench.answer(self.path, typed)
            if status == 0:
                self.close_connection = True
                return
            self._send(status, "application/json", json.dumps(reply).encode())

        def _stream(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/event-stream")
            self.end_headers()
            for data in iter(bench.changes.get, None):
                self.wfile.write(f"event: change\ndata: {data}\n\n".encode())
                self.wfile.flush()

        def _send(self, status: int, media_type: str, content: bytes) -> None:
            self.send_response(status)
            self.send_header("Content-Type", media_type)
            self.send_header("Content-Security-Policy", POLICY)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

    return Handler


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, *_: object) -> None:
        """A browser that closes a page hangs up; the tests look at what it was sent, not at that."""


@contextmanager
def serving(bench: Bench) -> Iterator[Bench]:
    """Serve until the block ends; `bench.address` says where."""
    server = _Server(("127.0.0.1", 0), _handler(bench))
    bench.address = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield bench
    finally:
        bench.changes.put(None)
        server.shutdown()
        server.server_close()
        thread.join()
