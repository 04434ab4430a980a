"""Every option that reads a file meets a photograph, a folder, a device and a huge file with a message of its own."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer

from ballbench.cli.main import app

Run = Callable[..., Any]
RECORDINGS = Path(__file__).parents[2] / "examples" / "winter-league" / "recordings"
FLIGHT = ["--ball", "40 mm, 2.7 g"]
JUDGED = ["judge", "box.csv", "--spec", "rule.toml", "--draws", "500", "--no-settle"]

READ: list[tuple[list[str], str]] = [
    *((JUDGED, option) for option in ("READINGS", "--spec", "--bench", "--corrections", "--balls")),
    *((["compare", "box.csv", "--quantity", "mass", "--spec", "rule.toml"], option)
      for option in ("READINGS", "--spec", "--bench", "--corrections")),
    *((["qualify", "box.csv", "--spec", "rule.toml"], option)
      for option in ("READINGS", "--spec", "--bench", "--corrections", "--checks", "--forces")),
    *((["plan", "--spec", "rule.toml", "--true-sd", "0.03"], option) for option in ("--spec", "--bench")),
    *((["vee", "ramp.csv"], option) for option in ("READINGS", "--spec")),
    *((["press", "ramp.csv"], option) for option in ("READINGS", "--spec", "--bench")),
    *((["roll", "ramp.csv"], option) for option in ("LOG", "--spec", "--bench")),
    *((["listen", "a.wav", *FLIGHT], option) for option in ("--spec", "--bench", "--picks")),
    *((["trace", "a.jpg"], option) for option in ("--spec", "--camera")),
    *((["watch", "a.mp4", *FLIGHT], option) for option in ("--spec", "--bench", "--marks")),
    (["specs"], "SPEC"),
]  # fmt: skip
"""A line, and what in it names a file that is read; of recordings themselves `test_recordings_refused.py` tells."""
TOML = {"--bench", "--camera"}


def test_every_option_that_reads_a_file_is_among_them() -> None:
    """The parser's own list of options whose help speaks of a file, a table or a requirement."""
    group = typer.main.get_command(app)
    known = {(words[0], option) for words, option in READ}
    words = ("(CSV)", "(TOML)", "CSV or XLSX", "TOML file")
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        for one in command.params:
            option = one.opts[0] if one.opts[0].startswith("-") else (one.metavar or one.name.upper())
            writes = option == "--readings" or option.startswith("--write-")
            if any(word in str(one.help) for word in words) and not writes:
                assert (name, option) in known


@pytest.fixture
def there(files: Any, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with good files, and with bad ones beside them."""
    folder: Path = files.folder
    monkeypatch.chdir(folder)
    (folder / "ramp.csv").write_bytes((RECORDINGS / "ramp.csv").read_bytes())
    (folder / "photo").write_bytes((RECORDINGS / "Curlew_07.jpg").read_bytes())
    (folder / "folder").mkdir()
    with (folder / "huge").open("wb") as file:
        file.truncate(3 * 1024**3)
    return folder


def put(words: list[str], option: str, file: str) -> list[str]:
    """The line with a file in place of one of its own."""
    if not option.startswith("-"):
        return [words[0], file, *words[2:]]
    if option in words:
        return [file if before == option else word for before, word in zip(["", *words], words, strict=False)]
    return [*words, option, file]


@pytest.mark.usefixtures("there")
@pytest.mark.parametrize(("words", "option"), READ, ids=lambda v: v if isinstance(v, str) else v[0])
def test_a_file_that_cannot_be_right_is_refused_with_its_name(ballbench: Run, words: list[str], option: str) -> None:
    """Status 2, one message that names it; a photograph is called one, and a bench file's is not told of sheets."""
    for file, says in (("photo", ""), ("folder", "a folder"), (os.devnull, "regular file"), ("huge", "")):
        run = ballbench(*put(words, option, file))
        assert (run.status, run.out) == (2, ""), (file, run.err)
        assert run.err.count("What to do: ") == 1, (file, run.err)
        assert Path(file).name in run.err
        assert says in run.err
        assert "Traceback" not in run.err
        if option in TOML:
            assert "XLSX" not in run.err
        if file == "photo" and option not in {"--spec", "SPEC"}:
            assert "found a photograph (JPEG)" in run.err


def test_a_bench_file_is_read_up_to_five_megabytes(ballbench: Run, there: Path) -> None:
    """Six megabytes of comments: refused for their size before they are taken apart."""
    (there / "long.toml").write_text("# a comment\n" * 500_000, encoding="utf-8")
    run = ballbench("roll", "ramp.csv", "--bench", "long.toml")
    assert (run.status, run.out) == (2, "")
    assert "at most 5 MB" in run.err


@pytest.mark.parametrize("coded", ["utf-8-sig", "utf-16"])
def test_a_bench_file_with_a_mark_of_byte_order_is_read(ballbench: Run, there: Path, coded: str) -> None:
    """As some editors write them: the mark is no part of the text."""
    (there / "marked.toml").write_text('[conditions]\nsurface = "steel block"\n', encoding=coded)
    run = ballbench("roll", "ramp.csv", "--bench", "marked.toml")
    assert (run.status, run.err) == (0, "")
