"""What every command does with a result: a progress bar, JSON to a file or the screen, a report in a folder."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from ballbench.errors import BadRequest, Fault

__all__ = ["keep_inputs", "progress_bar", "write_report", "write_text"]


def progress_bar() -> Progress:
    """A bar on stderr that goes away when done; on a screen only."""
    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=console, transient=True, disable=not console.is_terminal)


def keep_inputs(options: dict[str, Any], json: str | None) -> None:
    """Refuse to write JSON over a file that is read.

    Raises
    ------
    BadRequest
        The place that JSON is to go to is one of the inputs.
    """
    if json is None or json == "-":
        return
    target = Path(json)
    for value in options.values():
        if isinstance(value, str | Path) and target.exists() and Path(value).exists() and target.samefile(value):
            raise BadRequest(
                Fault(
                    "option --json", json, "a file that is not one of the inputs", "name another; nothing was written"
                )
            )


def write_text(place: str, text: str, option: str = "--json") -> None:
    """Write to a file, or to the screen for ``-``; `option` is named where that cannot be done."""
    if place == "-":
        sys.stdout.write(text)
        return
    try:
        Path(place).write_text(text, encoding="utf-8")
    except OSError as error:
        raise _cannot_write(option, place, error) from error


def write_report(document: Any, folder: Path, name: str, *, quiet: bool) -> Path:
    """Write a document into a folder, as a page and as PDF, say where unless quiet, and give the page."""
    from ballbench.presentation import report_files  # noqa: PLC0415 - drawing loads only for a report

    try:
        files = report_files.write_report(document, folder, name)
    except OSError as error:
        raise _cannot_write("--report", str(folder), error) from error
    if not quiet:
        Console().print(f"Report: {files.page} and {files.pdf}", markup=False, highlight=False, soft_wrap=True)
    return Path(files.page)


def _cannot_write(option: str, place: str, error: OSError) -> BadRequest:
    reason = error.strerror or str(error)
    return BadRequest(
        Fault(f"option {option}", f"{place} ({reason})", "a place that can be written to", "name another")
    )
