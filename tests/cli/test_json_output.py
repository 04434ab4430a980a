from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


def test_json_stands_alone_on_the_output(program: Run, files: Any) -> None:
    """With ``--json -`` the whole of standard output is one JSON object in UTF-8, and standard error is empty."""
    run = program(*files.judge("--json", "-"))
    assert run.status == 0
    assert run.err == ""
    assert json.loads(run.out)["format"] == "ballbench/findings/1"
    assert run.out.startswith("{\n")
    assert run.out.endswith("\n}\n")


def test_json_stands_alone_with_a_report_beside_it(ballbench: Run, files: Any, tmp_path: Path) -> None:
    """A report that is written beside ``--json -`` says nothing on the output."""
    run = ballbench(*files.judge("--json", "-", "--report", str(tmp_path / "out" / "deep")))
    assert run.status == 0
    assert json.loads(run.out)
    assert sorted(path.suffix for path in (tmp_path / "out" / "deep").iterdir()) == [".html", ".pdf"]


def test_json_goes_to_a_file_and_the_words_to_the_screen(ballbench: Run, files: Any, tmp_path: Path) -> None:
    """``--json FILE`` writes the same bytes that ``--json -`` prints, and the screen shows the findings in words."""
    alone = ballbench(*files.judge("--json", "-"))
    beside = ballbench(*files.judge("--json", str(tmp_path / "findings.json")))
    assert (tmp_path / "findings.json").read_text(encoding="utf-8") == alone.out
    assert "Curlew" in beside.out
    assert "{" not in beside.out


def test_json_is_the_same_in_any_terminal(program: Run, files: Any) -> None:
    """Language, colour, width and encoding of the terminal change no byte of the JSON."""
    plain = program(*files.judge("--json", "-"))
    odd = {**os.environ, "LC_ALL": "C", "LANG": "C", "PYTHONIOENCODING": "utf-8", "FORCE_COLOR": "1", "COLUMNS": "20"}
    assert program(*files.judge("--json", "-"), env=odd).out == plain.out
    assert "\x1b" not in plain.out


def test_words_are_printed_where_the_terminal_knows_no_accents(program: Run, files: Any) -> None:
    """A terminal that can only print ASCII gets the findings too, rather than an exception."""
    bare = {**os.environ, "LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    run = program(*files.judge(), env=bare)
    assert run.status == 0, run.err
    assert "Curlew" in run.out


def test_compare_gives_its_json_alone(ballbench: Run, league: Path) -> None:
    """`compare --json -` prints one object of its own format."""
    run = ballbench(
        "compare", str(league / "readings.csv"), "--quantity", "mass", "--bench", str(league / "bench.toml"),
        "--corrections", str(league / "corrections.csv"), "--spec", str(league / "league-ball.toml"),
        "--draws", "1000", "--json", "-",
    )  # fmt: skip
    assert run.status == 0, run.err
    assert json.loads(run.out)["format"] == "ballbench/comparison/1"


@pytest.mark.parametrize("option", ["--json", "--report"])
def test_a_place_that_cannot_be_written_is_refused(ballbench: Run, files: Any, option: str) -> None:
    """A file used as a folder gives status 2 and the option's name."""
    inside = files.readings / "inside" / "out"
    run = ballbench(*files.judge(option, str(inside)))
    assert run.status == 2
    assert option in run.err
    assert str(inside) in run.err
    assert "Traceback" not in run.err


def test_a_folder_is_no_file_for_json(ballbench: Run, files: Any) -> None:
    """``--json`` with the name of a folder is refused."""
    run = ballbench(*files.judge("--json", str(files.folder)))
    assert run.status == 2
    assert "--json" in run.err


def test_readings_are_never_written_over(ballbench: Run, files: Any) -> None:
    """``--json`` with the name of the readings file is refused, and the file stays as it was."""
    before = files.readings.read_bytes()
    run = ballbench(*files.judge("--json", str(files.readings)))
    assert files.readings.read_bytes() == before
    assert run.status == 2


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_told(ballbench: Run, files: Any) -> None:
    """When the disk is full while the JSON is written, that is said, with status 2."""
    run = ballbench(*files.judge("--json", "/dev/full"))
    assert run.status == 2
    assert "--json" in run.err


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of POSIX systems")
def seen_on(screen: int) -> bytes:
    """Read a screen until nobody writes to it any more; its buffer holds a few kilobytes only."""
    seen = b""
    while True:
        try:
            more = os.read(screen, 65536)
        except OSError:  # Linux says so that the other end was closed
            return seen
        if not more:
            return seen
        seen += more


def test_a_screen_shows_a_bar_and_the_json_stays_alone(files: Any) -> None:
    """Where standard error is a screen, judging shows how many products are done; the JSON beside it stays whole."""
    import pty  # noqa: PLC0415 - there is none on Windows

    screen, end = pty.openpty()
    words = [sys.executable, "-m", "ballbench.cli.main", *files.judge("--json", "-")]
    shown = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "100"}
    with ThreadPoolExecutor() as beside, subprocess.Popen(words, stdout=subprocess.PIPE, stderr=end, env=shown) as run:
        os.close(end)
        watched = beside.submit(seen_on, screen)
        assert run.stdout is not None
        text = run.stdout.read()
    told = watched.result().decode()
    os.close(screen)
    assert json.loads(text)
    assert "judging" in told
    assert "1/1" in told


def test_a_reader_that_leaves_early_is_no_fault(files: Any) -> None:
    """Output piped into a program that stops reading ends without a traceback."""
    words = [sys.executable, "-m", "ballbench.cli.main", *files.judge("--json", "-")]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        told = running.stderr.read().decode()
    assert "Traceback" not in told
    assert "fault of ballbench" not in told
