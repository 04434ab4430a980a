from __future__ import annotations

import re
import runpy
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

COLUMNS = ("product", "ball", "quantity", "axis", "repeat", "action", "value", "reason", "by", "time")


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """What the demonstration prints, and the folder of its reports; run once, from a folder of its own."""
    folder = tmp_path_factory.mktemp("demo")
    done = subprocess.run(
        [sys.executable, "-m", "ballbench.cli.main", "demo", "--report", str(folder / "shown")],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return done.stdout, folder / "shown"


def test_the_demo_ends_by_saying_where_the_reports_are(shown: tuple[str, Path]) -> None:
    """The last lines name the page, the next step's page, the data and the bench; all files exist."""
    text, folder = shown
    last = text.rstrip().splitlines()[-18:]
    named = [Path(found) for line in last for found in re.findall(r"(/\S+)$", line)]
    assert folder / "judgement.html" in named
    assert folder / "comparison.html" in named
    assert all(path.exists() for path in named)
    assert any("invented" in line for line in last)
    assert last[-1].endswith("ballbench open")


def test_the_reports_are_pages_and_pdfs_that_stand_alone(shown: tuple[str, Path]) -> None:
    """A page and a PDF each; pages fetch nothing from elsewhere and run no code from text; PDFs are whole."""
    _, folder = shown
    kinds = ("comparison", "judgement", "listen", "roll", "trace", "watch")
    assert sorted(path.name for path in folder.iterdir()) == [
        f"{one}.{ext}" for one in kinds for ext in ("html", "pdf")
    ]
    for page in folder.glob("*.html"):
        text = page.read_text(encoding="utf-8")
        assert "invented" in text.lower()
        assert re.findall(r"""(?:src|href)\s*=\s*["']?(?:https?:)?//""", text) == []
        assert "eval(" not in text
    for pdf in folder.glob("*.pdf"):
        data = pdf.read_bytes()
        assert data.startswith(b"%PDF-")
        assert b"%%EOF" in data[-64:]


def test_the_demo_tells_the_three_makes_apart(shown: tuple[str, Path]) -> None:
    """As the invented data were made: Curlew is good, Dunlin out of round, Plover too near its limit to tell."""
    text, _ = shown
    assert "Curlew, 24 balls: met." in text
    assert "Dunlin, 24 balls: not met." in text
    assert "Plover, 24 balls: undecided." in text


@pytest.mark.parametrize(
    ("kind", "planted"), [("listen", 0.9262), ("watch", 0.923)], ids=["sound", "film"]
)  # as examples/make_recordings.py made them: the mean of three drops, and one drop
def test_the_demo_finds_what_was_planted_in_its_recordings(shown: tuple[str, Path], kind: str, planted: float) -> None:
    """The restitution of Curlew's ball at the first impact lies in the stated interval."""
    (line,) = [one for one in shown[0].splitlines() if f"(ballbench {kind})" in one]
    found = re.search(r"restitution 0\.\d+ \((0\.\d+) to (0\.\d+)\)", line)
    assert found is not None, line
    assert float(found[1]) <= planted <= float(found[2])
    assert float(found[2]) - float(found[1]) < 0.02


def test_the_demo_tells_the_leaning_ramp(shown: tuple[str, Path]) -> None:
    """The report on the ramp says a lean that holds the planted 1.20 mrad (examples/make_recordings.py)."""
    text = re.sub(r"<[^>]+>", " ", (shown[1] / "roll.html").read_text(encoding="utf-8"))
    lean = re.search(r"leaned by [\d.]+ mrad \(([\d.]+) to ([\d.]+)\)", re.sub(r"\s+", " ", text))
    assert lean is not None
    assert float(lean[1]) <= 1.20 <= float(lean[2])


def test_the_data_are_those_of_the_seeded_script(league: Path, tmp_path: Path) -> None:
    """Running the generator again writes the same readings and ball facts, byte by byte."""
    runpy.run_path(str(league.parent / "make_winter_league.py"))["write"](tmp_path / "again")
    for name in ("readings.csv", "balls.csv"):
        assert (tmp_path / "again" / name).read_bytes() == (league / name).read_bytes()


def test_without_the_corrections_the_readings_are_refused(ballbench: Run, league: Path) -> None:
    """Of the two slips the lost decimal point stops everything, and a line to paste is offered."""
    words = ["judge", str(league / "readings.csv"), "--spec", str(league / "league-ball.toml"), "--json", "-"]
    run = ballbench(*words)
    assert (run.status, run.out) == (2, "")
    assert run.err.count("ballbench: ") == 1
    assert "lost decimal point" in run.err
    assert re.search(r"Plover,03,diameter,seam,1,correct,40\.4\d,", run.err)


def test_the_offered_line_with_a_reason_answers_the_question(ballbench: Run, league: Path, tmp_path: Path) -> None:
    """The line from the message, given a reason in its place, makes the readings pass."""
    words = [
        "judge", str(league / "readings.csv"), "--spec", str(league / "league-ball.toml"), "--json", "-",
        "--draws", "500", "--no-settle",
    ]  # fmt: skip
    offered = re.search(r"with the line (.+)$", ballbench(*words).err, re.MULTILINE)
    assert offered is not None
    fields = offered[1].split(",")
    head = [*COLUMNS, "box", "line"]
    line = dict(zip(head, fields, strict=False))
    assert line["reason"] == "REASON"
    line["reason"] = "point not typed"
    fix = tmp_path / "fix.csv"
    fix.write_text(",".join(head) + "\n" + ",".join(line.get(name, "") for name in head) + "\n")
    run = ballbench(*words, "--corrections", str(fix))
    assert run.status == 0, run.err
    assert "point not typed" in run.out
