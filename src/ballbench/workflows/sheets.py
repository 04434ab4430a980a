"""Paper for the bench: the sheet to write readings on, labels for the balls, strips to lay under their cups."""

from __future__ import annotations

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.presentation.sheets.ball_labels import cup_strips_of, label_sheet_of
from ballbench.presentation.sheets.ball_labels_pdf import ball_labels_pdf
from ballbench.presentation.sheets.bench_sheet import Display, bench_sheet_of
from ballbench.presentation.sheets.bench_sheet_pdf import bench_sheet_pdf
from ballbench.presentation.sheets.label_format import CupStrip, LabelFormat
from ballbench.presentation.sheets.paper import paper_named
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of, instruments_of, references_of, written_of
from ballbench.store.bench import places_of
from ballbench.workflows.blind import as_shown, is_hidden
from ballbench.workflows.measure import SPOILED_REASONS
from ballbench.workflows.requirement_text import requirement_of

__all__ = ["MOST_ROWS", "ball_labels", "bench_sheet", "cup_strips"]

MOST_ROWS = 5_000
"""More than anybody writes by hand for one test (own choice)."""


def bench_sheet(notebook: Notebook, test_id: int, paper: str) -> bytes:
    """Give the sheet to write the readings on that a test still wants.

    Parameters
    ----------
    paper : str
        ``"a4"`` or ``"letter"``.

    Returns
    -------
    bytes
        A PDF. Of a blind test it tells neither makes nor limits.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It is finished, or everything is read.
    BadRequest
        There is no such paper, or the sheet would be too long.
    """
    size = paper_named(paper)
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        if test.stage == "finished":
            found = "a finished test, which takes no more readings"
            raise Conflict(Fault("test", found, "one that is not finished", "take it up again first"))
        places = places_of(tx, test_id)
        left = sum(not one.filled for one in places)
        if not left:
            todo = "ask for a ball once more at the bench, or finish the test"
            raise Conflict(Fault("test", "one of which everything is read", "one with readings to take", todo))
        if left > MOST_ROWS:
            todo = "read it at the bench page, or split it into several tests"
            raise BadRequest(Fault("test", f"{left} readings to take", f"at most {MOST_ROWS} on paper", todo))
        sheet = bench_sheet_of(
            as_shown(test), {row.id: row.number for row in balls_of(tx, test_id)}, references_of(tx, test_id), places,
            _displays(tx, test), paper=size, reasons=SPOILED_REASONS, cautions=_cautions(tx, test_id),
        )  # fmt: skip
    return bench_sheet_pdf(sheet)


def ball_labels(notebook: Notebook, test_id: int, wanted: LabelFormat) -> bytes:
    """Give labels with the numbers of a test's balls, each with its code.

    Parameters
    ----------
    wanted : LabelFormat
        How labels lie on their paper.

    Returns
    -------
    bytes
        A PDF. While a blind test hides makes, labels come by number, so that their order tells no box.

    Raises
    ------
    NotFound
        There is no such test.
    BadRequest
        The format cannot be.
    """
    test, numbers = _numbered(notebook, test_id)
    return ball_labels_pdf(label_sheet_of(test.title, f"test {test.id}", numbers, wanted))


def cup_strips(notebook: Notebook, test_id: int, wanted: CupStrip) -> bytes:
    """Give strips with the numbers of a test's balls, to be cut out and laid under their cups.

    Raises
    ------
    NotFound
        There is no such test.
    BadRequest
        The strips cannot be.
    """
    test, numbers = _numbered(notebook, test_id)
    return ball_labels_pdf(cup_strips_of(test.title, f"test {test.id}", numbers, wanted))


def _numbered(notebook: Notebook, test_id: int) -> tuple[BallTest, tuple[str, ...]]:
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        numbers = [row.number for row in balls_of(tx, test_id)]
    return test, tuple(sorted(numbers) if is_hidden(test) else numbers)


def _displays(tx: Tx, test: BallTest) -> dict[str, Display]:
    """Give what the instruments of a test show, by quantity."""
    tools = {(row.name, row.quantity): row for row in instruments_of(tx, test.id)}
    used = {one.name: tools.get((one.instrument, one.name)) for one in test.quantities}
    return {name: Display(tool.unit, tool.resolution) for name, tool in used.items() if tool is not None}


def _cautions(tx: Tx, test_id: int) -> tuple[str, ...]:
    """Give what the requirement says to beware of; one that a readings file came without says nothing."""
    text = str(written_of(tx, test_id).requirement_text)
    return requirement_of(text)[0].cautions if text else ()
