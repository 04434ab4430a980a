"""From what ballbench raises to an exit status and a message that says what to do."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable

import typer

from ballbench.cli.examples import EXAMPLES
from ballbench.errors import BadInput, BadRequest, Fault, NotConverged

__all__ = ["guarded"]

SHOWN = 50


def guarded(command: Callable[..., object]) -> int:  # noqa: PLR0911 - one return for each class of ending
    """Run the command line; 0 done, 2 bad input, 1 a fault of our own.

    Parameters
    ----------
    command : callable
        The typer application.
    """
    try:
        result = command(standalone_mode=False)
    except BadInput as error:
        _print_faults(error)
        return 2
    except NotConverged as error:
        print(f"ballbench: {error}. Give more readings, or readings with a finer display.", file=sys.stderr)
        return 2
    except (typer.Abort, KeyboardInterrupt):
        print("ballbench: stopped", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - the reader left; nothing to say
        return 0
    except Exception as error:  # whatever is left is a misused option, or a fault of our own
        missing = _left_out(error)
        if missing is not None:
            _print_faults(missing)
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
        print(f"ballbench: {fault.where}: found {fault.found}.", file=sys.stderr)
        stop = "" if "," in fault.todo.rsplit(" ", 1)[-1] else "."  # a line to paste ends as it is
        print(f"  Allowed: {fault.allowed}. What to do: {fault.todo}{stop}", file=sys.stderr)
    left = max(len(faults) - SHOWN, 0) + error.more
    if left:
        print(f"ballbench: and {left} more of them", file=sys.stderr)


def _left_out(error: Exception) -> BadInput | None:
    """Say what an option or a file is that was left out, with a whole line as the example; None: it is another error.

    The parser has no words of its own for what is missing, and words for everything else.
    """
    if not isinstance(error, typer.BadParameter) or error.message or error.param is None or error.ctx is None:
        return None
    name = error.param.opts[0]
    where = f"option {name}" if name.startswith("-") else str(error.param.metavar or name).rstrip(".")
    allowed = str(getattr(error.param, "help", "")).rstrip(".")
    allowed = allowed[:1].lower() + allowed[1:] if allowed[1:2].islower() else allowed
    example = EXAMPLES.get(error.ctx.command.name or "", f"{error.ctx.command_path} --help")
    return BadRequest(Fault(where, "nothing", allowed, f"write it as in `{example}`"))


def _about_options(error: Exception) -> bool:
    """Show an error about the command line itself, which the parser knows how to show; say whether it was one."""
    show = getattr(error, "show", None)
    if show is None or not hasattr(error, "exit_code"):
        return False
    show()
    return True
