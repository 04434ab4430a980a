from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from made_evening import UNITS, files_of, taken
from made_tests import LEAGUE, RULE

from ballbench.presentation.findings_json import findings_to_json
from ballbench.records import amend, read_balls, read_corrections, read_readings
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook
from ballbench.workflows.exchange import export_file
from ballbench.workflows.judge_test import judge_notebook_test


@pytest.fixture
def taken_league(notebook: Notebook) -> BallTest:
    """The invented winter league, taken in."""
    names = ("readings", "corrections", "balls")
    files = {name: LEAGUE / f"{name}.csv" for name in names} | {
        "bench": LEAGUE / "bench.toml",
        "requirement": LEAGUE / "league-ball.toml",
    }
    return taken(notebook, files)


def test_the_winter_league_goes_through_the_notebook_unchanged(
    notebook: Notebook, taken_league: BallTest, tmp_path: Path
) -> None:
    """Every reading, spoiled attempt, correction and ball fact of the example is the same in what is handed out."""
    files = files_of(notebook, taken_league.id, tmp_path / "files")
    before, after = (read_readings(path, UNITS) for path in (LEAGUE / "readings.csv", files["readings"]))
    assert after.table.drop("line").equals(before.table.drop("line"))
    assert after.spoiled == before.spoiled
    assert after.invented
    said = [read_corrections(path) for path in (LEAGUE / "corrections.csv", files["corrections"])]
    found = [
        amend(table, lines).readings.table.drop("line") for table, lines in zip((before, after), said, strict=True)
    ]
    assert found[0].equals(found[1])
    facts = [read_balls(path).balls for path in (LEAGUE / "balls.csv", files["balls"])]
    assert facts[0] == facts[1]
    assert files["bench"].read_bytes() == (LEAGUE / "bench.toml").read_bytes()
    assert files["requirement"].read_text("utf-8") == RULE


def test_the_workbook_holds_the_same_readings(notebook: Notebook, taken_league: BallTest, tmp_path: Path) -> None:
    """Read from readings.xlsx every value and name is that of readings.csv; only zeros at a number's end are gone."""
    book = tmp_path / "readings.xlsx"
    book.write_bytes(export_file(notebook, taken_league.id, "readings.xlsx"))
    table = tmp_path / "readings.csv"
    table.write_bytes(export_file(notebook, taken_league.id, "readings.csv"))
    one, other = (read_readings(path, UNITS) for path in (book, table))
    assert one.table.drop("decimals").equals(other.table.drop("decimals"))
    assert (one.spoiled, one.invented) == (other.spoiled, other.invented)


def test_findings_of_the_notebook_are_those_of_the_files(
    notebook: Notebook, taken_league: BallTest, league_findings: dict[str, Any]
) -> None:
    """The winter league judged from its own files and through the notebook differs in the readings' digest alone."""
    kept = json.loads(findings_to_json(judge_notebook_test(notebook, taken_league.id)))
    assert set(kept) == set(league_findings)
    assert {name for name in kept if kept[name] != league_findings[name]} == {"readings_digest"}
