"""A PostgreSQL server of our own: made in a temporary folder, reached through a socket there, gone afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg

__all__ = ["PROGRAMS", "Server", "running_server"]

_DEBIAN = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
_FOUND = shutil.which("initdb")

PROGRAMS = _DEBIAN[-1].parent if _DEBIAN else Path(_FOUND).parent if _FOUND else None
"""Where the server's programs are; None: nowhere."""

_OPTIONS = "-c listen_addresses='' -c unix_socket_directories={folder} -c max_connections=200 -c fsync=off"


@dataclass(frozen=True, slots=True)
class Server:
    """A server that runs: its folder, and the account that it runs as, None for our own."""

    folder: Path
    account: str | None

    def address(self, database: str) -> str:
        """Give the address of a database as a person writes it."""
        return f"postgresql://ballbench@/{database}?host={self.folder}"

    def connect(self, database: str) -> psycopg.Connection[tuple[object, ...]]:
        """Connect by the raw driver; every statement stands for itself."""
        return psycopg.connect(host=str(self.folder), user="ballbench", dbname=database, autocommit=True)

    def make(self, database: str) -> None:
        """Make an empty database."""
        with self.connect("postgres") as line:
            line.execute(f'CREATE DATABASE "{database}"')

    def run(self, *command: str) -> None:
        """Run one of the server's programs as its account."""
        assert PROGRAMS is not None
        account = {} if self.account is None else {"user": self.account, "extra_groups": []}
        subprocess.run(
            [str(PROGRAMS / command[0]), *command[1:]], check=True, cwd=self.folder, stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, env={**os.environ, "LC_ALL": "C.UTF-8"}, **account,
        )  # fmt: skip

    def start(self) -> None:
        """Start, and wait until it takes connections."""
        options = _OPTIONS.format(folder=self.folder)
        log = str(self.folder / "log")
        self.run("pg_ctl", "start", "-w", "-D", str(self.folder / "data"), "-l", log, "-o", options)

    def stop(self, how: str = "fast") -> None:
        """Stop; ``immediate`` is as if it had crashed."""
        self.run("pg_ctl", "stop", "-w", "-D", str(self.folder / "data"), "-m", how)


@contextmanager
def running_server() -> Iterator[Server]:
    """Make a server and run it until the end of the block; the server refuses to run as root, so root lends it."""
    folder = Path(tempfile.mkdtemp(prefix="ballbench-pg-"))
    account = _account() if os.geteuid() == 0 else None
    server = Server(folder, account)
    try:
        if account is not None:
            shutil.chown(folder, account)
        server.run("initdb", "-D", str(folder / "data"), "-U", "ballbench", "-A", "trust", "-E", "UTF8", "--no-sync")
        server.start()
        try:
            yield server
        finally:
            server.stop()
    finally:
        shutil.rmtree(folder)


def _account() -> str:
    known = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"
