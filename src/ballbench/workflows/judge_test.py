"""Judge and compare a test of the notebook: its files are written out, then judged as from the command line."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ballbench.errors import BadInput
from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.screens.comparison_page import ComparisonPage
from ballbench.presentation.screens.findings_page import FindingsPage
from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook
from ballbench.store.ball_tests import ball_test_of
from ballbench.store.bench import last_revision
from ballbench.workflows.blind import is_hidden, refuse_while_hidden
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.exchange import ExportedTest, export_test
from ballbench.workflows.how_far import how_far
from ballbench.workflows.judge import JudgeRequest, judge

__all__ = ["compare_notebook_test", "comparison_page", "findings_page", "judge_notebook_test"]


def judge_notebook_test(notebook: Notebook, test_id: int) -> Findings:
    """Judge a test by the rule, risk and seed of its set-up.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It is blind and under way: its results are hidden until it is finished.
    BadInput
        It has no reading yet, or a reading so far off that no result can stand.
    """
    test = _shown(notebook, test_id)
    with _files(notebook, test_id) as files:
        request = JudgeRequest(
            files.readings, str(files.requirement), files.bench, files.corrections, files.balls, rule=test.rule,
            risk=test.risk, seed=test.seed,
        )  # fmt: skip
        return judge(request)


def compare_notebook_test(notebook: Notebook, test_id: int, quantity: str) -> Comparison:
    """Compare the makes of a test for one quantity.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It is blind and under way.
    BadInput
        Fewer than two makes have two balls read.
    """
    test = _shown(notebook, test_id)
    with _files(notebook, test_id) as files:
        request = CompareRequest(
            files.readings, quantity, files.bench, files.corrections, str(files.requirement), seed=test.seed,

        )  # fmt: skip
        return compare(request)


def _shown(notebook: Notebook, test_id: int) -> BallTest:
    """Give a test whose results may be seen."""
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
    refuse_while_hidden(test)
    return test


def findings_page(notebook: Notebook, test_id: int) -> FindingsPage:
    """Give the page of a test's findings; where nothing can be judged, why not.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        test, far, revision = ball_test_of(tx, test_id), how_far(tx, test_id), last_revision(tx, test_id)
    if is_hidden(test):
        return FindingsPage(test, far.read, far.planned, revision)
    try:
        findings = judge_notebook_test(notebook, test_id)
    except BadInput as error:
        return FindingsPage(test, far.read, far.planned, revision, faults=error.faults)
    return FindingsPage(test, far.read, far.planned, revision, findings)


def comparison_page(notebook: Notebook, test_id: int, quantity: str) -> ComparisonPage:
    """Give the page of a comparison; an empty quantity is the first that was read as a number.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        test, revision = ball_test_of(tx, test_id), last_revision(tx, test_id)
    numbers = tuple(one.name for one in test.quantities if not one.yes_no)
    quantity = quantity or next(iter(numbers), "")
    if is_hidden(test):
        return ComparisonPage(test, quantity, numbers, revision)
    try:
        comparison = compare_notebook_test(notebook, test_id, quantity)
    except BadInput as error:
        return ComparisonPage(test, quantity, numbers, revision, faults=error.faults)
    return ComparisonPage(test, quantity, numbers, revision, comparison)


@contextmanager
def _files(notebook: Notebook, test_id: int) -> Iterator[ExportedTest]:
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        yield export_test(notebook, test_id, Path(folder))
