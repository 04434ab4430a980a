"""Readings beside the last thing that was said of each."""

from __future__ import annotations

from functools import cache

from sqlalchemy import ColumnElement, Join, ScalarSelect, func, or_, select

from ballbench.store.tables import amendment, instrument_check, reading, submission

__all__ = ["LATER", "STRUCK", "in_doubt", "readings_as_amended", "stands"]

LATER = amendment.alias("later")
"""The amendment that holds, beside its reading; null where nothing was said."""

STRUCK = ("take back", "exclude")
"""Actions after which a reading no longer counts."""


@cache
def readings_as_amended() -> Join:
    """Join each reading to the last of its amendments. Put together once, as below: every entry needs it."""
    said = amendment.alias("said")
    last = select(func.max(said.c.id)).where(said.c.reading_id == reading.c.id).correlate(reading).scalar_subquery()
    return reading.outerjoin(LATER, LATER.c.id == last)


@cache
def in_doubt() -> ColumnElement[bool]:
    """Say that a failed instrument check throws doubt on a reading, and that nothing was said of the reading since.

    A failed check throws doubt on all that the instrument read from its last check that passed to its next one; a
    check whose own reading was taken back or excluded is none.
    """
    check, checked = instrument_check.alias("check"), reading.alias("checked")
    unsaid = LATER.c.id.is_(None) | (LATER.c.key == reading.c.key)
    # Within its own transaction an act is not written yet, and is the newest of all.
    said, came = (func.coalesce(_came(key), _NEWEST) for key in (LATER.c.key, checked.c.key))
    failed = (
        select(check.c.id)
        .join(checked, checked.c.id == check.c.reading_id)
        .where(
            check.c.test_id == reading.c.test_id,
            check.c.instrument_id == reading.c.instrument_id,
            ~check.c.passed,
            stands(check.c.reading_id),
            check.c.reading_id > func.coalesce(_passed(later=False), 0),
            check.c.reading_id < func.coalesce(_passed(later=True), _NEWEST),
            or_(unsaid, said < came),
        )
    )
    return failed.correlate(reading, LATER).exists() & reading.c.ball_id.is_not(None)


_NEWEST = 2**31 - 1


def _came(key: ColumnElement[str]) -> ScalarSelect[int]:
    """Give the number of an act by its key."""
    act = submission.alias()
    return select(act.c.id).where(act.c.key == key).scalar_subquery()


def _passed(*, later: bool) -> ScalarSelect[int]:
    """Give the reading of the check that a reading's instrument passed last before it, or first after it."""
    check = instrument_check.alias("passed")
    side = check.c.reading_id > reading.c.id if later else check.c.reading_id < reading.c.id
    own = (check.c.test_id == reading.c.test_id, check.c.instrument_id == reading.c.instrument_id, check.c.passed)
    nearest = (func.min if later else func.max)(check.c.reading_id)
    return select(nearest).where(*own, side, stands(check.c.reading_id)).correlate(reading).scalar_subquery()


def stands(reading_id: ColumnElement[int]) -> ColumnElement[bool]:
    """Say that the last that was said of a reading, by its number, does not strike it."""
    said, newer = amendment.alias(), amendment.alias()
    last = select(func.max(newer.c.id)).where(newer.c.reading_id == said.c.reading_id).correlate(said)
    struck = select(said.c.id).where(
        said.c.reading_id == reading_id, said.c.action.in_(STRUCK), said.c.id == last.scalar_subquery()
    )
    return ~struck.correlate_except(said).exists()
