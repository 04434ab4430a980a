from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

NOISE = (0.0, 0.01, -0.01, 0.02, 0.0, -0.01, 0.01, 0.0, 0.01, -0.02, 0.0, 0.01, -0.01, 0.01, 0.0)


@dataclass(frozen=True, slots=True)
class Study:
    """A repeat study, a log of checks and readings at two forces, all invented."""

    folder: Path
    readings: Path
    checks: Path
    forces: Path


@pytest.fixture
def study(tmp_path: Path) -> Study:
    """Five balls, two people, three repeats; Ben reads 0.01 mm more; two pieces, three times each, 0.01 mm too high."""
    rows = ["product,ball,quantity,axis,repeat,value,unit,instrument,operator"]
    for ball in range(5):
        for k, person in enumerate(("Ada", "Ben")):
            for repeat in range(3):
                value = 40.20 + 0.03 * ball + 0.01 * k + NOISE[(3 * ball + 7 * k + repeat) % 15]
                rows.append(f"Curlew,{ball + 1:02d},diameter,seam,{repeat + 1 + 3 * k},{value:.2f},mm,caliper,{person}")
    checks = ["piece,instrument,value,known,u,unit,time"]
    for hour in ("09:00", "10:30", "12:00"):
        checks += [f"steel ball,caliper,38.11,38.1,0.001,mm,2026-11-27 {hour}",
                   f"gauge,caliper,42.01,42.0,0.001,mm,2026-11-27 {hour}"]  # fmt: skip
    forces = ["product,ball,axis,force,value"]
    for ball in ("01", "02", "03"):
        forces += [f"Curlew,{ball},pole,1,{40.19 + noise:.2f}" for noise in (0.0, 0.01, 0.0)]
        forces += [f"Curlew,{ball},pole,5,{40.14 + noise:.2f}" for noise in (0.0, 0.0, 0.01)]
    made = Study(tmp_path, *(tmp_path / name for name in ("study.csv", "checks.csv", "forces.csv")))
    for path, lines in ((made.readings, rows), (made.checks, checks), (made.forces, forces)):
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return made


def test_the_words_say_what_can_be_told(ballbench: Run, study: Study) -> None:
    """Status 0; the first sentence says how far apart two balls must be read, and the ruler stands below it."""
    run = ballbench("qualify", str(study.readings))
    assert run.status == 0, run.err
    assert run.out.splitlines()[0] == "What this caliper can tell: diameter"
    assert "Two balls must read" in run.out
    assert "cannot tell" in run.out
    assert all(len(line) <= 80 for line in run.out.splitlines())


def test_json_stands_alone_and_is_the_same_for_the_same_seed(ballbench: Run, study: Study) -> None:
    """`--json -` prints one object of the contract's format, twice the same bytes; Ben reads 0.01 mm more than Ada."""
    words = ("qualify", str(study.readings), "--checks", str(study.checks), "--seed", "7", "--json", "-")
    first, second = ballbench(*words), ballbench(*words)
    assert first.status == 0, first.err
    assert first.out == second.out
    made = json.loads(first.out)
    assert made["format"] == "ballbench/qualification/1"
    assert made["seed"] == 7
    assert {"repeatability", "person"} <= {one["name"] for one in made["components"]}
    ada, ben = made["repeats"]["by_person"]
    assert ben["difference"] - ada["difference"] == pytest.approx(0.01, abs=0.006)
    assert made["calibration"]["offset"] == pytest.approx(0.01, abs=1e-6)


def test_a_report_is_written_as_page_and_pdf(ballbench: Run, study: Study) -> None:
    """`--report` writes both, and says where; JSON goes to its file beside it."""
    out, told = study.folder / "out", study.folder / "told.json"
    run = ballbench("qualify", str(study.readings), "--checks", str(study.checks), "--forces", str(study.forces),
                    "--report", str(out), "--json", str(told))  # fmt: skip
    assert run.status == 0, run.err
    assert {path.name for path in out.iterdir()} == {"qualification.html", "qualification.pdf"}
    assert "qualification.pdf" in run.out.replace("\n", "")
    assert json.loads(told.read_text(encoding="utf-8"))["squeeze"][0]["product"] == "Curlew"


