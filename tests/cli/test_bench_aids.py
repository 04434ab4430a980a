"""`vee` and `press` on the command line: what they print and write, and how they refuse."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from ballbench.cli.failures import guarded
from ballbench.cli.main import app
from ballbench.workflows.bench_aids import press_entries, vee_entries

VEE = "product,ball,section,angle,low,high,turns\nCurlew,01,seam,90,-0.012,0.018,3\nCurlew,02,seam,90,0,0.030,3\n"
PRESS = (
    "product,ball,orientation,direction,load,preload,seconds,deformation\n"
    "Curlew,01,seam,forward,80,15,5,6.1\nCurlew,02,seam,forward,80,15,5,6.4\n"
    "Dunlin,01,seam,forward,80,15,5,7.8\nDunlin,02,seam,forward,80,15,5,8.1\n"
)
FILES = {"vee": VEE, "press": PRESS}


def ran(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["ballbench", *words])
    return guarded(app)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for name, text in FILES.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("name", ["vee", "press"])
def test_json_of_the_command_is_that_of_the_page(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """`--json -` prints the very document that the bench's page gets for the same text, and nothing else."""
    assert ran(monkeypatch, name, f"{name}.csv", "--json", "-") == 0
    printed = capsys.readouterr().out
    typed = vee_entries(VEE, None, "") if name == "vee" else press_entries(PRESS, "")
    assert printed == typed.document
    assert json.loads(printed)["format"] == f"ballbench/{name}/1"
    assert ran(monkeypatch, name, str(here / f"{name}.csv"), "--json", "-") == 0
    assert capsys.readouterr().out == printed


@pytest.mark.parametrize("name", ["vee", "press"])
def test_the_report_is_written_as_page_and_pdf(here: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """A page with one picture whose numbers stand in a table, and a PDF."""
    assert ran(monkeypatch, name, f"{name}.csv", "--report", "out") == 0
    page = (here / "out" / f"{name}.html").read_text(encoding="utf-8")
    assert page.count('<svg class="chart"') == 1
    assert "Numbers of this picture" in page
    assert (here / "out" / f"{name}.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("name", ["vee", "press"])
def test_a_terminal_that_knows_ascii_only_gets_ascii(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """No letter beyond ASCII is printed where the terminal knows no others; every line fits in 80 columns."""
    del here
    monkeypatch.setattr("rich.console.ConsoleOptions.ascii_only", property(lambda _: True))
    assert ran(monkeypatch, name, f"{name}.csv") == 0
    out = capsys.readouterr().out
    assert out.isascii()
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("vee", "none.csv"), "none.csv"),
        (("vee", "vee.csv", "--lobes", "1"), "--lobes"),
        (("vee", "vee.csv", "--spec", "no-such-rule"), "no-such-rule"),
        (("press", "vee.csv"), "no column orientation"),
        (("press", "press.csv", "--json", "press.csv"), "not one of the inputs"),
    ],
)
def test_what_cannot_be_used_ends_with_status_2_and_the_reason(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    """A missing file, a number of lobes or a requirement that cannot be: said on stderr, without a traceback."""
    assert ran(monkeypatch, *words) == 2
    said = capsys.readouterr().err
    assert told in said
    assert "Traceback" not in said
    assert (here / "press.csv").read_text(encoding="utf-8") == PRESS
