"""A bench that is opened as the pages say, in a process of its own, on a free port."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

__all__ = ["SHOWN_PORT", "Opened", "opened"]

SHOWN_PORT = "8475"
"""The port that the pages show: the first that a bench takes."""
PATIENCE_S = 120.0
"""A bench that hangs ends a test with an error after so long; nothing is measured with it."""


@dataclass
class Opened:
    """An open bench.

    Parameters
    ----------
    lines : list of str
        What it said until it was ready; after the block also what it said as it ended.
    port : str
        Where it is.
    status : int or None
        With which it ended.
    """

    lines: list[str] = field(default_factory=list)
    port: str = ""
    status: int | None = None

    def said(self) -> str:
        """Give all that it said, with the port that the pages show."""
        return "".join(self.lines).replace(f":{self.port}", f":{SHOWN_PORT}")


@contextmanager
def opened(folder: Path, words: Sequence[str] = (), env: Mapping[str, str] | None = None) -> Iterator[Opened]:
    """Open a bench and end it with Ctrl-C after the block.

    Parameters
    ----------
    folder : Path
        Where the command is given; its usual notebook lies there too.
    words : sequence of str
        Options, as a page shows them.
    env : mapping
        Further settings of the process.
    """
    if sys.platform == "win32":
        pytest.skip("a bench is ended with SIGINT here")
    usual = {"XDG_DATA_HOME": str(folder), "HOME": str(folder), "LOCALAPPDATA": str(folder)}
    command = [sys.executable, "-m", "ballbench.cli.main", "open", *words, "--port", "0", "--no-browser"]
    process = subprocess.Popen(
        command, cwd=folder, env={**os.environ, **usual, "PYTHONWARNINGS": "error", **(env or {})}, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    bench = Opened()
    try:
        for line in process.stdout or ():
            bench.lines.append(line)
            if line.startswith("To end:"):
                break
        assert bench.lines, process.communicate(timeout=PATIENCE_S)[1]
        bench.port = bench.lines[0].rsplit(":", 1)[1].strip()
        yield bench
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=PATIENCE_S)
        assert err == ""
        bench.lines.append(out)
        bench.status = process.returncode
    finally:
        process.kill()
        process.communicate(timeout=PATIENCE_S)
