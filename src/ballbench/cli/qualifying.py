"""`qualify`: run the workflow, then show, write JSON, the report, and the bench entry."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from ballbench.cli.output import each_of, write_report, write_text
from ballbench.cli.places import check_places
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
    if bench is not None and bench.exists():
        todo = "name a new file, and copy the entry from it"
        raise BadRequest(Fault("option --write-bench", f"{bench}, which is there already", "a new file", todo))
    check_places(options, json, report, "qualification", write_bench=bench)
    found = qualify(QualifyRequest(**options))

    def told() -> None:
        if json != "-":
            from ballbench.presentation.qualification_terminal import (  # noqa: PLC0415 - JSON alone does not need it
                print_qualification,
            )

            print_qualification(found, Console())

    def kept() -> None:
        if json is not None:
            write_text(json, qualification_to_json(found))

    def entered() -> None:
        if bench is not None:
            write_text(str(bench), bench_entry(found), "--write-bench")
            if json != "-":
                Console().print(f"Bench file: {bench}", markup=False, highlight=False, soft_wrap=True)

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.qualification_report import (  # noqa: PLC0415 - drawing loads only here
                qualification_document,
            )

            write_report(qualification_document(found), report, "qualification", quiet=json == "-")

    each_of(told, kept, entered, reported)
