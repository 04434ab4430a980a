"""The demonstration: the invented winter league, judged and compared, with reports."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadRequest, Fault
from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.judge import JudgeRequest, judge

__all__ = ["DemoResult", "demo", "example_folder"]

SCENARIO = "winter-league"


@dataclass(frozen=True, slots=True)
class DemoResult:
    """What the demonstration shows: the folder of its data, the judgement, the comparison."""

    folder: Path
    findings: Findings
    comparison: Comparison


def example_folder() -> Path:
    """Find the invented data: beside the source in a checkout, inside the package when installed.

    Raises
    ------
    BadRequest
        They are in neither place.
    """
    package = Path(__file__).resolve().parents[1]
    places = (package / "examples" / SCENARIO, package.parents[1] / "examples" / SCENARIO)
    for place in places:
        if place.is_dir():
            return place
    raise BadRequest(Fault("demo", "no folder of invented data", f"examples/{SCENARIO}", "run it from a full checkout"))


def demo(seed: int = 1) -> DemoResult:
    """Judge and compare the invented makes."""
    folder = example_folder()
    findings = judge(
        JudgeRequest(
            folder / "readings.csv", str(folder / "league-ball.toml"), folder / "bench.toml",
            folder / "corrections.csv", folder / "balls.csv", seed=seed,
        )
    )  # fmt: skip
    comparison = compare(
        CompareRequest(
            folder / "readings.csv", "diameter", folder / "bench.toml", folder / "corrections.csv",
            str(folder / "league-ball.toml"), seed,
        )
    )  # fmt: skip
    return DemoResult(folder, findings, comparison)
