"""Take a test in from files: readings, corrections, ball facts, bench, as `judge` reads them, and `test.toml`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from ballbench.errors import BadRequest, Fault
from ballbench.records import BallFacts, Bench, amend, read_balls, read_bench, read_corrections, read_readings
from ballbench.records.ball_test import BallTest
from ballbench.specs import Requirement
from ballbench.store import Notebook
from ballbench.store.ball_tests import ball_test_of
from ballbench.store.recordings import lay_down
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.sending import digest_of, refuse, sent_faults
from ballbench.workflows.set_up_check import stated_faults
from ballbench.workflows.stated_file import Stated, read_stated
from ballbench.workflows.taken_archive import PackedRecording, unpacked
from ballbench.workflows.taken_in_rows import BroughtIn, TakenFiles, taken_rows, write_taken_in
from ballbench.workflows.what_to_read import base_units

__all__ = ["TakeIn", "TakeInWhole", "take_in_test", "take_in_whole"]


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
        Empty: that of `test`, else the requirement's.
    rule : str or None
        ``guarded`` or ``simple``; None: that of `test`, else ``guarded``.
    risk : float or None
        Of a false "met"; None: that of `test`, else 0.05.
    seed : int or None
        Of the judgement; None: that of `test`, else 1.
    test : Path or None
        What the other files cannot carry, as `export_file` writes ``test.toml``.
    recordings : tuple of PackedRecording
        Of the test's readings.
    """

    readings: Path
    requirement: str
    corrections: Path | None = None
    balls: Path | None = None
    bench: Path | None = None
    title: str = ""
    rule: str | None = None
    risk: float | None = None
    seed: int | None = None
    test: Path | None = None
    recordings: tuple[PackedRecording, ...] = ()


@dataclass(frozen=True, slots=True)
class TakeInWhole(Sent):
    """An archive that makes a test, as `export_file` writes ``everything.zip``; `title` empty: the test's own."""

    archive: Path
    title: str = ""


def take_in_whole(notebook: Notebook, request: TakeInWhole) -> BallTest:
    """Make a finished test of an archive that a notebook handed out.

    Raises
    ------
    BadInput
        The archive or a file in it cannot be used; the notebook is as it was.
    """
    refuse(sent_faults(request))
    with unpacked(request.archive) as files:
        own = TakeIn(
            request.key, request.client, request.by, request.at, files.paths["readings.csv"],
            files.paths["requirement.toml"].read_text(encoding="utf-8-sig"), files.paths.get("corrections.csv"),
            files.paths.get("balls.csv"), files.paths.get("bench.toml"), request.title,
            test=files.paths.get("test.toml"), recordings=files.recordings,
        )  # fmt: skip
        return take_in_test(notebook, own)


def take_in_test(notebook: Notebook, request: TakeIn) -> BallTest:
    """Make a finished test of files; its readings stand in the notebook as the file has them.

    Everything is read and made into rows first: the notebook is held only while they are written.

    Raises
    ------
    BadInput
        A file cannot be used, all faults at once; the notebook is as it was.
    """
    risk = 0.05 if request.risk is None else request.risk
    rule = "guarded" if request.rule is None else request.rule
    refuse([*sent_faults(request), *stated_faults(request.title, rule, risk, request.seed)])
    requirement, text = requirement_of(request.requirement)
    units = base_units(requirement)
    readings = read_readings(request.readings, units)
    corrections = read_corrections(request.corrections) if request.corrections is not None else None
    stated = Stated() if request.test is None else read_stated(request.test)
    refuse(_other_requirement(stated, requirement, request))
    files = TakenFiles(
        readings=readings,
        amended=amend(readings, corrections),
        corrections=corrections,
        balls=read_balls(request.balls) if request.balls is not None else BallFacts(),
        bench=read_bench(request.bench, units) if request.bench is not None else Bench(),
        bench_text=request.bench.read_text(encoding="utf-8-sig") if request.bench is not None else "",
        stated=stated,
    )
    rows = taken_rows(request, requirement, text, replace(files, recordings=_brought(notebook, request)))
    reply = notebook.submit(
        request.key, None, "taken in", request.client, lambda tx: {"id": write_taken_in(tx, rows)}, digest_of(request)
    )
    with notebook.read() as tx:
        return ball_test_of(tx, int(reply["id"]))


def _other_requirement(stated: Stated, requirement: Requirement, request: TakeIn) -> Iterator[Fault]:
    """Say that a file states another requirement than the one that is given beside it."""
    if request.test is not None and stated.digest and stated.digest != requirement.digest:
        found = f"a test of {stated.requirement or 'a requirement'} with the digest {stated.digest[:19]}..."
        allowed = f"the requirement that is given, {requirement.id} with the digest {requirement.digest[:19]}..."
        todo = "give the requirement.toml that was handed out with it, or leave this file out"
        yield Fault(f"{request.test.name}, [requirement]", found, allowed, todo)


def _brought(notebook: Notebook, request: TakeIn) -> tuple[BroughtIn, ...]:
    """Put the recordings' bytes where they are safe, each under the digest that was stated for it."""
    brought = []
    for one in request.recordings:
        laid = lay_down(notebook, _pieces(one.path))
        if laid.digest != one.digest:
            found = f"bytes with another SHA-256 than {one.digest[:12]}..."
            raise BadRequest(Fault(f"recording {one.name[:40]}", found, "the recording as it was", "pack it anew"))
        brought.append(BroughtIn(laid, one.name, one.media_type, one.by, one.at, one.reading, one.worked))
    return tuple(brought)


def _pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as content:
        yield from iter(lambda: content.read(1024 * 1024), b"")
