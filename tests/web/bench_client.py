"""A bench that can be killed at any moment, and people who send to it over real connections and note every answer."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

__all__ = ["Act", "Bench", "Line", "Sender", "benches", "entry_text"]

PATIENCE_S = 120.0
"""A hanging server ends a test with an error after so long; nothing is measured with it."""


@dataclass(slots=True)
class Bench:
    """`ballbench open` in a process that is started, killed and started again.

    Parameters
    ----------
    starter : subprocess.Popen
        `starter.py`.
    notebook : Path
        Folder of the notebook.
    port : int
        Where it listens, the same after each start; 0: not started yet.
    process : int
        Its number while it runs; 0: it does not.
    """

    starter: subprocess.Popen[str]
    notebook: Path
    port: int = 0
    process: int = 0

    def order(self) -> None:
        """Start it, and do not wait until it takes requests."""
        print(json.dumps({"notebook": str(self.notebook), "port": self.port}), file=self.starter.stdin, flush=True)
        self.process = self._heard("started")["started"]

    def ready(self) -> None:
        """Wait until it takes requests, which it says last."""
        said = ""
        while not said.startswith("To end:"):
            said = self._line()
            found = re.search(r"open at http://127\.0\.0\.1:(\d+)", said)
            self.port = int(found[1]) if found else self.port
            assert "ended" not in said, "the bench ended before it took requests"

    def start(self) -> None:
        """Start it, and wait until it takes requests."""
        self.order()
        self.ready()

    def kill(self) -> None:
        """End it by SIGKILL, which no program can prepare for, and wait until it is gone."""
        os.kill(self.process, signal.SIGKILL)
        assert self._heard("ended")["status"] == -signal.SIGKILL
        self.process = 0

    def get(self, path: str) -> Any:
        """Ask for JSON that is there."""
        line = Line(self.port)
        try:
            status, told = line.ask("GET", path)
            assert status == 200, (path, told)
            return told
        finally:
            line.close()

    def post(self, path: str, body: dict[str, Any]) -> Any:
        """Send an act that is taken."""
        line = Line(self.port)
        try:
            status, told = line.ask("POST", path, body)
            assert status < 300, (path, told)
            return told
        finally:
            line.close()

    def _heard(self, what: str) -> dict[str, Any]:
        """Give the next thing that the starter says itself."""
        while True:
            line = self._line()
            if line.startswith("{"):
                told: dict[str, Any] = json.loads(line)
                assert what in told, told
                return told

    def _line(self) -> str:
        assert self.starter.stdout is not None
        line = self.starter.stdout.readline()
        assert line, "the starter ended"
        return line.rstrip("\n")


@contextmanager
def benches() -> Iterator[subprocess.Popen[str]]:
    """Load what a bench needs, once, in a process that starts them until the end of the block."""
    starter = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("starter.py"))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        start_new_session=True,
    )
    try:
        assert starter.stdout is not None
        assert starter.stdout.readline() == '{"loaded": true}\n'
        yield starter
    finally:
        os.killpg(starter.pid, signal.SIGKILL)
        starter.communicate(timeout=PATIENCE_S)


class Line:
    """A connection that stays open from one request to the next, as a browser's does.

    Parameters
    ----------
    port : int
        Of the server on this machine.
    """

    def __init__(self, port: int) -> None:
        self._host = f"127.0.0.1:{port}"
        self._line = http.client.HTTPConnection("127.0.0.1", port, PATIENCE_S)

    def ask(self, method: str, path: str, body: dict[str, Any] | None = None) -> tuple[int, Any]:
        """Send a request, and give status and JSON of its answer.

        Raises
        ------
        OSError, http.client.HTTPException
            The server went away before the whole answer was there.
        """
        own = {"Content-Type": "application/json", "Origin": f"http://{self._host}"}
        self._line.request(method, path, None if body is None else json.dumps(body).encode(), own)
        answer = self._line.getresponse()
        return answer.status, json.loads(answer.read())

    def close(self) -> None:
        """Hang up."""
        self._line.close()


@dataclass(slots=True)
class Act:
    """Something that was sent.

    Parameters
    ----------
    path : str
        Last part of the address, such as ``"readings"``.
    body : dict
        As it was sent, its key among it.
    reply : dict or None
        The acknowledgement; None: none came yet.
    """

    path: str
    body: dict[str, Any]
    reply: dict[str, Any] | None = None

    @property
    def key(self) -> str:
        """The same whenever it is sent."""
        return str(self.body["key"])


def entry_text(client: int, number: int) -> str:
    """Give what a sender types as its so-manieth entry, mm: nobody types it twice, and nothing about it is odd.

    The numbers grow by 0.00001 mm, and those of eight senders lie beside each other.
    """
    return f"{43 + (8 * number + client) / 100_000:.5f}"


@dataclass(slots=True)
class Sender:
    """A person who sends one act after another, each once more until it is acknowledged.

    Parameters
    ----------
    number, test : int
        Which sender, from 0, and in which test.
    places : list of int
        Places that they read in turn, again and again.
    acts : list of Act
        All that they sent, in order; the last may still be without an acknowledgement.
    """

    number: int
    test: int
    places: list[int]
    acts: list[Act] = field(default_factory=list)

    @property
    def client(self) -> str:
        """The name of their browser tab."""
        return str(uuid.UUID(int=self.number + 1, version=4))

    @property
    def pending(self) -> Act | None:
        """What was sent and not acknowledged."""
        return self.acts[-1] if self.acts and self.acts[-1].reply is None else None

    @property
    def acknowledged(self) -> list[Act]:
        """Everything else."""
        return [act for act in self.acts if act.reply is not None]

    def send(self, port: int) -> None:
        """Send what waits, then act after act, until the server goes away."""
        line = Line(port)
        try:
            while True:
                if self.pending is None:
                    self.acts.append(self._next())
                self.deliver(line, self.acts[-1])
        except (OSError, http.client.HTTPException):
            return
        finally:
            line.close()

    def deliver(self, line: Line, act: Act) -> None:
        """Send an act, once more or for the first time; the answer to what was acknowledged before is the same."""
        status, told = line.ask("POST", f"/api/tests/{self.test}/{act.path}", act.body)
        assert status == 200, (act, told)
        assert act.reply in (None, told), (act, told)
        act.reply = told

    def _next(self) -> Act:
        """Give the next act: mostly readings; some are mistyped, some taken back, some places put off or spoiled."""
        turn = len(self.acts)
        place = self.places[turn % len(self.places)]
        text = entry_text(self.number, turn)
        last = self.acts[-1] if self.acts else None
        if turn % 11 == 5 and last is not None and last.path == "readings" and last.reply["reading"]:
            return self._act("taken-back", turn, reading=last.reply["reading"]["id"])
        if turn % 11 == 7:
            return self._act("readings", turn, place=place, text=text.replace(".", ""))
        if turn % 11 == 9:
            return self._act("spoiled", turn, place=place, reason="slipped in the jaws")
        if turn % 11 == 10:
            return self._act("later", turn, place=place)
        return self._act("readings", turn, place=place, text=text)

    def _act(self, path: str, turn: int, **more: Any) -> Act:
        at = f"2026-11-21T{10 + turn // 3600:02d}:{turn // 60 % 60:02d}:{turn % 60:02d}+01:00"
        sent = {"key": str(uuid.uuid4()), "client": self.client, "by": "E", "at": at, **more}
        return Act(path, sent)
