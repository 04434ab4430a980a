"""Faults gathered while a file is read, so that all of them are told at once."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field

from ballbench.errors import BadInput, Fault

__all__ = ["KEPT", "FaultList", "nearest", "quoted"]

KEPT = 1000
"""How many faults an exception holds at most; the rest are counted."""

_SHOWN = 60  # characters of a cell that a message repeats


@dataclass(slots=True)
class FaultList:
    """Faults with their place, in any order; `raise_if_any` sorts them by place.

    Parameters
    ----------
    found : list of (tuple of int and int, Fault)
        Sheet and line of each kept fault.
    total : int
        How many there are, kept or not.
    """

    found: list[tuple[tuple[int, int], Fault]] = field(default_factory=list)
    total: int = 0

    def add(self, fault: Fault, sheet: int = 0, line: int = 0) -> None:
        """Note one fault at a sheet and line (0: the whole file)."""
        self.add_all([((sheet, line), fault)], 1)

    def add_all(self, placed: Iterable[tuple[tuple[int, int], Fault]], total: int) -> None:
        """Note several faults of one sort, of which there are `total` and the first `KEPT` are given."""
        self.found.extend(placed)
        self.total += total

    def raise_if_any(self, error: type[BadInput]) -> None:
        """Raise the error with every fault in the order of the file.

        Raises
        ------
        BadInput
            Of the class that was given, when there is any fault.
        """
        if not self.found:
            return
        ordered = [fault for _, fault in sorted(self.found, key=lambda placed: placed[0])]
        kept = list(dict.fromkeys(ordered))[:KEPT]
        raise error(kept, self.total - len(ordered) + max(0, len(set(ordered)) - KEPT))


def nearest(word: str, known: Iterable[str], alike: float = 0.75) -> str | None:
    """Give the known word that a misspelt one most likely stands for.

    Parameters
    ----------
    word : str
        As the person wrote it.
    known : iterable of str
        What would be allowed.
    alike : float
        Least likeness, 0 to 1, as `difflib` counts it.

    Returns
    -------
    str or None
        None when nothing is near.
    """
    by_fold = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=alike)
    return by_fold[found[0]] if found else None


def quoted(text: object) -> str:
    """Show a cell as the person wrote it, in quotes, cut to a readable length, control characters made visible."""
    shown = str(text)
    shown = shown if len(shown) <= _SHOWN else shown[:_SHOWN] + "…"
    shown = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in shown)
    return f'"{shown}"' if shown else "an empty cell"
