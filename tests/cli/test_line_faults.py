"""A line that was typed wrong is answered as every fault is: where, what stands there, what is allowed, what to do."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
BALL = ["--ball", "40 mm, 2.7 g"]

LINES: list[tuple[list[str], str, str]] = [
    (["judge", "a.csv", "--spec", "golf", "--draws", "1.5"], "option --draws: found '1.5'", "a whole number"),
    (
        ["judge", "a.csv", "--spec", "golf", "--risk=high"],
        "option --risk: found 'high'",
        "a number with a decimal point",
    ),
    (["trace", "a.jpg", "--filter", "15,5"], "option --filter: found '15,5'", "without a decimal comma"),
    (["judge", "a.csv", "--spec"], "option --spec: found nothing behind it", "write it behind --spec"),
    (["judge", "a.csv", "b.csv", "--spec", "golf"], "judge: found b.csv besides", "one READINGS, and options"),
    (["roll", "ramp.csv", "mm"], "roll: found mm besides", "what has blanks in quotes"),
    (["open", "--port", "99999"], "option --port: found '99999'", "at most 65535"),
    (["open", "--share=yes"], "option --share: found a value", "write it alone"),
    (["lisen", "x.wav"], "command: found 'lisen'", "write `ballbench listen`"),
    (["xyzzy"], "command: found 'xyzzy'", "see `ballbench --help`"),
    (["--seed", "3", "listen"], "option --seed: found an option before the command", "behind a command"),
    (["listen", "a.wav", "--bal", "x"], "option --bal: found no option of this name", "write --ball"),
    (["listen", "a.wav", "-h"], "option -h: found no option of this name", "write --help"),
    (["listen", "a.wav", "--ball", "40", "mm,", "2.7", "g"], "found 'mm,', '2.7', 'g' among the files", "in quotes"),
    (["listen", "a.wav", *BALL, "--drop-height", "305", "mm"], "found 'mm' among the files", "in quotes"),
    (["watch", "a.mp4", *BALL, "--drop-height", "305", "±", "1", "mm"], "found '±', '1', 'mm' among", "in quotes"),
    (["trace", "a.jpg", "--scale", "0.08", "mm/px"], "found 'mm/px' among the files", '--scale "0.08 mm/px"`'),
    (["trace", "a.jpg", "--diameter", "40,12 mm"], "option --diameter: found '40,12 mm'", "a decimal point"),
    (["trace", "a.jpg", "--diameter", "40.12"], "option --diameter: found '40.12'", "the unit behind the number"),
    (["trace", "a.jpg", "--readings", "out.csv"], "option --readings: found outlines in pixels", "--scale"),
    (["listen", "a.wav", *BALL, "--temperature", "21,5"], "option --temperature: found '21,5'", "a decimal point"),
    (["watch", "a.mp4", *BALL, "--ruler", "0,85 mm/px"], "option --ruler: found '0,85 mm/px'", "a decimal point"),
]


@pytest.mark.parametrize(("words", "found", "says"), LINES, ids=lambda v: " ".join(v) if isinstance(v, list) else "")
def test_a_wrong_line_is_answered_in_the_form_of_the_house(
    ballbench: Run, words: list[str], found: str, says: str
) -> None:
    """Status 2, nothing on standard output, one message with what was typed and what to write; no usage lines."""
    run = ballbench(*words)
    assert (run.status, run.out) == (2, "")
    assert found in run.err
    assert says in run.err
    assert run.err.startswith("ballbench: ")
    assert run.err.count("  Allowed: ") == run.err.count(" What to do: ") == 1
    assert "Usage" not in run.err


def test_files_that_look_like_units_are_files_where_they_are(
    ballbench: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that is really called ``mm`` is read as one: its bytes are refused, not its name."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mm").write_bytes(b"no recording")
    run = ballbench("listen", "mm", *BALL)
    assert (run.status, run.err) == (2, "")
    assert "a file of no known kind" in " ".join(run.out.split())


@pytest.mark.skipif(sys.platform != "linux", reason="other systems allow no such names")
@pytest.mark.parametrize("command", ["listen", "trace", "watch"])
def test_names_that_cannot_be_written_are_refused_at_once(ballbench: Run, command: str) -> None:
    """A line break, an escape of a terminal, a byte that is no UTF-8: each is said, made visible, before any work."""
    names = ("Curlew_0\n7.x", "Curlew_\x1b[2J.x", "Curlew_\udcff.x")
    run = ballbench(command, *names, *([] if command == "trace" else BALL))
    assert (run.status, run.out) == (2, "")
    assert run.err.count("found a name with a line break, or with bytes that are no letters") == 3
    assert all(shown in run.err for shown in (r"Curlew_0\n7.x", r"Curlew_\x1b[2J.x", r"Curlew_\udcff.x"))
    assert "\x1b" not in run.err


@pytest.mark.skipif(sys.platform != "linux", reason="other systems allow no such names")
def test_a_name_of_no_letters_does_not_lose_json_and_report(ballbench: Run, tmp_path: Path) -> None:
    """A log whose name holds a byte that is no UTF-8: JSON and report are written, the byte as an escape."""
    import json  # noqa: PLC0415 - used here only

    log = Path(__file__).parents[2] / "examples" / "winter-league" / "recordings" / "ramp.csv"
    (tmp_path / "ramp_\udcff.csv").write_bytes(log.read_bytes())
    run = ballbench(
        "roll", str(tmp_path / "ramp_\udcff.csv"), "--json", str(tmp_path / "x.json"), "--report", str(tmp_path / "r")
    )
    assert (run.status, run.err) == (0, "")
    assert json.loads((tmp_path / "x.json").read_text(encoding="utf-8"))["format"] == "ballbench/rolls/1"
    assert (tmp_path / "r" / "roll.pdf").read_bytes().startswith(b"%PDF")


def test_control_characters_of_a_name_stay_in_its_line(ballbench: Run) -> None:
    """A message about a name with a line break is two lines all the same, and moves no cursor."""
    run = ballbench("judge", "no\nsuch\x1b[2J.csv", "--spec", "golf")
    assert run.status == 2
    assert len(run.err.splitlines()) == 2
    assert r"no\x0asuch\x1b[2J.csv: found no such file" in run.err


def test_a_pattern_that_fits_no_file_is_said_to_be_one(ballbench: Run) -> None:
    """A shell hands on a pattern that fits nothing as it stands."""
    run = ballbench("listen", "*.nosuch", *BALL)
    assert run.status == 2
    assert "no file fits this pattern" in " ".join(run.out.split())
