"""`qualify`: run the workflow, then show, write JSON, the report, and the bench entry."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from ballbench.cli.output import keep_inputs, write_report, write_text
from ballbench.errors import BadRequest, Fault
from ballbench.presentation.qualification_json import qualification_to_json
from ballbench.workflows.qualify import QualifyRequest, bench_entry, qualify

__all__ = ["run_qualify"]


def run_qualify(options: dict[str, Any], json: str | None, report: Path | None, bench: Path | None) -> None:
    """Qualify, and present as asked; a bench file is written anew, never over one that is there.

    Raises
    ------
    BadRequest
        The bench file to be written is there already, or a file or option cannot be used.
    """
    keep_inputs(options, json)
    if bench is not None and bench.exists():
        todo = "name a new file, and copy the entry from it"
        raise BadRequest(Fault("option --write-bench", f"{bench}, which is there already", "a new file", todo))
    found = qualify(QualifyRequest(**options))
    if json is not None:
        write_text(json, qualification_to_json(found))
    if bench is not None:
        write_text(str(bench), bench_entry(found), "--write-bench")
    if json != "-":
        from ballbench.presentation.qualification_terminal import print_qualification  # noqa: PLC0415 - as in judging

        print_qualification(found, Console())
        if bench is not None:
            Console().print(f"Bench file: {bench}", markup=False, highlight=False, soft_wrap=True)
    if report is not None:
        from ballbench.presentation.qualification_report import qualification_document  # noqa: PLC0415 - as in judging

        write_report(qualification_document(found), report, "qualification", quiet=json == "-")
