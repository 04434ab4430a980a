"""What is wrong with the line that was typed, said as every other fault is.

The parser has words of its own; they neither show what was typed nor say what to do.
"""

from __future__ import annotations

import difflib
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ballbench.cli.examples import EXAMPLES
from ballbench.errors import BadRequest, Fault

__all__ = ["line_fault", "refuse_stray_words"]

_UNIT = r"mm|cm|m|um|µm|in|ft|g|kg|oz|ms|s|hPa|kPa|Pa|degC|degF|°C|°F|K|%|px|mm/px|px/mm"
_STRAY = re.compile(rf"(?=\S)[±+-]{{0,2}}(\d+([.,]\d+)?)?\s*({_UNIT})?[,;]?")
"""A number or a unit alone: no file is called so, but the rest of a value without quotes is."""
_VALUES = (
    ("valid integer", "a whole number", "write it so"),
    ("valid number", "a number with a decimal point", "write it without a unit and without a decimal comma"),
    ("valid float", "a number with a decimal point", "write it without a unit and without a decimal comma"),
)


def line_fault(  # noqa: PLR0911 - one return for each of the parser's complaints
    error: Exception, typed: Sequence[str] | None = None
) -> Fault | None:
    """Say what the parser found wrong with the line.

    Parameters
    ----------
    error : Exception
        What was raised while the line was read.
    typed : sequence of str or None
        The words of the line; None: those of this process.

    Returns
    -------
    Fault or None
        None: it is no error about the line.
    """
    kind, context = type(error).__name__, getattr(error, "ctx", None)
    words = sys.argv[1:] if typed is None else typed
    message = str(getattr(error, "message", ""))
    if kind == "MissingParameter" or (kind == "BadParameter" and not message):
        return _left_out(error)
    if kind == "NoSuchOption":
        return _no_such_option(error, context)
    if kind == "BadOptionUsage":
        name = str(getattr(error, "option_name", ""))
        if "take a value" in message:
            return Fault(f"option {name}", "a value", "nothing behind it: it is said or not said", "write it alone")
        return Fault(
            f"option {name}", "nothing behind it", "its value", f"write it behind {name}, in quotes if it has blanks"
        )
    if kind == "BadParameter":
        return _bad_value(error, words, message)
    if message.startswith("No such command"):
        return _no_such_command(context, message)
    if message.startswith("Got unexpected extra argument"):
        return _too_many(context, message)
    return None


def refuse_stray_words(command: str, files: Sequence[Path]) -> None:
    """Refuse words that stand where files do and are the rest of a value without quotes, such as ``mm,``.

    Raises
    ------
    BadRequest
        There are such words, and no files of these names.
    """
    stray = [str(file) for file in files if _STRAY.fullmatch(str(file)) and not file.exists()]
    if stray:
        found = f"{', '.join(map(repr, stray[:5]))} among the files"
        todo = f"put what has blanks in quotes, as in `{EXAMPLES[command]}`"
        raise BadRequest(Fault(command, found, "files, and values with blanks in quotes", todo))


def _left_out(error: Any) -> Fault | None:
    """Say what an option or a file is that was left out, with a whole line as the example."""
    if error.param is None or error.ctx is None:
        return None
    name = error.param.opts[0]
    where = f"option {name}" if name.startswith("-") else str(error.param.metavar or name).rstrip(".")
    example = EXAMPLES.get(error.ctx.command.name or "", f"{error.ctx.command_path} --help")
    return Fault(where, "nothing", _help_of(error.param), f"write it as in `{example}`")


def _help_of(parameter: Any) -> str:
    text = str(getattr(parameter, "help", "") or "").rstrip(".")
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def _no_such_option(error: Any, context: Any) -> Fault:
    name, path = str(error.option_name), context.command_path if context is not None else "ballbench"
    commands = getattr(getattr(context, "command", None), "commands", None)
    if commands:
        todo = f"write it behind a command, such as `{path} judge`"
        return Fault(
            f"option {name}", "an option before the command", f"the command first: {', '.join(commands)}", todo
        )
    near = ["--help"] if name in {"-h", "-?"} else sorted(error.possibilities or ())
    todo = f"write {' or '.join(near)}" if near else "look for its name there"
    return Fault(f"option {name}", "no option of this name", f"the options that `{path} --help` lists", todo)


def _bad_value(error: Any, words: Sequence[str], message: str) -> Fault | None:
    if error.param is None:
        return None
    name = error.param.opts[0]
    value = repr(_typed(error.param.opts, words))
    allowed, todo = next(((rule, todo) for part, rule, todo in _VALUES if part in message), ("", "correct it"))
    limit = re.search(r"(greater|less) than or equal to (\S+)", message)
    if limit is not None:
        allowed = f"at {'least' if limit[1] == 'greater' else 'most'} {limit[2]}"
    return Fault(f"option {name}", value, allowed or message or _help_of(error.param), todo)


def _typed(options: Sequence[str], words: Sequence[str]) -> str:
    """Give what was typed behind an option, the last time that it was."""
    found = ""
    for word, after in zip(words, [*words[1:], ""], strict=True):
        if word in options:
            found = after
        elif word.partition("=")[0] in options:
            found = word.partition("=")[2]
    return found[:60]


def _no_such_command(context: Any, message: str) -> Fault:
    wanted = re.search(r"'(.*?)'", message)
    commands = list(getattr(getattr(context, "command", None), "commands", {}))
    near = difflib.get_close_matches(wanted[1] if wanted else "", commands, 1)
    todo = f"write `ballbench {near[0]}`" if near else "see `ballbench --help`"
    return Fault("command", repr(wanted[1]) if wanted else "no command of this name", ", ".join(commands), todo)


def _too_many(context: Any, message: str) -> Fault:
    found = message.partition("(s) (")[2].removesuffix(")") or message
    arguments = [one for one in context.command.params if not one.opts[0].startswith("-")]
    names = " and ".join(f"one {one.metavar or one.name.upper()}" for one in arguments) or "no file"
    todo = "name one at a time, and put what has blanks in quotes"
    return Fault(context.info_name, f"{found} besides", f"{names}, and options", todo)
