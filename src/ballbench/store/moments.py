"""Moments as the notebook keeps them: text, ISO 8601, of whatever zone the sender had."""

from __future__ import annotations

from datetime import datetime

__all__ = ["NEVER", "read_moment", "seconds_of"]

NEVER = float("-inf")
"""Where a time cannot be read: before everything."""


def read_moment(text: str) -> datetime | None:
    """Read a time; None where a file that was taken in wrote it otherwise, or without a zone."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


def seconds_of(text: str) -> float:
    """Give a time in seconds since 1970 in UTC, so that those of different zones can be put in order; else `NEVER`."""
    moment = read_moment(text)
    return NEVER if moment is None else moment.timestamp()
