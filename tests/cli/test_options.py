from __future__ import annotations

import os
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer

from ballbench.cli.examples import EXAMPLES
from ballbench.cli.main import app

Run = Callable[..., Any]

OUT_OF_RANGE = [
    (["--risk", "0.7"], "between 0 and 0.5"),
    (["--risk", "0.5"], "between 0 and 0.5"),
    (["--risk", "0"], "between 0 and 0.5"),
    (["--risk", "-0.1"], "between 0 and 0.5"),
    (["--risk", "nan"], "between 0 and 0.5"),
    (["--look", "4/3"], "from 1 to the number planned"),
    (["--look", "0/3"], "from 1 to the number planned"),
    (["--look", "0/0"], "from 1 to the number planned"),
    (["--look", "2"], "such as 2/3"),
    (["--look", "two/three"], "such as 2/3"),
    (["--look", "-1/3"], "such as 2/3"),
    (["--seed", "-1"], "from 0 up"),
    (["--rule", "foo"], "guarded or simple"),
    (["--draws", "1"], "from 100"),
    (["--draws", "100000000"], "to 10000000"),
]


@pytest.mark.parametrize(("words", "says"), OUT_OF_RANGE, ids=lambda v: " ".join(v) if isinstance(v, list) else "")
def test_an_option_out_of_range_is_refused_with_the_range(
    ballbench: Run, files: Any, words: list[str], says: str
) -> None:
    """An option outside its range gives status 2, its name, its range, and no output."""
    run = ballbench("judge", str(files.readings), "--spec", str(files.spec), "--json", "-", *words)
    assert (run.status, run.out) == (2, "")
    assert words[0] in run.err
    assert says.lower() in run.err.lower()
    assert "Traceback" not in run.err


def test_options_out_of_range_are_told_all_at_once(ballbench: Run, files: Any) -> None:
    """Three wrong options give three messages in one go."""
    run = ballbench(
        "judge", str(files.readings), "--spec", str(files.spec), "--risk", "1", "--seed", "-1", "--rule", "x"
    )
    assert run.status == 2
    assert [f"option {name}" in run.err for name in ("--risk", "--seed", "--rule")] == [True] * 3


UNREADABLE = [
    (["nonsense"], "nonsense"),
    (["judge"], "READINGS"),
    (["judge", "box.csv"], "--spec"),
    (["judge", "box.csv", "--spec", "golf", "--nonsense"], "--nonsense"),
    (["judge", "box.csv", "--spec", "golf", "--seed", "x"], "--seed"),
    (["judge", "box.csv", "--spec", "golf", "--risk", "high"], "--risk"),
    (["judge", "box.csv", "--spec", "golf", "--draws", "1.5"], "--draws"),
    (["judge", "box.csv", "--spec"], "--spec"),
    (["judge", "box.csv", "more.csv", "--spec", "golf"], "more.csv"),
    (["compare", "box.csv"], "--quantity"),
    (["specs", "--check"], "--check"),
    (["demo", "--seed", "one"], "--seed"),
]


@pytest.mark.parametrize(("words", "says"), UNREADABLE, ids=lambda v: " ".join(v) if isinstance(v, list) else "")
def test_a_line_that_cannot_be_read_is_told_on_stderr(ballbench: Run, words: list[str], says: str) -> None:
    """An unknown command or option, a missing word, a word that is no number: status 2 and which one, no traceback."""
    run = ballbench(*words)
    assert (run.status, run.out) == (2, "")
    assert says.lower() in run.err.lower()
    assert "Traceback" not in run.err
    assert "fault of ballbench" not in run.err


def test_each_command_that_needs_words_has_an_example_that_it_can_read() -> None:
    """The parser itself takes every line that is shown as an example, and misses nothing in it."""
    group = typer.main.get_command(app)
    commands = group.commands  # type: ignore[attr-defined]
    assert set(EXAMPLES) == {name for name, one in commands.items() if any(word.required for word in one.params)}
    for name, line in EXAMPLES.items():
        program, command, *words = shlex.split(line)
        assert (program, command) == ("ballbench", name)
        commands[name].make_context(name, words)


