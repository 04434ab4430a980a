"""`roll`: run the workflow, then show, write JSON, the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from ballbench.cli.output import keep_inputs, write_report, write_text

__all__ = ["run_roll"]


def run_roll(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Read the log of a ramp, or of floats and spins, and present as asked."""
    from ballbench.presentation.rolls_json import rolls_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.workflows.roll import RollRequest, roll  # noqa: PLC0415 - as above

    keep_inputs(options, json)
    found = roll(RollRequest(**options))
    if json is not None:
        write_text(json, rolls_to_json(found))
    if json != "-":
        from ballbench.presentation.rolls_terminal import print_rolls  # noqa: PLC0415 - as above

        print_rolls(found, Console())
    if report is not None:
        from ballbench.presentation.rolls_report import rolls_document  # noqa: PLC0415 - drawing loads for reports only

        write_report(rolls_document(found), report, "roll", quiet=json == "-")
