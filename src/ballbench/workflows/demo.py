"""The demonstration: the invented winter league, judged and compared, and what its recordings tell."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadRequest, Fault
from ballbench.findings.bouncing.results import BounceFindings
from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.findings.rolling.results import RollFindings
from ballbench.findings.tracing.results import OutlineFindings
from ballbench.findings.watching.results import DropFindings
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.judge import JudgeRequest, judge
from ballbench.workflows.listen import ListenRequest, listen
from ballbench.workflows.roll import RollRequest, roll
from ballbench.workflows.trace import TraceRequest, trace
from ballbench.workflows.watch import WatchRequest, watch

__all__ = ["DemoResult", "demo", "example_folder"]

SCENARIO = "winter-league"
_FLIGHT = FlightWords("40.0 mm, 2.70 g", "305 ± 1 mm")


@dataclass(frozen=True, slots=True)
class DemoResult:
    """What the demonstration shows.

    Parameters
    ----------
    folder : Path
        Where its data are.
    findings, comparison : Findings, Comparison
        The readings judged, and the makes compared.
    bounces, outlines, drops, balance : BounceFindings, OutlineFindings, DropFindings, RollFindings
        What sounds, photographs and a film tell, and the log of a ramp.
    """

    folder: Path
    findings: Findings
    comparison: Comparison
    bounces: BounceFindings
    outlines: OutlineFindings
    drops: DropFindings
    balance: RollFindings


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
    """Judge and compare the invented makes, and read their invented recordings."""
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
    recorded = folder / "recordings"
    return DemoResult(
        folder, findings, comparison,
        listen(ListenRequest(_all(recorded, "*.m4a"), _FLIGHT, seed=seed)),
        trace(TraceRequest(_all(recorded, "*.jpg"), "0.08 mm/px", distance="1.2 m", seed=seed)),
        watch(WatchRequest(_all(recorded, "*.mp4"), _FLIGHT, seed=seed)),
        roll(RollRequest(recorded / "ramp.csv")),
    )  # fmt: skip


def _all(folder: Path, pattern: str) -> tuple[Path, ...]:
    return tuple(sorted(folder.glob(pattern)))
