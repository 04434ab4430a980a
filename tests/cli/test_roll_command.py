"""`roll` on the command line: what it prints and writes, and how it refuses."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.ramps import Board, made_balls, ramp_table, spot_table, write_table

from ballbench.cli.failures import guarded
from ballbench.cli.main import app
from ballbench.presentation.rolls_json import rolls_to_json
from ballbench.workflows.roll import roll_typed


def ran(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["ballbench", *words])
    return guarded(app)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    rng = np.random.default_rng(5)
    write_table(tmp_path / "ramp.csv", ramp_table(made_balls("Curlew", 2, 0.05, rng), Board(noise=2.0), rng))
    write_table(tmp_path / "floats.csv", spot_table("Dunlin", "1", 10, 6, 0.7, rng))
    return tmp_path


@pytest.mark.parametrize("name", ["ramp", "floats"])
def test_json_of_the_command_is_that_of_the_typed_table(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """`--json -` prints the very document that a page gets for the same text, and nothing else; twice the same."""
    typed = rolls_to_json(roll_typed((here / f"{name}.csv").read_text(encoding="utf-8")))
    for _ in range(2):
        assert ran(monkeypatch, "roll", f"{name}.csv", "--json", "-") == 0
        assert capsys.readouterr().out == typed
    assert json.loads(typed)["format"] == "ballbench/rolls/1"


@pytest.mark.parametrize("name", ["ramp", "floats"])
def test_the_report_is_written_as_page_and_pdf(here: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """A page with one picture whose numbers stand in a table, and a PDF."""
    assert ran(monkeypatch, "roll", f"{name}.csv", "--report", "out") == 0
    page = (here / "out" / "roll.html").read_text(encoding="utf-8")
    assert page.count('<svg class="chart"') == 1
    assert "Numbers of this picture" in page
    assert (here / "out" / "roll.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("product,ball\nA,1\n", "neither a column veer nor a column spot"),
        ("product,ball,veer,orientation,direction,slope,angle,ball_diameter\nA,1,x,Q,turned,1000,5,40\n", "A, B or C"),
        ("", "empty"),
        ("\x00\x01\x02", "ramp.csv"),
    ],
)
def test_a_bad_file_gets_a_message_and_exit_status_two(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], text: str, words: str
) -> None:
    """What is wrong, never a traceback."""
    (here / "ramp.csv").write_text(text, encoding="utf-8")
    assert ran(monkeypatch, "roll", "ramp.csv") == 2
    told = capsys.readouterr()
    assert words in told.err
    assert "Traceback" not in told.err + told.out


def test_json_never_goes_over_the_log(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The log stands as it was."""
    before = (here / "ramp.csv").read_bytes()
    assert ran(monkeypatch, "roll", "ramp.csv", "--json", "ramp.csv") == 2
    assert (here / "ramp.csv").read_bytes() == before


def test_a_condition_of_the_bench_file_is_reckoned_in(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A clause on glass is not tested without a word on the surface, and is with one."""
    (here / "rule.toml").write_text(
        'id = "own"\nsport = "any"\ntitle = "Own"\nedition = "2026"\n'
        'source = { document = "Invented", clause = "1", seen = "own" }\n[[clause]]\nid = "veer"\ntext = "Up to 1 m."\n'
        'quantity = "veer"\nball = "max"\nsample = "each"\nupper = "1000 mm"\nconditions = { surface = "glass" }\n',
        encoding="utf-8",
    )
    (here / "bench.toml").write_text('[conditions]\nsurface = "glass"\n', encoding="utf-8")
    decisions = []
    for more in ((), ("--bench", "bench.toml")):
        assert ran(monkeypatch, "roll", "ramp.csv", "--spec", "rule.toml", "--json", "-", *more) == 0
        decisions.append(json.loads(capsys.readouterr().out)["clauses"][0]["decision"])
    assert decisions == ["not tested", "met"]
