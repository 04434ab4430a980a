"""What recordings tell as the text of a readings file, the same columns for sound, film and photograph."""

from __future__ import annotations

from collections.abc import Iterable

from ballbench.records.tables_out import csv_text

__all__ = ["Row", "Turns", "readings_text"]

Row = tuple[str, ...]
_COLUMNS = ("product", "ball", "quantity", "value", "unit", "repeat", "instrument", "note")
_INVENTED = "Invented data, for demonstration"


class Turns:
    """Counts what is read of each ball, so that every attempt has a repeat of its own."""

    def __init__(self) -> None:
        self._counts: dict[tuple[str, str], int] = {}

    def next(self, product: str, ball: str) -> int:
        """Give the repeat of the next attempt at a ball, from 1."""
        self._counts[product, ball] = self._counts.get((product, ball), 0) + 1
        return self._counts[product, ball]


def readings_text(rows: Iterable[Row], *, invented: bool) -> str:
    """Write rows as CSV, below a header; invented data say so in the first line."""
    return csv_text(_COLUMNS, list(rows), _INVENTED if invented else "")
