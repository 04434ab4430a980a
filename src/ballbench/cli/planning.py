"""`plan`: run the workflow, then show, write JSON, write the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer
from rich.console import Console
from rich.progress import Progress, TaskID

from ballbench.cli.output import each_of, progress_bar, write_report, write_text
from ballbench.cli.places import check_places
from ballbench.presentation.plan_json import plan_to_json
from ballbench.workflows.plan import PlanRequest, designs_of, plan

__all__ = ["run_plan"]


def run_plan(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Plan, and present as asked."""
    check_places(options, json, report, "plan")
    request = PlanRequest(**options)
    with progress_bar() as bar:
        found = plan(request, _Pieces(bar, request))

    def told() -> None:
        if json != "-":
            from ballbench.presentation.plan_terminal import print_plan  # noqa: PLC0415 - JSON alone does not need it

            print_plan(found, Console())

    def kept() -> None:
        if json is not None:
            write_text(json, plan_to_json(found))

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.plan_report import plan_document  # noqa: PLC0415 - drawing loads only here

            write_report(plan_document(found), report, "plan", quiet=json == "-")

    each_of(told, kept, reported)


class _Pieces:
    """One line of the bar for each piece of the work; where there is no bar, its first words on stderr."""

    def __init__(self, bar: Progress, request: PlanRequest) -> None:
        self._bar = bar
        self._request = request
        self._tasks: dict[str, TaskID] = {}

    def __call__(self, what: str, done: int, total: int) -> None:
        if what not in self._tasks:
            self._tasks[what] = self._bar.add_task(what, total=None)
            if self._bar.disable:
                typer.echo(_begun(what, self._request), err=True)
        self._bar.update(self._tasks[what], completed=done, total=total or None)


def _begun(what: str, request: PlanRequest) -> str:
    """Say what is begun, and of the designs how much it is: a file or a pipe shows no bar."""
    if what != "designs":
        return f"Working out: {what}."
    count = designs_of(request)
    tests = f"{request.tests} simulated tests"
    amount = f"1 design, {tests}" if count == 1 else f"{count} designs, {tests} of each"
    return f"Working out: {amount}. That may take minutes; --tests 100 is a quicker first look."
