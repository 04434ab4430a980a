"""Readings beside the last thing that was said of each."""

from __future__ import annotations

from functools import cache

from sqlalchemy import ColumnElement, Join, func, select

from ballbench.store.tables import amendment, check_touch, instrument_check, reading, submission

__all__ = ["LATER", "STRUCK", "in_doubt", "readings_as_amended"]

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


def in_doubt() -> ColumnElement[bool]:
    """Say that a failed instrument check touches a reading, and that nothing was said of the reading since."""
    check, came, said = reading.alias("check_reading"), submission.alias("came"), submission.alias("said_in")
    answered = select(said.c.id).where(said.c.key == LATER.c.key).correlate(LATER).scalar_subquery()
    return (
        select(check_touch.c.check_id)
        .join(instrument_check, instrument_check.c.id == check_touch.c.check_id)
        .join(check, check.c.id == instrument_check.c.reading_id)
        .join(came, came.c.key == check.c.key)
        .where(check_touch.c.reading_id == reading.c.id, came.c.id > func.coalesce(answered, 0))
        .correlate(reading, LATER)
        .exists()
    )