def test_the_bench_file_is_one_that_judge_takes(ballbench: Run, study: Study, files: Any) -> None:
    """`--write-bench` writes the entry; judged with it, nothing is assumed of the caliper any more."""
    bench = study.folder / "entry.toml"
    run = ballbench("qualify", str(study.readings), "--checks", str(study.checks), "--forces", str(study.forces),
                    "--write-bench", str(bench), "--json", "-")  # fmt: skip
    assert run.status == 0, run.err
    entry = tomllib.loads(bench.read_text(encoding="utf-8"))
    assert entry["instrument"]["caliper"]["repeatability"]["dof"] == pytest.approx(20.0)
    assert entry["instrument"]["caliper"]["calibration"]["offset"] == pytest.approx(0.01, abs=1e-6)
    assert set(entry["squeeze"]) == {"Curlew"}
    judged = ballbench("judge", str(files.readings), "--spec", str(files.spec), "--bench", str(bench), "--draws", "500",
                       "--no-settle", "--json", "-")  # fmt: skip
    assert judged.status == 0, judged.err
    assert not [text for text in json.loads(judged.out)["assumptions"] if "caliper" in text]


def test_a_bench_file_is_never_written_over(ballbench: Run, study: Study) -> None:
    """A file that is there is refused, and stays as it was."""
    bench = study.folder / "bench.toml"
    bench.write_text("# mine\n", encoding="utf-8")
    run = ballbench("qualify", str(study.readings), "--write-bench", str(bench))
    assert run.status == 2
    assert "--write-bench" in run.err
    assert bench.read_text(encoding="utf-8") == "# mine\n"


def test_inputs_are_never_written_over(ballbench: Run, study: Study) -> None:
    """`--json` with the name of the log of checks is refused, and the log stays as it was."""
    before = study.checks.read_bytes()
    run = ballbench("qualify", str(study.readings), "--checks", str(study.checks), "--json", str(study.checks))
    assert run.status == 2
    assert study.checks.read_bytes() == before


def test_checks_alone_are_enough(ballbench: Run, study: Study) -> None:
    """Without a repeat study the checks still give the error, and the words say that no noise was found here."""
    run = ballbench("qualify", "--checks", str(study.checks))
    assert run.status == 0, run.err
    assert "All 6 checks against reference pieces passed." in run.out
    assert "as given or usual" in " ".join(run.out.split())


def test_a_requirement_is_held_against_the_instrument(ballbench: Run, study: Study, files: Any) -> None:
    """With a requirement of one limit only there is no room to compare with; with two the share is in the JSON."""
    one = ballbench("qualify", str(study.readings), "--spec", str(files.spec), "--json", "-")
    assert json.loads(one.out)["tolerance"] == []
    two = ballbench("qualify", str(study.readings), "--spec", "table-tennis-plastic", "--json", "-")
    (share,) = json.loads(two.out)["tolerance"]
    assert share["room"] == pytest.approx(0.6)
    assert share["share"] == pytest.approx(2 * share["expanded"] / 0.6)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "found no file"),
        (("{folder}/none.csv",), "no such file"),
        (("{readings}", "--quantity", "mass"), "option --quantity: found mass"),
        (("{readings}", "--instrument", "scale"), "option --instrument: found scale"),
        (("{readings}", "--spec", "no-such-rule"), "no-such-rule"),
        (("--checks", "{readings}"), "no column piece"),
        (("--forces", "{checks}"), "no column product"),
        (("{readings}", "--ball", "egg"), "option --ball: found egg"),
        (("{readings}", "--at-force", "0"), "option --at-force: found 0"),
        (("{readings}", "--u-common", "-1"), "option --u-common: found -1"),
        (("{readings}", "--seed", "-1"), "option --seed: found -1"),
    ],
    ids=["nothing", "no file", "quantity", "instrument", "spec", "checks", "forces", "ball", "force", "u", "seed"],
)
def test_bad_input_is_told_with_what_to_do(ballbench: Run, study: Study, words: tuple[str, ...], said: str) -> None:
    """Status 2, one message with what is allowed and what to do, and no traceback."""
    places = {"folder": study.folder, "readings": study.readings, "checks": study.checks}
    run = ballbench("qualify", *(word.format(**places) for word in words))
    assert run.status == 2
    assert said in run.err
    assert run.err.count("What to do:") == 1
    assert "Traceback" not in run.err
    assert run.out == ""
