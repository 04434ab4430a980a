"""Take a test in from files: readings, corrections, ball facts, bench, as `judge` reads them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ballbench.records import BallFacts, Bench, amend, read_balls, read_bench, read_corrections, read_readings
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook
from ballbench.store.ball_tests import ball_test_of
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.sending import refuse, sent_faults
from ballbench.workflows.set_up_check import stated_faults
from ballbench.workflows.taken_in_rows import TakenFiles, write_taken_in
from ballbench.workflows.what_to_read import base_units

__all__ = ["TakeIn", "take_in_test"]


@dataclass(frozen=True, slots=True)
class TakeIn(Sent):
    """Files that make a test.

    Parameters
    ----------
    readings : Path
        CSV or XLSX, as `judge` reads it.
    requirement : str
        An id of the catalogue, or the text of a requirement file.
    corrections, balls, bench : Path or None
        Where there are any.
    title : str
        Empty: the requirement's.
    rule : str
        ``guarded`` or ``simple``.
    risk : float
        Of a false "met".
    seed : int
        Of the judgement.
    """

    readings: Path
    requirement: str
    corrections: Path | None = None
    balls: Path | None = None
    bench: Path | None = None
    title: str = ""
    rule: str = "guarded"
    risk: float = 0.05
    seed: int = 1


def take_in_test(notebook: Notebook, request: TakeIn) -> BallTest:
    """Make a finished test of files; its readings stand in the notebook as the file has them.

    Raises
    ------
    BadInput
        A file cannot be used, all faults at once; the notebook is as it was.
    """
    refuse([*sent_faults(request), *stated_faults(request.title, request.rule, request.risk, request.seed)])
    requirement, text = requirement_of(request.requirement)
    units = base_units(requirement)
    readings = read_readings(request.readings, units)
    corrections = read_corrections(request.corrections) if request.corrections is not None else None
    files = TakenFiles(
        readings=readings,
        amended=amend(readings, corrections),
        corrections=corrections,
        balls=read_balls(request.balls) if request.balls is not None else BallFacts(),
        bench=read_bench(request.bench, units) if request.bench is not None else Bench(),
        bench_text=request.bench.read_text(encoding="utf-8-sig") if request.bench is not None else "",
    )
    reply = notebook.submit(
        request.key, None, "taken in", request.client,
        lambda tx: {"id": write_taken_in(tx, request, requirement, text, files)},
    )  # fmt: skip
    with notebook.read() as tx:
        return ball_test_of(tx, int(reply["id"]))
