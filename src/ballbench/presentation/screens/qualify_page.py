"""Qualify: what one instrument can tell, as the report has it, while readings still arrive, and a button to keep it."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.errors import Fault
from ballbench.findings.qualification import Qualification
from ballbench.presentation.qualification_report import qualification_document
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.progress import is_hidden
from ballbench.presentation.screens.qualified import QualifiedInstrument, qualified_words
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED
from ballbench.records.ball_test import BallTest

__all__ = ["QualifyPage", "qualify_html"]

_KEEP_IT = "Kept for the instrument, these numbers stand in every later plan and set-up."


@dataclass(frozen=True, slots=True)
class QualifyPage:
    """What a test says of its instrument. Filled by ``workflows/qualify_test.py``.

    Parameters
    ----------
    test : BallTest
        As set up.
    read, planned : int
        Places, those of reference pieces among them, that hold a standing reading, and in all.
    revision : int
        Number of the last thing that counts here; what comes later is offered.
    found : Qualification or None
        None while it is hidden, or where nothing can be said yet.
    kept : tuple of QualifiedInstrument
        What was kept of this test, the newest first.
    faults : tuple of Fault
        Why nothing can be said; empty otherwise.
    """

    test: BallTest
    read: int
    planned: int
    revision: int
    found: Qualification | None = None
    kept: tuple[QualifiedInstrument, ...] = ()
    faults: tuple[Fault, ...] = ()


def qualify_html(data: QualifyPage) -> str:
    """Write the qualification of one test; that of a blind test that is not finished is never written."""
    test, hidden = data.test, is_hidden(data.test)
    found = None if hidden else data.found
    document = None if found is None else qualification_document(found, _KEEP_IT)
    kept = [(one, qualified_words(one)) for one in data.kept]
    body = write("qualify.html.j2", data=data, test=test, hidden=hidden, found=found, document=document, kept=kept)
    live = test.stage != "finished" and not hidden
    scripts = [name for name, needed in (("live.js", live), ("keep_instrument.js", document is not None)) if needed]
    invented = test.invented or (found is not None and found.footing.invented)
    title = f"Qualify: {test.title}"
    return page(title, body, here="qualify", test=test, script=scripts, banner=INVENTED if invented else "")
