"""Compare: the makes of one test against each other in one quantity, as the report has it."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.errors import Fault
from ballbench.findings.comparisons import Comparison
from ballbench.presentation.report import comparison_document
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.progress import is_hidden
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, quantity_words
from ballbench.records.ball_test import BallTest

__all__ = ["ComparisonPage", "comparison_html"]


@dataclass(frozen=True, slots=True)
class ComparisonPage:
    """A comparison within a test. Filled by ``workflows/judge_test.py``.

    Parameters
    ----------
    test : BallTest
        As set up.
    quantity : str
        Canonical name of what is compared.
    quantities : tuple of str
        What can be compared: quantities of the test that were read as numbers.
    revision : int
        Number of the last thing that is compared here; what comes later is offered.
    comparison : Comparison or None
        None while it is hidden, or where nothing can be compared.
    faults : tuple of Fault
        Why nothing can be compared, such as a single make; empty otherwise.
    """

    test: BallTest
    quantity: str
    quantities: tuple[str, ...]
    revision: int
    comparison: Comparison | None = None
    faults: tuple[Fault, ...] = ()


def comparison_html(data: ComparisonPage) -> str:
    """Write the comparison; that of a blind test that is not finished is never written."""
    test = data.test
    hidden = is_hidden(test)
    document = comparison_document(data.comparison) if data.comparison is not None and not hidden else None
    choices = [(name, quantity_words(name)) for name in data.quantities]
    body = write("comparison.html.j2", data=data, test=test, hidden=hidden, document=document, choices=choices)
    live = test.stage != "finished" and not hidden
    invented = test.invented or (document is not None and bool(document.banner))
    script = "live.js" if live else None
    title = f"Compare: {test.title}"
    return page(title, body, here="compare", test=test, script=script, banner=INVENTED if invented else "")
