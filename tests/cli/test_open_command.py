from __future__ import annotations

import http.client
import io
import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from ballbench.cli import opening

Run = Callable[..., Any]

EVERYBODY = "0.0.0.0"  # noqa: S104 - this is what must be refused
PATIENCE_S = 120.0
"""A program that hangs ends a test with an error after so long; nothing is measured with it."""

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a program is ended by SIGINT and SIGTERM here")


@dataclass(frozen=True, slots=True)
class Opened:
    """A bench that was opened in a process of its own, with the lines that it said until it was ready."""

    process: subprocess.Popen[str]
    lines: list[str]

    @property
    def port(self) -> int:
        """Where it is."""
        return int(re.search(r"http://127\.0\.0\.1:(\d+)", self.lines[0])[1])

    def line(self, peer: str = "127.0.0.1", to: str = "127.0.0.1") -> http.client.HTTPConnection:
        """Connect from an address of this machine."""
        return http.client.HTTPConnection(to, self.port, PATIENCE_S, source_address=(peer, 0))

    def get(self, path: str, peer: str = "127.0.0.1", to: str = "127.0.0.1", **headers: str) -> tuple[int, bytes]:
        """Ask for something."""
        line = self.line(peer, to)
        try:
            line.request("GET", path, headers=headers)
            answer = line.getresponse()
            return answer.status, answer.read()
        finally:
            line.close()

    def end(self, how: int) -> tuple[int, str, str]:
        """End it with a signal, and give its status and what it still said."""
        self.process.send_signal(how)
        out, err = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, out, err


@contextmanager
def opened(notebook: Path, *words: str) -> Iterator[Opened]:
    """Open a bench and wait until it says how to end it, which it says last."""
    command = [sys.executable, "-m", "ballbench.cli.main", "open", "--notebook", str(notebook), "--no-browser", *words]
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONWARNINGS": "error"},
    )
    try:
        lines = []
        for line in process.stdout:
            lines.append(line.rstrip("\n"))
            if line.startswith("To end:"):
                break
        assert lines, process.communicate(timeout=PATIENCE_S)[1]
        yield Opened(process, lines)
    finally:
        process.kill()
        process.communicate(timeout=PATIENCE_S)


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_a_bench_is_opened_and_ended(tmp_path: Path, how: int) -> None:
    """`open` says address, notebook and how to end it, answers there, and ends with status 0 by SIGINT and SIGTERM."""
    with opened(tmp_path / "book", "--port", "0") as bench:
        assert bench.lines[0] == f"ballbench: the bench is open at http://127.0.0.1:{bench.port}"
        assert bench.lines[1] == f"Notebook: {tmp_path / 'book'}"
        status, page = bench.get("/")
        assert (status, page[:15]) == (200, b"<!doctype html>")
        status, out, err = bench.end(how)
        assert (status, err) == (0, "")
        assert str(tmp_path / "book") in out


def test_it_ends_with_a_stream_open(tmp_path: Path) -> None:
    """A page that listens for changes does not keep the program from ending."""
    with opened(tmp_path, "--port", "0") as bench:
        line = bench.line()
        sent = {"key": "0b5b7a0e-8f6e-4a53-9b0e-3f4f0f1c2d3e", "client": "7d2f6a4c-1b0d-4e5f-8a9b-0c1d2e3f4a5b",
                "by": "E", "at": "2026-11-21T10:00:00+01:00"}  # fmt: skip
        line.request("POST", "/api/example", json.dumps(sent), {"Content-Type": "application/json"})
        test = json.loads(line.getresponse().read())["id"]
        line.request("GET", f"/api/tests/{test}/live")
        stream = line.getresponse()
        assert stream.readline().startswith(b"retry:")
        assert bench.end(signal.SIGINT)[0] == 0
        assert b"event: change" in stream.read()
        line.close()


def test_two_open_the_same_notebook(tmp_path: Path) -> None:
    """A second `open` on the same folder takes a port of its own, and each sees what the other wrote."""
    with opened(tmp_path, "--port", "0") as one, opened(tmp_path, "--port", "0") as two:
        assert one.port != two.port
        line = one.line()
        sent = {"key": "0b5b7a0e-8f6e-4a53-9b0e-3f4f0f1c2d3e", "client": "7d2f6a4c-1b0d-4e5f-8a9b-0c1d2e3f4a5b",
                "by": "E", "at": "2026-11-21T10:00:00+01:00"}  # fmt: skip
        line.request("POST", "/api/example", json.dumps(sent), {"Content-Type": "application/json"})
        assert line.getresponse().status == 201
        line.close()
        titles = [json.loads(bench.get("/api/tests")[1])["tests"][0]["title"] for bench in (one, two)]
        assert titles[0] == titles[1]


def test_the_usual_ports_follow_each_other(tmp_path: Path) -> None:
    """Without --port the first free one from 8475 up is taken; a second program takes a later one."""
    with ExitStack() as stack:
        ports = [stack.enter_context(opened(tmp_path)).port for _ in range(2)]
        assert 8475 <= ports[0] < ports[1] < 8475 + 40


