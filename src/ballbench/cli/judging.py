"""`judge` and `compare`: run the workflow, then show, write JSON, write the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from ballbench.cli.output import each_of, progress_bar, write_report, write_text
from ballbench.cli.places import check_places
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import findings_to_json
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.judge import JudgeRequest, judge

__all__ = ["run_compare", "run_judge"]


def run_judge(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Judge, and present as asked."""
    check_places(options, json, report, "judgement")
    with progress_bar() as bar:
        task = bar.add_task("judging", total=None)
        findings = judge(JudgeRequest(**options), lambda done, total: bar.update(task, completed=done, total=total))

    def told() -> None:
        if json != "-":
            from ballbench.presentation.terminal import print_findings  # noqa: PLC0415 - JSON alone does not need it

            print_findings(findings, Console())

    def kept() -> None:
        if json is not None:
            write_text(json, findings_to_json(findings))

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.report import findings_document  # noqa: PLC0415 - drawing loads only here

            write_report(findings_document(findings), report, "judgement", quiet=json == "-")

    each_of(told, kept, reported)


def run_compare(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Compare, and present as asked."""
    check_places(options, json, report, "comparison")
    comparison = compare(CompareRequest(**options))

    def told() -> None:
        if json != "-":
            from ballbench.presentation.terminal import print_comparison  # noqa: PLC0415 - JSON alone does not need it

            print_comparison(comparison, Console())

    def kept() -> None:
        if json is not None:
            write_text(json, comparison_to_json(comparison))

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.comparison_report import comparison_document  # noqa: PLC0415 - as above

            write_report(comparison_document(comparison), report, "comparison", quiet=json == "-")

    each_of(told, kept, reported)
