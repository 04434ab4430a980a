"""Options that need reading."""

from __future__ import annotations

import re

from ballbench.errors import BadRequest, Fault

__all__ = ["look_of"]


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
