"""What every command does with a result: a progress bar, JSON to a file or the screen, a report in a folder."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from ballbench.errors import BadRequest, Fault

__all__ = ["keep_inputs", "progress_bar", "tell", "write_report", "write_text"]

Found = TypeVar("Found")


def progress_bar() -> Progress:
    """A bar on stderr that goes away when done; on a screen only."""
    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=console, transient=True, disable=not console.is_terminal)


def keep_inputs(options: dict[str, Any], json: str | None, **written: Path | None) -> None:
    """Refuse to write over a file that is read.

    Parameters
    ----------
    options : dict
        What was asked; texts and paths in it, alone or in a tuple, may name files that are read.
    json : str or None
        Where JSON goes.
    **written : Path or None
        By the name of the option, other files that are to be written.

    Raises
    ------
    BadRequest
        A place that is to be written to is one of the inputs; all such places at once.
    """
    read = [part for value in options.values() for part in (value if isinstance(value, tuple) else (value,))]
    inputs = [Path(part) for part in read if isinstance(part, str | Path) and _exists(part)]
    targets = {"json": Path(json) if json is not None and json != "-" else None, **written}
    faults = [
        Fault(
            f"option --{name.replace('_', '-')}", str(target), "a file that is not one of the inputs",
            "name another; nothing was written",
        )
        for name, target in targets.items()
        if target is not None and target.exists() and any(target.samefile(one) for one in inputs)
    ]  # fmt: skip
    if faults:
        raise BadRequest(faults)


def _exists(name: str | Path) -> bool:
    """Say whether there is such a file; a text that can be none, such as a very long one, is none."""
    try:
        return Path(name).exists()
    except (OSError, ValueError):
        return False


def tell(
    found: Found, json: str | None, as_json: Callable[[Found], str], printed: Callable[[Found, Console], None]
) -> None:
    """Write a result as JSON where it was asked for, and print it unless JSON alone goes to the screen."""
    if json is not None:
        write_text(json, as_json(found))
    if json != "-":
        printed(found, Console())


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
