"""`demo`: judge and compare the invented makes, read their recordings, and say where the reports are."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from rich.console import Console

from ballbench.cli.output import progress_bar, write_report
from ballbench.cli.places import check_places
from ballbench.presentation.bounces_report import bounces_document
from ballbench.presentation.comparison_report import comparison_document
from ballbench.presentation.drops_report import drops_document
from ballbench.presentation.outlines_report import outlines_document
from ballbench.presentation.report import findings_document
from ballbench.presentation.rolls_report import rolls_document
from ballbench.presentation.terminal import print_findings
from ballbench.workflows.demo import DemoResult, demo

__all__ = ["run_demo"]

_BY = {
    "listen": "Heard, a phone beside the drop",
    "trace": "Photographed, before a cool lamp",
    "watch": "Filmed",
    "roll": "Rolled down a ramp",
}


def run_demo(report: Path, seed: int) -> None:
    """Run the demonstration and say where its reports are."""
    for name in ("judgement", "comparison", *_BY):
        check_places({}, None, report, name)
    console = Console()
    with progress_bar() as bar:
        bar.add_task("judging, comparing, listening, tracing", total=None)
        result = demo(seed)
    print_findings(result.findings, console)
    judged = write_report(findings_document(result.findings), report, "judgement", quiet=True)
    compared = write_report(comparison_document(result.comparison), report, "comparison", quiet=True)
    for name, document in (
        ("listen", bounces_document(result.bounces)), ("trace", outlines_document(result.outlines)),
        ("watch", drops_document(result.drops)), ("roll", rolls_document(result.balance)),
    ):  # fmt: skip
        write_report(document, report, name, quiet=True)
    opener = "open" if sys.platform == "darwin" else "start" if sys.platform == "win32" else "xdg-open"
    lines = (
        "",
        "In short, on invented data:",
        *(f"  {product.headline[0]}" for product in result.findings.products),
        f"  {result.comparison.sentences[0]}",
        "",
        "And from invented recordings:",
        *_recorded(result),
        "",
        f"Report (page and PDF): {judged}",
        f"  open it with: {opener} {judged}",
        f"Next step, Compare: {compared}",
        f"  open it with: {opener} {compared}",
        f"Reports on the recordings: {', '.join(f'{name}.html' for name in _BY)} beside them",
        f"The files it came from: {result.folder}",
        "To measure balls of your own: ballbench open",
    )
    for line in lines:
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def _recorded(result: DemoResult) -> Iterator[str]:
    """Say the first thing that each kind of recording tells."""
    told = {
        "listen": result.bounces.sentences, "trace": result.outlines.sentences, "watch": result.drops.sentences,
        "roll": result.balance.sentences,
    }  # fmt: skip
    for name, sentences in told.items():
        yield f"  {_BY[name]} (ballbench {name}): {sentences[0]}"
