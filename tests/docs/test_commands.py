from __future__ import annotations

import doctest
import io
import itertools
import re
import shlex
import shutil
import sys
import tomllib
import uuid
import zipfile
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path

import pytest
from doc_pages import ROOT, Block, blocks, page, pages
from opened_bench import opened

from ballbench.cli.failures import guarded
from ballbench.cli.main import app
from ballbench.records import read_bench, read_corrections, read_readings
from ballbench.records.check_log import read_check_log
from ballbench.records.clip_marks import read_marks
from ballbench.records.force_readings import read_force_readings
from ballbench.records.media.camera_file import read_camera
from ballbench.records.press_log import read_press_log
from ballbench.records.roll_log import read_roll_log
from ballbench.records.spot_log import read_spot_log
from ballbench.records.vee_readings import read_vee_readings
from ballbench.specs import load_requirement
from ballbench.workflows.demo import example_folder
from ballbench.workflows.exchange import export_file
from ballbench.workflows.opening import open_notebook
from ballbench.workflows.take_in_test import TakeIn, take_in_test

FOLLOWS = {"docs/guides/judge.md": "docs/guides/start.md", "docs/guides/correct.md": "docs/guides/start.md"}
"""A page whose examples use the files of another."""
UNNAMED = {"docs/guides/ask.md": ("toml", "winter-league-ball.toml")}
"""A page with one complete file, whose name stands in the command below it."""
KEEPS = "docs/guides/keep.md"
"""A page whose examples use a notebook with the invented winter league, and its files."""
ADDRESS = "127.0.0.2"
"""An address of this machine that stands for the one on a network, where a page shares the bench."""
RECORDED = {"docs/guides/listen.md", "docs/guides/trace.md", "docs/guides/watch.md"}
"""Pages whose examples use the recordings of the invented winter league."""
OUTSIDE = {"make demo", "make open", "make test"}
"""What a reader runs before there is a ballbench; `test_map.py` holds it against the Makefile."""

OTHER_FILES: dict[str, Callable[[Path], int]] = {
    "vee.csv": lambda file: len(read_vee_readings(file).rows),
    "press.csv": lambda file: len(read_press_log(file)[0].rows),
    "ramp.csv": lambda file: len(read_roll_log(file).rows),
    "floats.csv": lambda file: len(read_spot_log(file).rows),
    "marks.csv": lambda file: len(read_marks(file).rows),
    "camera.toml": lambda file: file.read_text().count("\n") - 1 if read_camera(file).focal == 3120.0 else 0,
    "study.csv": lambda file: read_readings(file).table.height,
    "checks.csv": lambda file: len(read_check_log(file, "mm").readings),
    "forces.csv": lambda file: len(read_force_readings(file).readings),
    "own-press.toml": lambda file: file.read_text().count("\n") - 1 if load_requirement(file).clauses else 0,
}
"""Files of other kinds than readings, corrections and benches, and how many rows their reader finds."""

NAMES = [str(path.relative_to(ROOT)) for path in pages()]
WITH_COMMANDS = [name for name in NAMES if any(block.language == "console" for block in blocks(page(name)))]
WITH_EXAMPLES = [name for name in NAMES if name.startswith("docs/guides/") and ">>> " in page(name)]
"""Guides with examples in Python; those of the method pages and of the interface have tests of their own."""


def commands(block: Block) -> list[tuple[list[str], str]]:
    """Commands of a console block with what must come out of each."""
    found: list[tuple[list[str], str]] = []
    for line in block.text.splitlines(keepends=True):
        if line.startswith("$ "):
            found.append((shlex.split(line[2:]), ""))
        else:
            words, told = found[-1]
            found[-1] = (words, told + line)
    return found


def lay_files(name: str, folder: Path) -> None:
    """Write the files that a page shows, and those of the page it follows."""
    if name in FOLLOWS:
        lay_files(FOLLOWS[name], folder)
    if name == KEEPS:
        lay_notebook(folder)
    if name in RECORDED:
        shutil.copytree(ROOT / "examples" / "winter-league" / "recordings", folder, dirs_exist_ok=True)
    for block in blocks(page(name)):
        if "file" in block.marks:
            (folder / block.marks["file"]).write_text(block.text, encoding="utf-8")
        elif name in UNNAMED and block.language == UNNAMED[name][0]:
            (folder / UNNAMED[name][1]).write_text(block.text, encoding="utf-8")


