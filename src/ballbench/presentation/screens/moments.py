"""Dates and times as people write them: the clock of the bench where they were written down, never another's."""

from __future__ import annotations

from datetime import datetime

__all__ = ["day_words", "moment_words"]

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def day_words(moment: str) -> str:
    """Print the day of an ISO 8601 moment, ``"20 November 2026"``.

    Parameters
    ----------
    moment : str
        With or without time and zone.

    Returns
    -------
    str
        The text as it is, where it is no moment: what a person wrote is shown, not lost.
    """
    try:
        day = datetime.fromisoformat(moment)
    except ValueError:
        return moment
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def moment_words(moment: str) -> str:
    """Print an ISO 8601 moment to the minute, ``"20 November 2026, 19:42"``, by the clock that it was written with."""
    try:
        time = datetime.fromisoformat(moment)
    except ValueError:
        return moment
    return f"{day_words(moment)}, {time:%H:%M}"
