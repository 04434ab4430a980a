"""Readings of a file while they are still text: long and wide form, and the sheets of a workbook, meet here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

__all__ = ["DRAFT_TEXTS", "SHEET", "SOURCE", "Draft", "combined", "place"]

DRAFT_TEXTS = (
    "product", "box", "ball", "quantity", "axis", "repeat", "value", "unit", "instrument", "operator", "sitting",
    "time", "note",
)  # fmt: skip
"""Text columns of a draft; beside them stand ``line``, `SHEET` and `SOURCE`."""

SHEET = "sheet"
"""Column of a draft: which of `Draft.wheres` the row stands in."""

SOURCE = "source"
"""Column of a draft: which of `Draft.sources` its value stands in."""


@dataclass(frozen=True, slots=True)
class Draft:
    """Readings as text.

    Parameters
    ----------
    rows : polars.DataFrame
        `DRAFT_TEXTS` without null, ``line`` (int64), ``sheet`` and ``source`` (uint32).
    wheres : tuple of str
        Name of each table, for messages.
    sources : tuple of str
        Names of the columns that values stand in: ``"value"``, or a wide table's own.
    notes : tuple of str
        How the tables were read.
    """

    rows: pl.DataFrame
    wheres: tuple[str, ...]
    sources: tuple[str, ...]
    notes: tuple[str, ...] = ()


def combined(drafts: Sequence[Draft]) -> Draft:
    """Put the drafts of several sheets one behind the other.

    Parameters
    ----------
    drafts : sequence of Draft
        Never empty.

    Returns
    -------
    Draft
        With sheets and sources numbered through.
    """
    if len(drafts) == 1:
        return drafts[0]
    rows: list[pl.DataFrame] = []
    wheres: list[str] = []
    sources: list[str] = []
    notes: list[str] = []
    for draft in drafts:
        shifted = draft.rows.with_columns(
            (pl.col(SHEET) + len(wheres)).cast(pl.UInt32), (pl.col(SOURCE) + len(sources)).cast(pl.UInt32)
        )
        rows.append(shifted)
        wheres += draft.wheres
        sources += draft.sources
        notes += draft.notes
    return Draft(pl.concat(rows), tuple(wheres), tuple(sources), tuple(notes))


def place(draft: Draft, sheet: int, line: int, column: str = "") -> str:
    """Say where a cell stands: ``"box.csv, line 7, column value"``."""
    where = f"{draft.wheres[sheet]}, line {line}"
    return f"{where}, column {column}" if column else where
