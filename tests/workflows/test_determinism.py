from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import ballbench.workflows.judge as module
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import findings_to_json
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.judge import judge

CODE = """
import sys
from pathlib import Path
from ballbench.presentation.findings_json import findings_to_json
from ballbench.workflows.judge import JudgeRequest, judge
f = Path(sys.argv[1])
r = JudgeRequest(f / "readings.csv", str(f / "league-ball.toml"), f / "bench.toml", f / "corrections.csv",
                 f / "balls.csv", draws=2000, settle=True)
sys.stdout.write(findings_to_json(judge(r)))
"""


def run_with(threads: int, league: Path) -> bytes:
    """The JSON of the winter league from a process whose numeric libraries may use so many threads."""
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "POLARS_MAX_THREADS")
    env = {**os.environ, **dict.fromkeys(names, str(threads)), "PYTHONHASHSEED": str(threads)}
    return subprocess.run([sys.executable, "-c", CODE, str(league)], capture_output=True, check=True, env=env).stdout


def test_same_bytes_with_one_thread_and_with_four(league: Path) -> None:
    """Threads of the linear-algebra and table libraries, and the hash seed, change no byte of the JSON."""
    assert run_with(1, league) == run_with(4, league)


def test_same_bytes_whatever_the_number_of_products_side_by_side(
    league_request: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Products judged one after another or eight at a time give the same text."""
    texts = []
    for processors in (1, 8):
        monkeypatch.setattr(module.os, "cpu_count", lambda count=processors: count)
        texts.append(findings_to_json(judge(league_request(draws=1000))))
    assert texts[0] == texts[1]


def test_another_seed_differs_only_slightly(league_request: Callable[..., Any]) -> None:
    """Chances under another seed differ by Monte Carlo error alone: four of its SDs, sqrt(2 p (1 - p) / draws)."""
    draws = 20_000
    first, second = (json.loads(findings_to_json(judge(league_request(draws=draws, seed=seed)))) for seed in (1, 2))
    assert first != second
    compared = 0
    for a, b in zip(first["products"], second["products"], strict=True):
        for c, d in zip(a["clauses"], b["clauses"], strict=True):
            p, q = c["probability_met"], d["probability_met"]
            middle = min(max((p + q) / 2, 20 / draws), 1 - 20 / draws)
            assert abs(p - q) <= 4.0 * (2.0 * middle * (1.0 - middle) / (0.5 * draws)) ** 0.5
            if c["truth"] is not None:
                width = c["truth"]["high"] - c["truth"]["low"]
                assert abs(c["truth"]["median"] - d["truth"]["median"]) < 0.05 * width
            compared += 1
    assert compared == 27


def test_the_order_of_products_changes_no_number(
    league: Path, league_request: Callable[..., Any], tmp_path: Path
) -> None:
    """With the products of the file in another order each product's findings are the same, in the file's order."""
    first, head, *rows = (league / "readings.csv").read_text(encoding="utf-8").splitlines()
    turned = sorted(rows, key=lambda row: row.split(",")[0], reverse=True)
    other = tmp_path / "readings.csv"
    other.write_text("\n".join([first, head, *turned]) + "\n", encoding="utf-8")
    a = json.loads(findings_to_json(judge(league_request(draws=1000))))["products"]
    b = json.loads(findings_to_json(judge(league_request(draws=1000, readings=other))))["products"]
    assert [product["product"] for product in b] == [product["product"] for product in reversed(a)]
    assert list(reversed(b)) == a


def test_a_product_alone_has_the_numbers_it_has_among_others(
    league: Path, league_request: Callable[..., Any], tmp_path: Path
) -> None:
    """Judged alone, without the other makes in the file, a product's chances and truths are the same."""
    first, head, *rows = (league / "readings.csv").read_text(encoding="utf-8").splitlines()
    alone = tmp_path / "readings.csv"
    own = [row for row in rows if row.startswith("Dunlin")]
    alone.write_text("\n".join([first, head, *own]) + "\n", encoding="utf-8")
    fix = tmp_path / "corrections.csv"
    lines = (league / "corrections.csv").read_text(encoding="utf-8").splitlines()
    fix.write_text("\n".join([lines[0], *(line for line in lines if line.startswith("Dunlin"))]) + "\n")
    among = judge(league_request(draws=1000)).products[1]
    (single,) = judge(league_request(draws=1000, readings=alone, corrections=fix)).products
    assert single == among


def test_compare_gives_the_same_bytes_for_the_same_seed(league: Path) -> None:
    """So does a comparison; another seed gives another text."""
    request = CompareRequest(
        league / "readings.csv", "diameter", league / "bench.toml", league / "corrections.csv",
        str(league / "league-ball.toml"), 1, 2000,
    )  # fmt: skip
    again = CompareRequest(*(getattr(request, name) for name in request.__slots__))
    assert comparison_to_json(compare(request)) == comparison_to_json(compare(again))
