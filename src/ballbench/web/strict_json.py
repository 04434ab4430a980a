"""JSON as RFC 8259 has it and every database can keep it: no NaN, no name twice, no half of a character, no control."""

from __future__ import annotations

import json
from typing import Any

from fastapi import Request

from ballbench.errors import Fault
from ballbench.web.problems import Refused

__all__ = ["StrictJson", "strict_json"]

_LARGEST = 2**53 - 1
"""Whole numbers beyond it do not survive JSON everywhere, RFC 8259 section 6."""
_LAYOUT = frozenset("\n\r\t")


class StrictJson(Request):
    """A request whose body is read as strict JSON."""

    async def json(self) -> Any:
        """Read the body.

        Raises
        ------
        Refused
            It is no such JSON.
        """
        return strict_json(await self.body())


def strict_json(body: bytes) -> Any:
    """Read JSON.

    Parameters
    ----------
    body : bytes
        UTF-8.

    Raises
    ------
    Refused
        It is no JSON, holds NaN or infinity, a name twice, a whole number beyond 2^53, a control character or half of
        a surrogate pair.
    """
    try:
        value = json.loads(body.decode("utf-8"), parse_constant=_no_constant, parse_int=_whole, object_pairs_hook=_once)
        _check_text(value)
    except RecursionError as error:
        raise _refused("brackets nested too deeply") from error
    except ValueError as error:  # what is no JSON or no UTF-8, and what the functions below refuse
        raise _refused(str(error)) from error
    return value


def _no_constant(name: str) -> float:
    raise ValueError(f"{name}, which is no number of JSON")


def _whole(digits: str) -> int:
    if len(digits) > 17 or abs(int(digits)) > _LARGEST:
        raise ValueError(f"a whole number of {len(digits)} characters")
    return int(digits)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name twice in one object")
    return found


def _check_text(value: Any) -> None:
    """Look through everything for characters that cannot be kept."""
    if isinstance(value, str):
        for character in value:
            if (character < " " and character not in _LAYOUT) or "\x7f" <= character < "\xa0":
                raise ValueError(f"the control character U+{ord(character):04X}")
            if "\ud800" <= character <= "\udfff":
                raise ValueError("half of a surrogate pair")
    elif isinstance(value, dict):
        for name, part in value.items():
            _check_text(name)
            _check_text(part)
    elif isinstance(value, list):
        for part in value:
            _check_text(part)


def _refused(found: str) -> Refused:
    return Refused(422, Fault("body", found, "JSON in UTF-8 with printable text", "correct it and send it again"))