def test_a_taken_port_is_said(tmp_path: Path, ballbench: Run) -> None:
    """A port that is taken ends with status 2 and what to do, without a traceback."""
    with opened(tmp_path, "--port", "0") as bench:
        run = ballbench("open", "--notebook", str(tmp_path), "--no-browser", "--port", str(bench.port))
        assert run.status == 2
        assert f"{bench.port}, which is taken" in run.err
        assert "What to do" in run.err
        assert "Traceback" not in run.err


def test_what_cannot_be_opened_is_said(tmp_path: Path, ballbench: Run) -> None:
    """A place, address or port that cannot be used: status 2 and what to do, and nothing listens."""
    (tmp_path / "file").write_text("not a folder", encoding="utf-8")
    usual = ("--no-browser", "--port", "0")
    for words in (
        ("--notebook", str(tmp_path / "file"), *usual), ("--notebook", "mysql://x/y", *usual),
        ("--notebook", str(tmp_path), "--address", "127.0.0.1", *usual),
        ("--notebook", str(tmp_path), "--share", "--address", "192.0.2.1", *usual),
        ("--notebook", str(tmp_path), "--share", "--address", EVERYBODY, *usual),
        ("--notebook", str(tmp_path), "--no-browser", "--port", "70000"),
    ):  # fmt: skip
        run = ballbench("open", *words)
        assert run.status == 2, words
        assert run.err
        assert "Traceback" not in run.err


def test_shared_it_gives_a_link_for_one_device(tmp_path: Path) -> None:
    """With --share a link pairs one device once, the network must be trusted, and other addresses stay closed."""
    with opened(tmp_path, "--port", "0", "--share", "--address", "127.0.0.2") as bench:
        link = next(line.strip() for line in bench.lines if "/pair#" in line)
        address, token = link.split("/pair#")
        assert address == f"http://127.0.0.2:{bench.port}"
        assert "not encrypted" in "\n".join(bench.lines)
        assert bench.get("/", peer="127.0.0.2", to="127.0.0.2")[0] == 403
        assert bench.get("/pair", peer="127.0.0.2", to="127.0.0.2")[0] == 200
        line = bench.line("127.0.0.2", "127.0.0.2")
        headers = {"Content-Type": "application/json", "Origin": address}
        cookies = []
        for status in (200, 403):
            line.request("POST", "/api/pair", json.dumps({"token": token}), headers)
            answer = line.getresponse()
            answer.read()
            assert answer.status == status
            cookies.append(answer.headers["Set-Cookie"])
        line.close()
        cookie = cookies[0].partition(";")[0]
        assert bench.get("/", peer="127.0.0.2", to="127.0.0.2", Cookie=cookie)[0] == 200
        with pytest.raises(ConnectionRefusedError):
            bench.get("/", to="127.0.0.3")
        status, out, err = bench.end(signal.SIGTERM)
        assert (status, err) == (0, "")
        assert token not in out


def test_alone_it_listens_on_this_machine_only(tmp_path: Path) -> None:
    """Without --share no other address of the machine answers, and no link is made."""
    with opened(tmp_path, "--port", "0") as bench:
        with pytest.raises(ConnectionRefusedError):
            bench.get("/", to="127.0.0.2")
        assert "/pair" not in "\n".join(bench.lines)


class Screen(io.StringIO):
    """A terminal of some encoding."""

    def __init__(self, encoding: str) -> None:
        super().__init__()
        self._named = encoding

    @property
    def encoding(self) -> str:
        """How it writes."""
        return self._named

    def isatty(self) -> bool:
        """It is one."""
        return True


@pytest.mark.parametrize(
    ("encoding", "setting", "drawn"),
    [("utf-8", {}, True), ("UTF-8", {"TERM": "xterm"}, True), ("cp1252", {}, False), ("utf-8", {"TERM": "dumb"}, False),
     ("utf-8", {"NO_COLOR": "1"}, False)],
)  # fmt: skip
def test_the_picture_of_the_link_is_drawn_where_it_can_be_scanned(
    monkeypatch: pytest.MonkeyPatch, encoding: str, setting: dict[str, str], drawn: bool
) -> None:
    """A terminal without block characters or without colours gets the link alone; so does a file."""
    for name in ("TERM", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    for name, value in setting.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(sys, "stdout", Screen(encoding))
    assert opening._draws() is drawn
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert not opening._draws()


def test_the_browser_is_opened_where_there_is_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    """On Linux a browser is opened with a display only: one of text would take the terminal."""
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    assert not opening._has_screen()
    monkeypatch.setenv("WAYLAND_DISPLAY", "wayland-0")
    assert opening._has_screen()
    monkeypatch.delenv("WAYLAND_DISPLAY")
    monkeypatch.setattr(sys, "platform", "darwin")
    assert opening._has_screen()