@pytest.mark.parametrize(
    ("words", "where", "says"),
    [
        (["listen", "drop.wav"], "option --ball", "diameter and mass of the balls"),
        (["watch", "drop.mp4"], "option --ball", "diameter and mass of the balls"),
        (["listen", "--ball", "40 mm, 2.7 g"], "FILE", "recordings of drops"),
        (["watch"], "CLIP", "films of drops"),
        (["trace"], "PHOTO", "photographs"),
        (["roll"], "LOG", "log of a ramp"),
        (["judge", "box.csv"], "option --spec", "requirement: an id"),
        (["plan", "--spec", "golf"], "option --true-sd", "SD between balls"),
    ],
    ids=lambda v: " ".join(v) if isinstance(v, list) else "",
)
def test_what_was_left_out_is_said_with_an_example(ballbench: Run, words: list[str], where: str, says: str) -> None:
    """Where, what is allowed and a whole line to write, as of every other fault; status 2."""
    run = ballbench(*words)
    assert (run.status, run.out) == (2, "")
    assert run.err.startswith(f"ballbench: {where}: found nothing.")
    assert f"Allowed: {says}" in run.err
    assert f"What to do: write it as in `ballbench {words[0]} " in run.err


def test_no_words_at_all_show_the_help(ballbench: Run) -> None:
    """The bare command shows what there is, and is no fault of the program."""
    run = ballbench()
    assert "judge" in run.out + run.err
    assert run.status in (0, 2)
    assert "Traceback" not in run.err


@pytest.mark.parametrize("words", [["--help"], ["judge", "--help"], ["compare", "--help"], ["--version"]])
def test_help_and_version_end_well(ballbench: Run, words: list[str]) -> None:
    """Help and version are printed on the screen's output with status 0."""
    run = ballbench(*words)
    assert run.status == 0
    assert run.out.strip()
    assert run.err == ""


@pytest.mark.parametrize("option", ["readings", "--bench", "--corrections", "--balls", "--spec"])
@pytest.mark.parametrize("kind", ["missing", "folder", "device", "name of a thousand letters"])
def test_a_path_that_is_no_file_is_refused(ballbench: Run, files: Any, option: str, kind: str) -> None:
    """A path that does not exist, a folder, a device and an impossible name give one message with status 2."""
    paths = {
        "missing": files.folder / "not-there.csv",
        "folder": files.folder,
        "device": Path(os.devnull),
        "name of a thousand letters": files.folder / ("x" * 1000),
    }
    path = str(paths[kind])
    words = ["judge", str(files.readings), "--spec", str(files.spec)]
    if option == "readings":
        words[1] = path
    else:
        words += [option, path]
    run = ballbench(*words)
    assert (run.status, run.out) == (2, "")
    assert run.err.count("ballbench: ") == 1
    assert "What to do: " in run.err
    assert "Traceback" not in run.err


def test_an_unknown_requirement_suggests_near_ones(ballbench: Run, files: Any) -> None:
    """An id that does not exist is answered with those nearest to it."""
    run = ballbench("judge", str(files.readings), "--spec", "tabletennis-plastik")
    assert (run.status, run.out) == (2, "")
    assert "table-tennis-plastic" in run.err


def test_several_products_are_asked_of_compare(ballbench: Run, files: Any) -> None:
    """Comparing needs two products that have the quantity; the message lists what the file has."""
    for quantity in ("diameter", "rebound"):
        run = ballbench("compare", str(files.readings), "--quantity", quantity, "--spec", str(files.spec))
        assert (run.status, run.out) == (2, "")
        assert "two products" in run.err
        assert "diameter" in run.err
        assert "mass" in run.err


def test_a_fault_of_our_own_is_status_1(ballbench: Run, files: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception that nobody foresaw ends with status 1 and says that it is no fault of the data."""
    import ballbench.cli.judging as shell  # noqa: PLC0415 - patched here only

    def broken(*_: object) -> None:
        raise ZeroDivisionError("made to fail")

    monkeypatch.setattr(shell, "judge", broken)
    run = ballbench(*files.judge())
    assert run.status == 1
    assert "fault of ballbench" in run.err
