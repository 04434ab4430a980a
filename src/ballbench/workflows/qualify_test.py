"""Qualify an instrument by a test of the notebook: its files are written out, then studied as from the command line."""

from __future__ import annotations

import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

from ballbench.errors import BadInput, BadRequest, Fault
from ballbench.findings.qualification import Qualification
from ballbench.presentation.screens.qualify_page import QualifyPage
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import ball_test_of, instruments_of
from ballbench.store.bench import last_revision
from ballbench.store.qualifications import qualifications_of, write_qualification
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.blind import is_hidden, refuse_while_hidden
from ballbench.workflows.exchange import export_tables
from ballbench.workflows.how_far import how_far
from ballbench.workflows.left_of_plan import left_of_plan
from ballbench.workflows.qualified import as_qualified
from ballbench.workflows.qualify import QualifyRequest, bench_entry, qualify
from ballbench.workflows.sending import digest_of, refuse, sent_faults, who

__all__ = ["Keep", "keep_qualification", "qualify_notebook_test", "qualify_page"]


@dataclass(frozen=True, slots=True)
class Keep(Sent):
    """Keep what a test says of its instrument; an empty quantity is the first that was read as a number."""

    quantity: str = ""


def qualify_notebook_test(notebook: Notebook, test_id: int, quantity: str = "") -> Qualification:
    """Qualify the instrument of a test, with the requirement and the seed of its set-up.

    Parameters
    ----------
    quantity : str
        Which, where the test reads several; empty: the first that is read as a number.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It is blind and under way: its results are hidden until it is finished.
    BadInput
        Neither a ball nor a reference piece was read, or the readings cannot be used.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
    refuse_while_hidden(test)
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        files = export_tables(notebook, test_id, Path(folder))
        if "readings.csv" not in files and "checks.csv" not in files:
            raise BadRequest(Fault(f"test {test_id}", "no reading", "a test with readings", "measure first"))
        request = QualifyRequest(
            files.get("readings.csv"), quantity or _first(test), bench=files.get("bench.toml"),
            checks=files.get("checks.csv"), corrections=files.get("corrections.csv"),
            spec=str(files["requirement.toml"]), seed=test.seed,
        )  # fmt: skip
        return qualify(request)


def _first(test: BallTest) -> str:
    return next((one.name for one in test.quantities if not one.yes_no), "")


def qualify_page(notebook: Notebook, test_id: int) -> QualifyPage:
    """Give the page of what a test says of its instrument; where nothing can be said, why not.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        test, far, revision = ball_test_of(tx, test_id), how_far(tx, test_id), last_revision(tx, test_id)
        kept = tuple(as_qualified(row) for row in qualifications_of(tx, test_id))
    read, planned = far.read + far.checks_read, far.planned + far.checks_planned
    if is_hidden(test):
        return QualifyPage(test, read, planned, revision)
    try:
        found = qualify_notebook_test(notebook, test_id)
    except BadInput as error:
        return QualifyPage(test, read, planned, revision, kept=kept, faults=error.faults)
    return QualifyPage(test, read, planned, revision, found, kept)


def keep_qualification(notebook: Notebook, test_id: int, request: Keep) -> Reply:
    """Keep what a test says of its instrument as it stands now, so that plans and set-ups offer it.

    Returns
    -------
    dict
        ``status`` ``kept`` with the ``qualification``: its number, instrument, entry and sentence; ``left`` says what
        of the test's plan was not taken.

    Raises
    ------
    BadInput
        As `qualify_notebook_test`.
    """
    refuse(sent_faults(request))
    found = qualify_notebook_test(notebook, test_id, request.quantity)
    entry = bench_entry(found)

    def work(tx: Tx) -> Reply:
        named = {"name": _name(tx, test_id, found), "quantity": found.quantity}
        row = {**named, "entry": entry, "sentence": found.sentence, **who(request, test_id)}
        number = write_qualification(tx, row)
        told = {name: row[name] for name in ("name", "quantity", "entry", "sentence", "by", "at")}
        left = asdict(left_of_plan(tx, ball_test_of(tx, test_id)))
        return {"status": "kept", "qualification": {"id": number, "test": test_id, **told}, "left": left}

    return notebook.submit(request.key, test_id, "qualification kept", request.client, work, digest_of(request))


def _name(tx: Tx, test_id: int, found: Qualification) -> str:
    """Give the instrument's name as the notebook has it; a file may have guarded it."""
    own = [row.name for row in instruments_of(tx, test_id) if row.quantity == found.quantity]
    return own[0] if len(own) == 1 else found.instrument.name
