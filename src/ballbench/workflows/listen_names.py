"""Whose drops a recording holds, read from the name of its file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from ballbench.errors import BadRequest, Fault

__all__ = ["USUAL_NAMES", "names_note", "whose"]

USUAL_NAMES = "{product}_{ball}_{rest}"
_FIELDS = ("product", "ball", "rest")


def whose(files: Sequence[Path], pattern: str = "") -> tuple[tuple[str, str], ...]:
    """Give product and ball of each file.

    Parameters
    ----------
    files : sequence of Path
        Only their names matter.
    pattern : str
        Such as ``"{ball}-{product}"``, without the ending; empty: `USUAL_NAMES`, where a name that has no underscore
        is a product of one ball, ``1``.

    Returns
    -------
    tuple of (str, str)
        In the order of the files.

    Raises
    ------
    BadRequest
        A pattern that is none, or names that do not fit it, all at once.
    """
    if not pattern:
        return tuple(_usual(file.stem) for file in files)
    fitted = _fitting(pattern)
    found, faults = [], []
    for file in files:
        match = fitted.fullmatch(file.stem)
        if match is None:
            faults.append(
                Fault(file.name, "a name that does not fit", f"names like {pattern}", "rename it, or change --names")
            )
        else:
            groups = match.groupdict()
            found.append((groups.get("product") or "balls", groups.get("ball") or "1"))
    if faults:
        raise BadRequest(faults)
    return tuple(found)


def names_note(files: Sequence[Path], own: Sequence[tuple[str, str]], pattern: str) -> str:
    """Say how the names were read, with the first file as the example."""
    product, ball = own[0]
    how = pattern or "PRODUCT_BALL, and what follows a second underscore does not count"
    return f"whose drops a file holds is read from its name ({how}): {files[0].name} is {product}, ball {ball}"


def _usual(stem: str) -> tuple[str, str]:
    parts = stem.split("_", 2)
    return (parts[0], parts[1]) if len(parts) > 1 and all(parts[:2]) else (stem, "1")


def _fitting(pattern: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w*)\}", pattern)
    named = pieces[1::2]
    if "ball" not in named or any(name not in _FIELDS for name in named) or len(set(named)) != len(named):
        allowed = "a pattern with {ball}, and {product} and {rest} where wanted, each once"
        raise BadRequest(Fault("option --names", repr(pattern[:60]), allowed, "write such as {product}_{ball}"))
    text = "".join(
        re.escape(piece) if index % 2 == 0 else f"(?P<{piece}>.{'*' if piece == 'rest' else '+?'})"
        for index, piece in enumerate(pieces)
    )
    return re.compile(text)
