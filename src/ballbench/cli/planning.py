"""`plan`: run the workflow, then show, write JSON, write the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import Progress, TaskID

from ballbench.cli.output import keep_inputs, progress_bar, write_report, write_text
from ballbench.presentation.plan_json import plan_to_json
from ballbench.workflows.plan import PlanRequest, plan

__all__ = ["run_plan"]


def run_plan(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Plan, and present as asked."""
    keep_inputs(options, json)
    with progress_bar() as bar:
        found = plan(PlanRequest(**options), _Pieces(bar))
    if json is not None:
        write_text(json, plan_to_json(found))
    if json != "-":
        from ballbench.presentation.plan_terminal import print_plan  # noqa: PLC0415 - JSON alone does not need it

        print_plan(found, Console())
    if report is not None:
        from ballbench.presentation.plan_report import plan_document  # noqa: PLC0415 - drawing loads only for a report

        write_report(plan_document(found), report, "plan", quiet=json == "-")


class _Pieces:
    """One line of the bar for each piece of the work."""

    def __init__(self, bar: Progress) -> None:
        self._bar = bar
        self._tasks: dict[str, TaskID] = {}

    def __call__(self, what: str, done: int, total: int) -> None:
        if what not in self._tasks:
            self._tasks[what] = self._bar.add_task(what, total=total)
        self._bar.update(self._tasks[what], completed=done, total=total)
