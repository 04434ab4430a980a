"""From what ballbench raises to an exit status and a message that says what to do."""

from __future__ import annotations

import sys
import traceback
import unicodedata
from collections.abc import Callable

import typer

from ballbench.cli.line_faults import line_fault
from ballbench.cli.screen import Screen, raise_if_lost
from ballbench.errors import BadInput, BadRequest, NotConverged

__all__ = ["guarded"]

SHOWN = 50


def guarded(  # noqa: PLR0911 - one return for each class of ending
    command: Callable[..., object], screen: Screen | None = None
) -> int:
    """Run the command line; 0 done, 2 bad input, 1 a fault of our own.

    Parameters
    ----------
    command : callable
        The typer application.
    screen : Screen or None
        Where it prints, to be asked whether that arrived; a reader who left, as of ``| head``, is no failure.
    """
    try:
        result = command(standalone_mode=False)
        raise_if_lost(screen)
    except BadInput as error:
        _print_faults(error)
        return 2
    except NotConverged as error:
        print(f"ballbench: {error}. Give more readings, or readings with a finer display.", file=sys.stderr)
        return 2
    except (typer.Abort, KeyboardInterrupt):
        print("ballbench: stopped", file=sys.stderr)
        return 130
    except Exception as error:  # whatever is left is a misused option, or a fault of our own
        fault = line_fault(error)
        if fault is not None:
            _print_faults(BadRequest(fault))
            return 2
        if _about_options(error):
            return 2
        traceback.print_exc()
        print("ballbench: this is a fault of ballbench, not of your data; please report it", file=sys.stderr)
        return 1
    return result if isinstance(result, int) else 0


def _print_faults(error: BadInput) -> None:
    """Print every fault, the first fifty when there are more."""
    faults = error.faults
    for fault in faults[:SHOWN]:
        print(_on_one_line(f"ballbench: {fault.where}: found {fault.found}."), file=sys.stderr)
        stop = "" if "," in fault.todo.rsplit(" ", 1)[-1] else "."  # a line to paste ends as it is
        print(_on_one_line(f"  Allowed: {fault.allowed}. What to do: {fault.todo}{stop}"), file=sys.stderr)
    left = max(len(faults) - SHOWN, 0) + error.more
    if left:
        print(f"ballbench: and {left} more of them", file=sys.stderr)


def _on_one_line(text: str) -> str:
    """Make control characters visible: a file's name may hold a line break, or what moves a terminal's cursor."""
    return "".join(f"\\x{ord(sign):02x}" if unicodedata.category(sign) == "Cc" else sign for sign in text)


def _about_options(error: Exception) -> bool:
    """Show an error about the command line itself, which the parser knows how to show; say whether it was one."""
    show = getattr(error, "show", None)
    if show is None or not hasattr(error, "exit_code"):
        return False
    show()
    return True
