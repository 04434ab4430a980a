"""`trace`: run the workflow, then show, write JSON, readings, the report; say by the status whether any was used."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from ballbench.cli.line_faults import refuse_stray_words
from ballbench.cli.output import each_of, progress_bar, tell, write_report, write_text
from ballbench.cli.places import check_places

__all__ = ["run_trace"]


def run_trace(options: dict[str, Any], json: str | None, report: Path | None, readings: Path | None) -> None:
    """Trace photographs, and present as asked; status 2 where none of them could be used."""
    from ballbench.presentation.outlines_json import outlines_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.presentation.outlines_terminal import print_outlines  # noqa: PLC0415 - as above
    from ballbench.workflows.trace import TraceRequest, trace  # noqa: PLC0415 - as above

    refuse_stray_words("trace", options["files"])
    check_places(options, json, report, "trace", readings=readings)
    if readings is not None:
        from ballbench.workflows.trace_readings import refuse_without_scale  # noqa: PLC0415 - as above

        refuse_without_scale(options["scale"], options["diameter"])
    with progress_bar() as bar:
        task = bar.add_task("Tracing photographs", total=len(options["files"]))
        found = trace(TraceRequest(**options), lambda done, total: bar.update(task, completed=done, total=total))

    def kept() -> None:
        if readings is not None and found.read:
            from ballbench.workflows.trace_readings import outline_readings  # noqa: PLC0415 - as above

            write_text(str(readings), outline_readings(found), "--readings")

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.outlines_report import outlines_document  # noqa: PLC0415 - drawing loads only here

            write_report(outlines_document(found), report, "trace", quiet=json == "-")

    each_of(lambda: tell(found, json, outlines_to_json, print_outlines), kept, reported)
    if not found.read:
        raise typer.Exit(2)
