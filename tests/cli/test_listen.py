"""`listen` on the command line: what it prints and writes, and how it ends."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.conftest import Ran
from tests.workflows.made_recordings import dropped

from ballbench.presentation.bounces_json import bounces_to_json
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.listen import ListenRequest, listen

Program = Callable[..., Ran]
BALL = ("--ball", "40.0 mm, 2.70 g")
WORDS = (*BALL, "--drop-height", "305 mm")


@pytest.fixture(scope="module")
def sounds(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with three drops of a ball, and a file that is no sound."""
    folder = tmp_path_factory.mktemp("sounds")
    dropped(folder / "Curlew_07.wav", [[0.93] * 4, [0.931] * 4, [0.929] * 4])
    (folder / "Dunlin_01.wav").write_text("a drop, in words")
    return folder


def test_json_alone_is_what_the_workflow_finds(ballbench: Program, sounds: Path) -> None:
    """`--json -` prints the document of `listen` for the same request, and nothing else."""
    file = sounds / "Curlew_07.wav"
    ran = ballbench("listen", str(file), *WORDS, "--json", "-")
    assert ran.status == 0
    assert ran.out == bounces_to_json(listen(ListenRequest((file,), FlightWords("40.0 mm, 2.70 g", "305 mm"))))
    assert json.loads(ran.out)["format"] == "ballbench/bounces/1"


def test_one_refused_recording_does_not_spoil_the_others(ballbench: Program, sounds: Path) -> None:
    """Status 0 where one was heard, 2 where none was; the reason is printed, and no traceback."""
    both = ballbench("listen", str(sounds / "Curlew_07.wav"), str(sounds / "Dunlin_01.wav"), *WORDS)
    none = ballbench("listen", str(sounds / "Dunlin_01.wav"), str(sounds / "gone.wav"), *WORDS)
    assert (both.status, none.status) == (0, 2)
    for ran in (both, none):
        assert "Dunlin_01.wav: not used: " in ran.out
        assert "Traceback" not in ran.out + ran.err
    assert "Nothing was heard that tells how a ball bounces." in none.out


def test_everything_that_can_be_written_is_written(
    ballbench: Program, sounds: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Readings, bench, picks, JSON and report; the readings and the bench are taken by `judge`."""
    monkeypatch.chdir(tmp_path)
    written = ("--readings", "r.csv", "--write-bench", "b.toml", "--write-picks", "p.csv", "--json", "j.json")
    ran = ballbench(
        "listen", str(sounds / "Curlew_07.wav"), *WORDS, *written, "--report", "out", "--surface", "steel block"
    )
    assert ran.status == 0, ran.err
    assert {path.name for path in tmp_path.iterdir()} == {"r.csv", "b.toml", "p.csv", "j.json", "out"}
    assert (tmp_path / "out" / "listen.html").read_text(encoding="utf-8").count('<svg class="chart"') == 2
    judged = ballbench("judge", "r.csv", "--spec", "table-tennis-plastic", "--bench", "b.toml", "--no-settle")
    assert "Rebound height of each ball: met" in judged.out
    again = ballbench("listen", str(sounds / "Curlew_07.wav"), *WORDS, "--picks", "p.csv")
    assert again.status == 0


@pytest.mark.parametrize("option", ["--json", "--readings", "--write-bench", "--write-picks"])
def test_a_recording_is_never_written_over(ballbench: Program, sounds: Path, option: str) -> None:
    """The place to write to is one of the inputs: refused, and the file is as it was."""
    file = sounds / "Curlew_07.wav"
    before = file.read_bytes()
    ran = ballbench("listen", str(file), *WORDS, option, str(file))
    assert ran.status == 2
    assert f"option {option}: found {file}" in ran.err
    assert "not one of the inputs" in ran.err
    assert file.read_bytes() == before


def test_all_faults_of_the_options_come_at_once(ballbench: Program, sounds: Path) -> None:
    """A ball without its mass, a height without its unit, a decimal comma."""
    ran = ballbench(
        "listen", str(sounds / "Curlew_07.wav"), "--ball", "40 mm", "--drop-height", "305", "--drag", "0,5"
    )  # fmt: skip
    assert ran.status == 2
    for option in ("--ball", "--drop-height", "--drag"):
        assert f"option {option}" in ran.err


def test_nothing_is_written_where_nothing_was_heard(ballbench: Program, sounds: Path, tmp_path: Path) -> None:
    """No readings file and no bench file of no drops."""
    ran = ballbench("listen", str(sounds / "Dunlin_01.wav"), *WORDS, "--readings", str(tmp_path / "r.csv"))
    assert ran.status == 2
    assert not (tmp_path / "r.csv").exists()
