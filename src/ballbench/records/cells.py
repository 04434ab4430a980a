"""Cells of tables that leave the house: a spreadsheet must not take a text for a formula."""

from __future__ import annotations

__all__ = ["guarded", "unguarded"]

_LEADS = ("=", "+", "-", "@", "\t", "\r", "\n")
_GUARD = "'"


def guarded(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run as a formula.

    Source: OWASP, "CSV Injection": cells that begin with =, +, -, @, tab, carriage return or line feed. An apostrophe
    that such a text has already is doubled, so that `unguarded` gives back what was written.
    """
    return _GUARD + text if text.lstrip(_GUARD).startswith(_LEADS) else text


def unguarded(text: str) -> str:
    """Take the apostrophe off again that `guarded` has put there."""
    return text[1:] if text.startswith(_GUARD) and text.lstrip(_GUARD).startswith(_LEADS) else text
