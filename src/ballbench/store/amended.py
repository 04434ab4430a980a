"""Readings beside the last thing that was said of each."""

from __future__ import annotations

from functools import cache

from sqlalchemy import Join, func, select

from ballbench.store.tables import amendment, reading

__all__ = ["LATER", "STRUCK", "readings_as_amended"]

LATER = amendment.alias("later")
"""The amendment that holds, beside its reading; null where nothing was said."""

STRUCK = ("take back", "exclude")
"""Actions after which a reading no longer counts."""


@cache
def readings_as_amended() -> Join:
    """Join each reading to the last of its amendments; put together once, for every entry needs it."""
    said = amendment.alias("said")
    last = select(func.max(said.c.id)).where(said.c.reading_id == reading.c.id).correlate(reading).scalar_subquery()
    return reading.outerjoin(LATER, LATER.c.id == last)
