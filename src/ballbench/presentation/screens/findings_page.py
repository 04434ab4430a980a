"""Judge: the findings of one test, clause by clause, as the report has them, while readings still arrive."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.errors import Fault
from ballbench.findings.results import Findings
from ballbench.presentation.report import findings_document
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.progress import is_hidden
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED
from ballbench.records.ball_test import BallTest

__all__ = ["FindingsPage", "findings_html"]


@dataclass(frozen=True, slots=True)
class FindingsPage:
    """The findings of a test. Filled by ``workflows/judge_test.py``.

    Parameters
    ----------
    test : BallTest
        As set up.
    read, planned : int
        Places that hold a standing reading, and places in all.
    revision : int
        Number of the last thing that is judged here; what comes later is offered.
    findings : Findings or None
        None while they are hidden, or where nothing can be judged yet.
    faults : tuple of Fault
        Why nothing can be judged; empty otherwise.
    """

    test: BallTest
    read: int
    planned: int
    revision: int
    findings: Findings | None = None
    faults: tuple[Fault, ...] = ()


def findings_html(data: FindingsPage) -> str:
    """Write the findings of one test; those of a blind test that is not finished are never written."""
    test = data.test
    hidden = is_hidden(test)
    shown = data.findings is not None and not hidden
    document = findings_document(data.findings) if data.findings is not None and not hidden else None
    body = write("findings.html.j2", data=data, test=test, hidden=hidden, document=document)
    live = test.stage != "finished" and not hidden
    banner = (
        INVENTED if test.invented or (shown and data.findings is not None and data.findings.footing.invented) else ""
    )
    script = "live.js" if live else None
    return page(f"Judge: {test.title}", body, here="judge", test=test, script=script, banner=banner)
