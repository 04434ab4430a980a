"""Options that need reading."""

from __future__ import annotations

import re

from ballbench.errors import BadRequest, Fault

__all__ = ["counts_of", "look_of", "range_of"]


def look_of(text: str) -> tuple[int, int]:
    """Read ``2/3`` as look 2 of 3 planned.

    Raises
    ------
    BadRequest
        It is written otherwise.
    """
    match = re.fullmatch(r"\s*(\d{1,3})\s*/\s*(\d{1,3})\s*", text)
    if match is None:
        raise BadRequest(Fault("option --look", repr(text), "a look of the planned number, such as 2/3", "write it so"))
    return int(match[1]), int(match[2])


def counts_of(option: str, text: str) -> tuple[int, ...]:
    """Read ``6,12,24`` as whole numbers, each once.

    Raises
    ------
    BadRequest
        It is written otherwise.
    """
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and len(part) < 10 for part in parts):
        allowed = "whole numbers with commas between, such as 6,12,24"
        raise BadRequest(Fault(f"option {option}", repr(text[:60]), allowed, "write it so"))
    return tuple(dict.fromkeys(int(part) for part in parts))


def range_of(option: str, text: str) -> tuple[float, float]:
    """Read ``2.0-2.6`` or ``2.0 to 2.6`` as a range.

    Raises
    ------
    BadRequest
        It is written otherwise.
    """
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:-|to)\s*(\d+(?:\.\d+)?)\s*", text)
    if match is None:
        raise BadRequest(Fault(f"option {option}", repr(text[:60]), "a range such as 2.0-2.6", "write it so"))
    return float(match[1]), float(match[2])