def lay_notebook(folder: Path) -> None:
    """Make the notebook that a page speaks of, with the invented league, and lay out the files of that test."""
    league = example_folder()
    rule = (league / "league-ball.toml").read_text(encoding="utf-8")
    files = [league / name for name in ("corrections.csv", "balls.csv", "bench.toml")]
    request = TakeIn(str(uuid.uuid4()), "docs", "E", "", league / "readings.csv", rule, *files)
    with closing(open_notebook(folder / "winter")) as notebook:
        test = take_in_test(notebook, request)
        everything = export_file(notebook, test.id, "everything.zip")
    with zipfile.ZipFile(io.BytesIO(everything)) as archive:
        archive.extractall(folder)


def what_an_open_bench_says(words: Sequence[str], folder: Path) -> str:
    """Open a bench as a page shows it, end it, and give all that it said."""
    shared = ("--address", ADDRESS) if "--share" in words else ()
    if shared and sys.platform != "linux":
        pytest.skip(f"{ADDRESS} is this machine's address on Linux only")
    with opened(folder, (*words[2:], *shared)) as bench:
        pass
    assert bench.status == 0
    return bench.said()


def test_the_readme_and_the_guides_show_commands() -> None:
    """There are commands to be run: none of the pages has lost its blocks."""
    assert {"README.md", "docs/guides/start.md", "docs/guides/judge.md", "docs/guides/compare.md"} <= {*WITH_COMMANDS}


@pytest.mark.parametrize("name", WITH_COMMANDS)
def test_what_a_page_shows_of_a_command_comes_out_of_it(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """Every `$ ballbench ...` runs on the page's own files, ends as said, and prints what stands below it."""
    lay_files(name, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for block in blocks(page(name)):
        if block.language != "console":
            continue
        for words, wanted in commands(block):
            assert words[0] == "ballbench"
            if words[1] == "open":
                out = what_an_open_bench_says(words, tmp_path)
                said = out.partition("ballbench: the bench is closed.")[0]
                assert doctest.OutputChecker().check_output(wanted, said, doctest.ELLIPSIS), f"{words}\n{out}"
                continue
            monkeypatch.setattr(sys, "argv", words)
            capfd.readouterr()
            status = guarded(app)
            told = capfd.readouterr()
            progress = re.compile(r"^Working out: .*\n", re.MULTILINE)  # where a screen shows a bar that goes away
            out = told.out + progress.sub("", told.err)
            assert status == int(block.marks.get("status", 0)), out
            if wanted:
                assert doctest.OutputChecker().check_output(wanted, out, doctest.ELLIPSIS), f"{words}\n{out}"
            for option, value in itertools.pairwise(words):
                if option in ("--json", "--report") and value != "-":
                    assert Path(value).exists()


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_of_a_guide_print_what_it_says(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every example in Python runs on the page's own files and prints what stands below it."""
    lay_files(name, tmp_path)
    monkeypatch.chdir(tmp_path)
    failed, attempted = doctest.testfile(str(ROOT / name), module_relative=False, optionflags=doctest.ELLIPSIS)
    assert attempted > 0
    assert failed == 0


@pytest.mark.parametrize("name", NAMES)
def test_no_block_is_left_unread(name: str) -> None:
    """A block is a command that is run, a file that is read, or an example that other tests run."""
    for block in blocks(page(name)):
        if block.language == "sh":
            assert {line.partition("#")[0].strip() for line in block.text.splitlines()} <= OUTSIDE
        elif block.language in ("csv", "toml"):
            known = bool(block.marks) or name in UNNAMED
            assert known, f"a {block.language} block without a mark"
        else:
            assert block.language in ("console", "python"), f"a block of {block.language!r}"


FILES = [
    (name, block)
    for name in NAMES
    for block in blocks(page(name))
    if "file" in block.marks and block.marks["file"] != "slip.csv"
]


@pytest.mark.parametrize(("name", "block"), FILES, ids=[f"{name}-{block.marks['file']}" for name, block in FILES])
def test_files_that_a_page_shows_are_good(name: str, block: Block, tmp_path: Path) -> None:
    """Every file block is accepted by its reader with no row lost, and is what the page calls it in the text."""
    file = tmp_path / block.marks["file"]
    file.write_text(block.text, encoding="utf-8")
    rows = block.text.count("\n") - 1
    if file.name in OTHER_FILES:
        assert OTHER_FILES[file.name](file) == rows - block.text.startswith('"Invented data')
    elif file.suffix == ".toml":
        assert set(read_bench(file).instruments) == set(tomllib.loads(block.text)["instrument"])
    elif file.name == "corrections.csv":
        assert len(read_corrections(file).lines) == rows
    else:
        cells = block.text.splitlines()[1].count(",") - 1
        assert read_readings(file).table.height == rows * cells
    assert f"`{file.name}`" in page(name)
