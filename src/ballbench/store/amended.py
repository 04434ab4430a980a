"""Readings beside the last thing that was said of each."""

from __future__ import annotations

from functools import cache

from sqlalchemy import ColumnElement, Join, func, select

from ballbench.store.tables import amendment, reading

__all__ = ["LATER", "STRUCK", "readings_as_amended", "stands"]

LATER = amendment.alias("later")
"""The amendment that holds, beside its reading; null where nothing was said."""

STRUCK = ("take back", "exclude")
"""Actions after which a reading no longer counts."""


@cache
def readings_as_amended() -> Join:
    """Join each reading to the last of its amendments. Put together once: every entry needs it."""
    said = amendment.alias("said")
    last = select(func.max(said.c.id)).where(said.c.reading_id == reading.c.id).correlate(reading).scalar_subquery()
    return reading.outerjoin(LATER, LATER.c.id == last)


def stands(reading_id: ColumnElement[int]) -> ColumnElement[bool]:
    """Say that the last that was said of a reading, by its number, does not strike it."""
    said, newer = amendment.alias(), amendment.alias()
    last = select(func.max(newer.c.id)).where(newer.c.reading_id == said.c.reading_id).correlate(said)
    struck = select(said.c.id).where(
        said.c.reading_id == reading_id, said.c.action.in_(STRUCK), said.c.id == last.scalar_subquery()
    )
    return ~struck.correlate_except(said).exists()
