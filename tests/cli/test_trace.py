"""`trace` on the command line: what it prints and writes, and how it ends."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

import pytest

from ballbench.cli.failures import guarded
from ballbench.cli.main import app

RECORDINGS = Path(__file__).resolve().parents[2] / "examples" / "winter-league" / "recordings"
SCALE = ("--scale", "0.08 mm/px", "--distance", "1.2 m")


def ran(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["ballbench", *words])
    return guarded(app)


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("Curlew_07.jpg", "Curlew_08_cut.jpg", "Plover_11.jpg"):
        shutil.copy(RECORDINGS / name, tmp_path)
    return tmp_path


def test_json_alone_readings_and_report(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`--json -` prints JSON alone; readings and report are written; a refused photograph does not stop it."""
    words = (
        "trace",
        "Curlew_07.jpg",
        "Curlew_08_cut.jpg",
        *SCALE,
        "--json",
        "-",
        "--readings",
        "out.csv",
        "--report",
        "r",
    )
    assert ran(monkeypatch, *words) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["format"] == "ballbench/outlines/1"
    assert [bool(photo["refused"]) for photo in told["photos"]] == [False, True]
    says, header, *_ = (here / "out.csv").read_text(encoding="utf-8").splitlines()
    assert says == '"Invented data, for demonstration"'
    assert header.startswith("product,ball,quantity")
    assert (here / "r" / "trace.html").exists()
    assert (here / "r" / "trace.pdf").read_bytes().startswith(b"%PDF")


def test_nothing_read_ends_with_2(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Only a refused photograph: the reason is shown, status 2 (contract)."""
    assert ran(monkeypatch, "trace", "Curlew_08_cut.jpg", *SCALE) == 2
    assert "cut off" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("Curlew_07.jpg", "--scale", "0.08"), "mm/px"),
        (("Curlew_07.jpg", "--spec", "no-such"), "no-such"),
        (("Curlew_07.jpg", "--camera", "no.toml"), "no.toml"),
        (("Curlew_07.jpg", "--turned", "0,60"), "turns"),
        (("Curlew_07.jpg", "--json", "Curlew_07.jpg"), "not one of the inputs"),
        (("Curlew_07.jpg", "--readings", "Curlew_07.jpg"), "not one of the inputs"),
        (("Curlew_07.jpg", "--readings", "out.csv"), "pixels"),
        (("Curlew_07.jpg", "--names", "{nothing}"), "{ball}"),
    ],
)
def test_bad_options_get_one_message_and_no_traceback(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    """Status 2, where, what is allowed and what to do on stderr; the photograph is never written over."""
    before = (here / "Curlew_07.jpg").read_bytes()
    assert ran(monkeypatch, "trace", *words) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "What to do" in told
    assert "Traceback" not in told
    assert (here / "Curlew_07.jpg").read_bytes() == before
