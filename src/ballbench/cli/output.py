"""What every command does with a result: a progress bar, JSON to a file or the screen, a report in a folder."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from ballbench.errors import BadRequest, Fault
from ballbench.presentation.whole_files import write_whole

__all__ = ["each_of", "progress_bar", "tell", "write_report", "write_text"]

Found = TypeVar("Found")
_NO_LETTER = "backslashreplace"
"""How a byte of a file's name that is no letter is written; in JSON it is an escape of its own (RFC 8259, 7)."""


def progress_bar() -> Progress:
    """A bar on stderr that goes away when done; on a screen only."""
    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=console, transient=True, disable=not console.is_terminal)


def each_of(*steps: Callable[[], object]) -> None:
    """Hand a result out in every way that was asked for, though one of them fails.

    Raises
    ------
    BadRequest
        With the faults of all steps that could not be done, after the others are.
    """
    faults: list[Fault] = []
    for step in steps:
        try:
            step()
        except BadRequest as error:
            faults += error.faults
    if faults:
        raise BadRequest(faults)


def tell(
    found: Found, json: str | None, as_json: Callable[[Found], str], printed: Callable[[Found, Console], None]
) -> None:
    """Print a result unless JSON alone goes to the screen, and write it as JSON where it was asked for."""
    if json != "-":
        printed(found, Console())
    if json is not None:
        write_text(json, as_json(found))


def write_text(place: str, text: str, option: str = "--json") -> None:
    """Write to a file, whole or not at all, or to the screen for ``-``; `option` is named where that cannot be done."""
    if place == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(
            text.encode(errors=_NO_LETTER)
        )  # JSON is UTF-8, whatever the terminal speaks (RFC 8259, 8.1)
        return
    try:
        write_whole({Path(place): text.encode(errors=_NO_LETTER)})
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
    todo = "make room or name another place, and run it again; what was there before is as it was"
    return BadRequest(Fault(f"option {option}", f"{place} ({reason})", "a place that can be written to", todo))
