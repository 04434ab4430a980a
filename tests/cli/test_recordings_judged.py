"""From a recording to a judgement on the command line: the readings of one ball, and what it fell on."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.conftest import Ran
from tests.workflows.made_recordings import Evening, dropped

Program = Callable[..., Ran]
RECORDINGS = Path(__file__).resolve().parents[2] / "examples" / "winter-league" / "recordings"
BALL = ("--ball", "40.0 mm, 2.70 g", "--drop-height", "305 mm")
SPEC = ("--spec", "table-tennis-plastic")


@pytest.fixture(scope="module")
def one_ball(tmp_path_factory: pytest.TempPathFactory) -> Evening:
    """Three drops of one ball."""
    return dropped(tmp_path_factory.mktemp("sound") / "Curlew_07.wav", [[0.93] * 4, [0.931] * 4, [0.929] * 4])


@pytest.mark.parametrize("bench", [(), ("--write-bench", "b.toml")], ids=["alone", "with its bench file"])
def test_readings_of_one_ball_are_judged_with_a_report(
    ballbench: Program, one_ball: Evening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bench: tuple[str, ...]
) -> None:
    """`judge` takes what `listen` wrote of one ball: the same mean, the same decision, and a report in both forms."""
    monkeypatch.chdir(tmp_path)
    on = ("--surface", "steel block")
    heard = ballbench("listen", str(one_ball.file), *BALL, *SPEC, *on, "--readings", "r.csv", *bench, "--json", "-")
    assert heard.status == 0, heard.err
    told = json.loads(heard.out)
    (ball,), (clause,) = told["balls"], told["clauses"]
    rows = list(csv.DictReader((tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()))
    rebounds = [float(row["value"]) for row in rows if row["quantity"] == "rebound"]
    assert {(row["product"], row["ball"]) for row in rows} == {("Curlew", "07")}
    assert len(rebounds) == ball["drops"] == 3
    if not bench:
        (tmp_path / "b.toml").write_text('[conditions]\ndrop_height = "305 mm"\nsurface = "steel block"\n')
    judged = ballbench(
        "judge", "r.csv", *SPEC, "--bench", "b.toml", "--no-settle", "--report", "out", "--json", "j.json"
    )
    assert judged.status == 0, judged.err
    assert "Traceback" not in judged.err
    found = json.loads((tmp_path / "j.json").read_text(encoding="utf-8"))
    (product,) = found["products"]
    own = next(one for one in product["clauses"] if one["quantity"] == "rebound")
    assert own["decision"] == clause["decision"] == "met"
    assert sum(rebounds) / 3 == pytest.approx(ball["rebound"]["value"], abs=0.5), "rounded to whole mm at the worst"
    assert (product["product"], product["balls"]) == ("Curlew", 1)
    assert "Rebound height of each ball: met" in judged.out
    page = (tmp_path / "out" / "judgement.html").read_text(encoding="utf-8")
    assert "Rebound height of each ball" in page
    assert "nan" not in page.split()
    assert (tmp_path / "out" / "judgement.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("on", "decision", "why"),
    [
        (("--surface", "steel block"), "met", None),
        (("--surface", "oak table"), "not tested", "the readings were taken at oak table"),
        ((), "not tested", "put surface under [conditions]"),
    ],
    ids=["as the clause asks", "another", "not said"],
)
def test_listen_holds_a_clause_only_on_its_surface(
    ballbench: Program, one_ball: Evening, on: tuple[str, ...], decision: str, why: str | None
) -> None:
    """`--surface` of the command line reaches the clause."""
    ran = ballbench("listen", str(one_ball.file), *BALL, *SPEC, *on, "--json", "-")
    (clause,) = json.loads(ran.out)["clauses"]
    assert clause["decision"] == decision
    assert (clause["reason"] is None) if why is None else (why in clause["reason"])


@pytest.mark.parametrize(
    ("on", "why"),
    [
        (("--surface", "steel block"), "too few drops"),
        (("--surface", "oak table"), "the readings were taken at oak table"),
        ((), "put surface under [conditions]"),
    ],
    ids=["as the clause asks", "another", "not said"],
)
def test_watch_holds_a_clause_only_on_its_surface(
    ballbench: Program, tmp_path: Path, on: tuple[str, ...], why: str
) -> None:
    """The same of a film; on the right surface the next reason comes up, that one drop is too few."""
    film = shutil.copy(RECORDINGS / "Curlew_07_film.mp4", tmp_path)
    ran = ballbench("watch", str(film), *BALL, *SPEC, *on, "--json", "-")
    (clause,) = json.loads(ran.out)["clauses"]
    assert clause["decision"] == "not tested"
    assert why in clause["reason"]
