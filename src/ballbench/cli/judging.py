"""`judge`, `compare` and `demo`: run the workflow, then show, write JSON, write the report."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from rich.console import Console

from ballbench.cli.output import keep_inputs, progress_bar, write_report, write_text
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import findings_to_json
from ballbench.workflows.compare import CompareRequest, compare
from ballbench.workflows.demo import demo
from ballbench.workflows.judge import JudgeRequest, judge

__all__ = ["run_compare", "run_demo", "run_judge"]


def run_judge(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Judge, and present as asked."""
    keep_inputs(options, json)
    with progress_bar() as bar:
        task = bar.add_task("judging", total=None)
        findings = judge(JudgeRequest(**options), lambda done, total: bar.update(task, completed=done, total=total))
    if json is not None:
        write_text(json, findings_to_json(findings))
    if json != "-":
        from ballbench.presentation.terminal import print_findings  # noqa: PLC0415 - JSON alone does not need it

        print_findings(findings, Console())
    if report is not None:
        from ballbench.presentation.report import findings_document  # noqa: PLC0415 - drawing loads only for a report

        write_report(findings_document(findings), report, "judgement", quiet=json == "-")


def run_compare(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Compare, and present as asked."""
    keep_inputs(options, json)
    comparison = compare(CompareRequest(**options))
    if json is not None:
        write_text(json, comparison_to_json(comparison))
    if json != "-":
        from ballbench.presentation.terminal import print_comparison  # noqa: PLC0415 - JSON alone does not need it

        print_comparison(comparison, Console())
    if report is not None:
        from ballbench.presentation.comparison_report import comparison_document  # noqa: PLC0415 - as above

        write_report(comparison_document(comparison), report, "comparison", quiet=json == "-")


def run_demo(report: Path, seed: int) -> None:
    """Run the demonstration and say where its reports are."""
    from ballbench.presentation.comparison_report import comparison_document  # noqa: PLC0415 - as above
    from ballbench.presentation.report import findings_document  # noqa: PLC0415 - as above
    from ballbench.presentation.terminal import print_findings  # noqa: PLC0415 - as above

    console = Console()
    result = demo(seed)
    print_findings(result.findings, console)
    judged = write_report(findings_document(result.findings), report, "judgement", quiet=True)
    compared = write_report(comparison_document(result.comparison), report, "comparison", quiet=True)
    opener = "open" if sys.platform == "darwin" else "start" if sys.platform == "win32" else "xdg-open"
    lines = (
        "",
        "In short, on invented data:",
        *(f"  {product.headline[0]}" for product in result.findings.products),
        f"  {result.comparison.sentences[0]}",
        "",
        f"Report (page and PDF): {judged}",
        f"  open it with: {opener} {judged}",
        f"Next step, Compare: {compared}",
        f"  open it with: {opener} {compared}",
        f"The files it came from: {result.folder}",
        "To measure balls of your own: ballbench open",
    )
    for line in lines:
        console.print(line, markup=False, highlight=False, soft_wrap=True)
