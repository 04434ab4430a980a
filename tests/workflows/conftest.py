"""Invented readings with known truth, written to files and judged as a person would have it done."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from ballbench.presentation.findings_json import findings_to_json
from ballbench.store import Notebook, open_notebook
from ballbench.workflows.judge import JudgeRequest, judge

for folder in (Path(__file__).parent, Path(__file__).parents[1] / "store"):  # models, and tests of invented balls
    sys.path.insert(0, str(folder))

HEAD = """id = "own-rule"
sport = "any"
title = "Own rule (invented)"
edition = "2026"
source = { document = "Invented for the tests", seen = "own" }
"""
BENCH = """[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
repeatability = { sd = 0.008, dof = 20, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.005, scale_sd = 0.0 }
"""
COLUMNS = ("product", "ball", "quantity", "axis", "repeat", "value")
Row = tuple[object, ...]


@pytest.fixture(scope="session")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A notebook in which nothing is yet, to be copied: making one takes ten times as long."""
    folder = tmp_path_factory.mktemp("blank") / "notebook"
    open_notebook(folder).close()
    return folder


@pytest.fixture
def notebook(tmp_path: Path, blank: Path) -> Iterator[Notebook]:
    """A new notebook in a folder."""
    shutil.copytree(blank, tmp_path / "notebook")
    opened = open_notebook(tmp_path / "notebook")
    yield opened
    opened.close()


class Bench:
    """A table to work at: a folder, good default files, and the program's own way from file to JSON."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def file(self, name: str, text: str) -> Path:
        """Write a text file."""
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def readings(self, rows: Iterable[Row], columns: Iterable[str] = COLUMNS, name: str = "box.csv") -> Path:
        """Write a readings file in the long form."""
        lines = [",".join(columns), *(",".join(str(cell) for cell in row) for row in rows)]
        return self.file(name, "\n".join(lines) + "\n")

    def spec(self, clauses: str, more: str = "") -> str:
        """Write a requirement of some clauses."""
        return str(self.file("rule.toml", HEAD + more + clauses))

    def judge(self, readings: Path, spec: str, bench: str | None = BENCH, **options: Any) -> dict[str, Any]:
        """Judge, and give the findings as a reader of the JSON gets them."""
        return json.loads(self.text(readings, spec, bench, **options))

    def text(self, readings: Path, spec: str, bench: str | None = BENCH, **options: Any) -> str:
        """Judge, and give the JSON text."""
        place = self.file("bench.toml", bench) if bench is not None else None
        return findings_to_json(
            judge(JudgeRequest(readings, spec, place, **{"draws": 2000, "settle": False, **options}))
        )

    def one(self, readings: Path, spec: str, bench: str | None = BENCH, **options: Any) -> dict[str, Any]:
        """Judge one product by one clause, and give the clause."""
        (product,) = self.judge(readings, spec, bench, **options)["products"]
        (clause,) = product["clauses"]
        return clause


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A table to work at."""
    return Bench(tmp_path)


@pytest.fixture
def diameters() -> Callable[..., list[Row]]:
    """Rows of invented diameter readings of one make: mean, SD between balls, SD of form, SD of noise, mm."""

    def made(
        product: str = "Curlew", balls: int = 8, axes: int = 3, *, mean: float = 40.25, ball_sd: float = 0.02,
        form_sd: float = 0.015, noise: float = 0.008, seed: int = 1, step: float = 0.01,
    ) -> list[Row]:  # fmt: skip
        rng = np.random.default_rng(seed)
        truth = mean + ball_sd * rng.standard_normal((balls, 1)) + form_sd * rng.standard_normal((balls, axes))
        read = np.round((truth + noise * rng.standard_normal(truth.shape)) / step) * step
        places = ("seam", "across", "free", "slant")
        return [
            (product, f"{i + 1:02d}", "diameter", places[j], 1, f"{read[i, j]:.2f}")
            for i in range(balls)
            for j in range(axes)
        ]

    return made


@pytest.fixture(scope="session")
def league() -> Path:
    """The folder of the invented winter league."""
    return Path(__file__).parents[2] / "examples" / "winter-league"


@pytest.fixture(scope="session")
def league_request(league: Path) -> Callable[..., JudgeRequest]:
    """A request to judge the winter league, quickly."""

    def request(**changes: Any) -> JudgeRequest:
        usual = {
            "readings": league / "readings.csv", "spec": str(league / "league-ball.toml"),
            "bench": league / "bench.toml", "corrections": league / "corrections.csv", "balls": league / "balls.csv",
            "draws": 2000, "settle": False,
        }  # fmt: skip
        return JudgeRequest(**{**usual, **changes})

    return request


@pytest.fixture(scope="session")
def league_findings(league_request: Callable[..., JudgeRequest]) -> dict[str, Any]:
    """The winter league judged once, what would settle it included."""
    return json.loads(findings_to_json(judge(league_request(draws=None, settle=True))))
