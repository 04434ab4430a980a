"""What is printed may find no reader; the work and its files are done all the same."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
RAMP = str(ROOT / "examples" / "winter-league" / "recordings" / "ramp.csv")
ON_LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="/dev/full is a device of Linux")


def into(stdout: Any, *words: str, **more: Any) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "ballbench.cli.main", *words]
    return subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, check=False, timeout=240, **more)


def closed_pipe() -> int:
    """The writing end of a pipe that nobody reads any more, as after `| head -0` (POSIX: EPIPE)."""
    reading, writing = os.pipe()
    os.close(reading)
    return writing


@pytest.mark.parametrize("alone", [[], ["--json", "-"]], ids=["text", "json"])
def test_a_reader_who_left_does_not_lose_the_report(tmp_path: Path, alone: list[str]) -> None:
    """Standard output is a broken pipe from the beginning: report and readings are written, status 0, not a word."""
    pipe = closed_pipe()
    run = into(pipe, "roll", RAMP, "--report", str(tmp_path / "r"), *alone)
    os.close(pipe)
    assert (run.returncode, run.stderr) == (0, b"")
    assert (tmp_path / "r" / "roll.html").read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert (tmp_path / "r" / "roll.pdf").read_bytes().startswith(b"%PDF")


def test_bad_input_is_status_2_though_nobody_reads_why() -> None:
    """Standard error broken as well: the status is that of bad input, as without pipes."""
    pipe = closed_pipe()
    command = [sys.executable, "-m", "ballbench.cli.main", "roll", "not-there.csv"]
    status = subprocess.run(command, stdout=pipe, stderr=pipe, check=False, timeout=240).returncode
    os.close(pipe)
    assert status == 2


@ON_LINUX
def test_a_full_disk_under_the_screen_is_said(tmp_path: Path) -> None:
    """Standard output to a full device: the report is written, one message says that the text was lost, status 2."""
    with open("/dev/full", "wb") as full:  # noqa: PTH123 - a device
        run = into(full, "roll", RAMP, "--report", str(tmp_path / "r"))
    assert run.returncode == 2
    assert run.stderr.decode().startswith("ballbench: standard output: found No space left on device")
    assert b"Traceback" not in run.stderr
    assert (tmp_path / "r" / "roll.pdf").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="descriptors are closed otherwise there")
def test_no_standard_output_at_all_is_no_fault(tmp_path: Path) -> None:
    """Started with standard output closed: the JSON is written, status 0."""
    run = into(None, "roll", RAMP, "--json", str(tmp_path / "x.json"), preexec_fn=lambda: os.close(1))
    assert (run.returncode, run.stderr) == (0, b"")
    assert (tmp_path / "x.json").stat().st_size > 100


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_a_terminal_without_our_letters_gets_text_and_whole_json(encoding: str) -> None:
    """Other encodings than UTF-8: no traceback; JSON is UTF-8 all the same (RFC 8259, 8.1)."""
    import json  # noqa: PLC0415 - used here only

    told = {**os.environ, "PYTHONIOENCODING": encoding, "COLUMNS": "60"}
    text = into(subprocess.PIPE, "roll", RAMP, env=told)
    assert (text.returncode, text.stderr) == (0, b"")
    text.stdout.decode(encoding)
    data = into(subprocess.PIPE, "roll", RAMP, "--json", "-", env=told)
    assert json.loads(data.stdout.decode("utf-8"))["format"] == "ballbench/rolls/1"
