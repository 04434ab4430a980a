from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

RULE = """id = "small-mean"
sport = "any"
title = "A small rule (invented)"
edition = "2026"
source = { document = "Invented for the tests", clause = "1", seen = "own" }

[[clause]]
id = "mean"
text = "The mean diameter is 40.00 to 40.60 mm."
quantity = "diameter"
ball = "mean"
sample = "mean"
lower = "40.00 mm"
upper = "40.60 mm"
"""
BENCH = """[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.001
repeatability = { sd = 0.008, dof = 30, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.010 }
"""


@dataclass(frozen=True, slots=True)
class Asked:
    """A small requirement and a bench with a fine display, and the words that plan with them quickly."""

    folder: Path
    words: tuple[str, ...]


@pytest.fixture
def asked(tmp_path: Path) -> Asked:
    """A mean of 40.30 mm lies far inside 40.00 to 40.60 mm."""
    (tmp_path / "rule.toml").write_text(RULE, encoding="utf-8")
    (tmp_path / "bench.toml").write_text(BENCH, encoding="utf-8")
    words = ("plan", "--spec", str(tmp_path / "rule.toml"), "--bench", str(tmp_path / "bench.toml"), "--true-sd",
             "0.05", "--axes", "1", "--tests", "20", "--processes", "1")  # fmt: skip
    return Asked(tmp_path, words)


def test_the_words_say_which_design_is_enough(ballbench: Run, asked: Asked) -> None:
    """Status 0; six balls are enough for a mean that is 0.3 mm inside, and each design has its line."""
    run = ballbench(*asked.words, "--balls", "6,8")
    assert run.status == 0, run.err
    lines = run.out.splitlines()
    assert lines[0] == "How many balls: diameter, A small rule (invented), edition 2026"
    assert lines[1].startswith("6 balls, 1 place each, read once")
    assert any(line.startswith("●") and "6 balls" in line and line.endswith("  enough") for line in lines)
    assert any(line.startswith("●") and "8 balls" in line and line.endswith("enough too") for line in lines)
    assert all(len(line) <= 80 for line in lines)


def test_json_stands_alone_and_is_the_same_for_the_same_seed(ballbench: Run, asked: Asked) -> None:
    """`--json -` prints one object of the contract's format, twice the same bytes, with the chances of each design."""
    first, second = (ballbench(*asked.words, "--balls", "6", "--seed", "3", "--json", "-") for _ in "ab")
    assert first.status == 0, first.err
    assert first.out == second.out
    made = json.loads(first.out)
    assert made["format"] == "ballbench/plan/1"
    assert (made["seed"], made["tests"]) == (3, 20)
    (setting,) = made["settings"]
    assert (setting["balls"], setting["axes"], setting["repeats"]) == (6, 1, 1)
    assert setting["chance_met"] + setting["chance_not_met"] + setting["chance_undecided"] == pytest.approx(1.0)
    assert setting["chance_met"] >= 0.9
    assert made["truth"]["mean"] == pytest.approx(40.3)
    assert made["limits"] == {"lower": 40.0, "upper": 40.6}


def test_a_pipe_is_told_at_once_what_is_worked_out(ballbench: Run, asked: Asked) -> None:
    """Where no bar can be drawn a line on stderr counts designs and tests; what is bad says its fault alone."""
    run = ballbench(*asked.words, "--balls", "6,8,6", "--json", "-")
    assert run.err.startswith("Working out: 2 designs, 20 simulated tests of each.")
    assert json.loads(run.out)["tests"] == 20
    assert ballbench(*asked.words, "--balls", "6", "--json", "-").err.startswith("Working out: 1 design, 20 simulated")
    assert "Working out" not in ballbench(*asked.words, "--tests", "1").err


def test_a_mean_on_the_limit_is_never_enough(ballbench: Run, asked: Asked) -> None:
    """Where the make's mean is the limit itself, no test of six balls is right nine times in ten."""
    run = ballbench(*asked.words, "--balls", "6", "--true-mean", "40.6", "--json", "-")
    assert run.status == 0, run.err
    made = json.loads(run.out)
    assert made["how_many"]["chosen"] is None
    assert made["settings"][0]["chance_met"] < 0.5


def test_everything_that_may_be_asked_goes_into_the_report(ballbench: Run, asked: Asked) -> None:
    """Changes, a comparison and boxes are in the JSON, and page and PDF are written."""
    out = asked.folder / "out"
    run = ballbench(*asked.words, "--balls", "6", "--changes", "--difference", "0.05", "--box", "24,0", "--report",
                    str(out), "--json", "-")  # fmt: skip
    assert run.status == 0, run.err
    made = json.loads(run.out)
    assert made["changes"][0]["change"] == "as planned"
    assert [one["difference"] for one in made["comparison"]["differences"]] == [0.0, 0.025, 0.05, 0.075, 0.1]
    assert [(one["lot"], one["balls"]) for one in made["boxes"]] == [(24, 15), (None, 29)]
    assert {path.name for path in out.iterdir()} == {"plan.html", "plan.pdf"}


def test_inputs_are_never_written_over(ballbench: Run, asked: Asked) -> None:
    """`--json` with the name of the bench file is refused, and the file stays as it was."""
    bench = asked.folder / "bench.toml"
    run = ballbench(*asked.words, "--balls", "6", "--json", str(bench))
    assert run.status == 2
    assert bench.read_text(encoding="utf-8") == BENCH


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--balls", "six"), "option --balls: found 'six'"),
        (("--balls", "0"), "option --balls: found 0"),
        (("--tests", "1"), "option --tests: found 1"),
        (("--wanted", "2"), "option --wanted: found 2"),
        (("--true-sd", "wide"), "option --true-sd: found 'wide'"),
        (("--true-sd", "-1"), "option --true-sd: found '-1'"),
        (("--true-mean", "40 kg"), "option --true-mean: found '40 kg'"),
        (("--quantity", "mass"), "option --quantity: found mass"),
        (("--rule", "kind"), "option --rule: found kind"),
        (("--risk", "0.7"), "option --risk: found 0.7"),
        (("--box", "-5"), "option --box"),
        (("--processes", "0"), "option --processes: found 0"),
        (("--spec", "no-such-rule"), "no-such-rule"),
    ],
    ids=lambda value: value[0].removeprefix("--") if isinstance(value, tuple) else "",
)
def test_bad_input_is_told_with_what_to_do(ballbench: Run, asked: Asked, words: tuple[str, ...], said: str) -> None:
    """Status 2, one message with what is allowed and what to do, and no traceback."""
    run = ballbench(*asked.words, *words)
    assert run.status == 2
    assert said in run.err
    assert run.err.count("What to do:") == 1
    assert "Traceback" not in run.err
    assert run.out == ""


def test_all_faults_are_told_at_once(ballbench: Run, asked: Asked) -> None:
    """Three options out of range give three messages."""
    run = ballbench(*asked.words, "--balls", "0", "--wanted", "2", "--true-sd", "x")
    assert run.status == 2
    assert run.err.count("What to do:") == 3
