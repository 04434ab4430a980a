"""What comes back for a table that was typed into a page of a bench aid."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TypedResult"]


@dataclass(frozen=True, slots=True)
class TypedResult:
    """A result as three things. Filled by ``workflows/bench_aids.py``.

    Parameters
    ----------
    document : str
        JSON, the same as the command writes for such a file.
    shown : str
        HTML to stand below the entries; every word of a person in it is escaped.
    entries : tuple of dict of str to str
        The cells as they were read, by column; empty cells are empty.
    """

    document: str
    shown: str
    entries: tuple[dict[str, str], ...]
