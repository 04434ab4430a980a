"""Plan: what was worked out before a ball was read, as the report has it, and the way to the test itself."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.plans import Plan
from ballbench.presentation.plan_report import plan_document
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.plan_words import PlanLine, plan_words, planned_words
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED

__all__ = ["PlanPage", "plan_html"]


@dataclass(frozen=True, slots=True)
class PlanPage:
    """A plan. Filled by ``workflows/plan_at_bench.py``.

    Parameters
    ----------
    line : PlanLine
        What it is for, and its answer.
    plan : Plan or None
        As it was made; None: another version of ballbench made it, and only its sentences are shown.
    sentences : tuple of str
        What it says beside its answer.
    has_form : bool
        Its requirement is one of the catalogue, for which there is a set-up form.
    """

    line: PlanLine
    plan: Plan | None
    sentences: tuple[str, ...] = ()
    has_form: bool = True


def plan_html(data: PlanPage) -> str:
    """Write the page of a plan."""
    line = data.line
    document = None if data.plan is None else plan_document(data.plan)
    body = write(
        "plan.html.j2", data=data, line=line, document=document, words=plan_words(line), made=planned_words(line)
    )
    return page(f"Plan: {line.title}", body, here="plan", banner=INVENTED if line.invented else "")
