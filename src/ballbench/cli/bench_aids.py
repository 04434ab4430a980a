"""`vee` and `press`: run the workflow, then show, write JSON, the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from ballbench.cli.output import keep_inputs, write_report, write_text

__all__ = ["run_press", "run_vee"]


def run_vee(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Find form from a vee, and present as asked."""
    from ballbench.presentation.vee_json import vee_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.workflows.vee import VeeRequest, vee  # noqa: PLC0415 - as above

    keep_inputs(options, json)
    found = vee(VeeRequest(**options))
    if json is not None:
        write_text(json, vee_to_json(found))
    if json != "-":
        from ballbench.presentation.vee_terminal import print_vee  # noqa: PLC0415 - as above

        print_vee(found, Console())
    if report is not None:
        from ballbench.presentation.vee_report import vee_document  # noqa: PLC0415 - drawing loads only for a report

        write_report(vee_document(found), report, "vee", quiet=json == "-")


def run_press(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Read the log of a press, and present as asked."""
    from ballbench.presentation.press_json import press_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.workflows.press import PressRequest, press  # noqa: PLC0415 - as above

    keep_inputs(options, json)
    found = press(PressRequest(**options))
    if json is not None:
        write_text(json, press_to_json(found))
    if json != "-":
        from ballbench.presentation.press_terminal import print_press  # noqa: PLC0415 - as above

        print_press(found, Console())
    if report is not None:
        from ballbench.presentation.press_report import press_document  # noqa: PLC0415 - as in vee

        write_report(press_document(found), report, "press", quiet=json == "-")
