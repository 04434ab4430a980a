"""The program run in this process or in its own, and a small set of good files to start from."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from ballbench.cli.failures import guarded
from ballbench.cli.main import app

ROOT = Path(__file__).parents[2]
HEADER = "product,box,ball,quantity,axis,repeat,value,unit,instrument,operator,sitting,time,note"
SPEC = """id = "small-rule"
sport = "any"
title = "A small rule (invented)"
edition = "2026"
sample_size = 6
axes = 3
notes = ["Invented for the tests."]
cautions = ["Mind your eyes."]
source = { document = "Invented for the tests", clause = "1", seen = "own" }

[quantity.pressure]
unit = "kPa"

[[clause]]
id = "largest"
text = "No ball measures more than 40.60 mm."
quantity = "diameter"
ball = "max"
sample = "each"
upper = "40.60 mm"

[[clause]]
id = "alike"
text = "The balls differ by no more than 0.18 mm."
quantity = "diameter"
ball = "mean"
sample = "range"
upper = "0.18 mm"
[[clause.variant]]
text = "A ball's diameters differ by no more than 0.18 mm."
ball = "range"
sample = "each"

[[clause]]
id = "mass"
text = "A ball weighs 2.67 to 2.77 g; one may be outside."
quantity = "mass"
ball = "mean"
sample = "each"
lower = "2.67 g"
upper = "2.77 g"
allowed_outside = 1

[[clause]]
id = "pressure"
text = "The pressure is 10 to 20 kPa."
quantity = "pressure"
ball = "mean"
sample = "each"
lower = "10 kPa"
upper = "20 kPa"
conditions = { temperature = "18 to 22 degC" }

[[clause]]
id = "crack"
text = "No ball is cracked."
quantity = "crack"
count = { answer = "no" }
"""
BENCH = """[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
repeatability = { sd = 0.008, dof = 20, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.010, scale_sd = 0.0 }
zeroed = "each reading"
display = "rounds"
looks = 12

[instrument.scale]
quantity = "mass"
unit = "g"
resolution = 0.01
repeatability = { sd = 0.006, dof = 15, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.004, scale_sd = 0.0 }

[conditions]
temperature = { value = 22.0, sd = 1.0, reference = 23.0, unit = "degC" }
surface = "steel block"

[sitting.A]
temperature = { value = 22.0, sd = 0.5, reference = 23.0, unit = "degC" }

[material]
expansion = { value = 9e-5, relative_sd = 0.2 }

[squeeze.Curlew]
value = 0.001
sd = 0.0005
unit = "mm"
"""
CORRECTIONS = """product,ball,quantity,axis,repeat,action,value,reason,by,time
Curlew,03,diameter,seam,1,correct,40.23,read off the sheet again,E,2026-11-21 10:40
Curlew,02,mass,,1,exclude,,a draught moved the pan,M,2026-11-21 10:41
"""
FACTS = """product,ball,box,conditioned_h,opened,pressure_kpa,impacts,temperature_c,bought,price
Curlew,01,C-1,24,2026-11-20,0,0,22.5,2026-11-01,3.20 EUR
Curlew,02,C-1,24,2026-11-20,0,0,22.5,2026-11-01,3.20 EUR
"""


def readings() -> str:
    """Text of six invented balls: three diameters, a mass and a look for cracks each."""
    rows = [HEADER]
    for ball in range(1, 7):
        where = f"Curlew,C-1,{ball:02d}"
        for place, axis in enumerate(("seam", "across", "free")):
            value = 40.20 + 0.01 * ((2 * ball + 3 * place) % 7)
            rows.append(f"{where},diameter,{axis},1,{value:.2f},mm,caliper,E,A,2026-11-21 10:{ball:02d}:{place:02d},")
        rows.append(f"{where},mass,,1,{2.70 + 0.005 * (ball % 5):.3f},g,scale,E,A,,")
        rows.append(f"{where},crack,,1,no,,eye,M,A,,")
    return "\n".join(rows) + "\n"


@dataclass(frozen=True, slots=True)
class Ran:
    """How a run of the program ended."""

    status: int
    out: str
    err: str


@dataclass(frozen=True, slots=True)
class Files:
    """Good files in a folder of their own."""

    folder: Path
    readings: Path
    spec: Path
    bench: Path
    corrections: Path
    balls: Path

    def judge(self, *more: str) -> list[str]:
        """Words that judge these files, all of them, quickly."""
        return [
            "judge", str(self.readings), "--spec", str(self.spec), "--bench", str(self.bench),
            "--corrections", str(self.corrections), "--balls", str(self.balls), "--draws", "500", "--no-settle", *more,
        ]  # fmt: skip


@pytest.fixture
def files(tmp_path: Path) -> Files:
    """Good files of every sort."""
    made = Files(
        tmp_path, *(tmp_path / name for name in ("box.csv", "rule.toml", "bench.toml", "fix.csv", "balls.csv"))
    )
    for path, text in (
        (made.readings, readings()), (made.spec, SPEC), (made.bench, BENCH), (made.corrections, CORRECTIONS),
        (made.balls, FACTS),
    ):  # fmt: skip
        path.write_text(text, encoding="utf-8")
    return made


@pytest.fixture
def ballbench(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """The program in this process: everything from the words of the command line to the exit status."""

    def run(*words: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["ballbench", *words])
        capfd.readouterr()
        status = guarded(app)
        told = capfd.readouterr()
        return Ran(status, told.out, told.err)

    return run


@pytest.fixture
def program() -> Callable[..., Ran]:
    """The program in a process of its own."""

    def run(*words: str, **options: object) -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "ballbench.cli.main", *words],
            capture_output=True, check=False, **options,
        )  # fmt: skip
        return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())

    return run


@pytest.fixture(scope="session")
def league() -> Path:
    """The folder of the invented winter league."""
    return ROOT / "examples" / "winter-league"
