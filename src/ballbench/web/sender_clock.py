"""The sender's clock: a phone that is an hour off says so as it sends, and its acts are dated by the server's clock."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime, timedelta

from starlette.datastructures import Headers

from ballbench.errors import BadRequest, Fault
from ballbench.web.problems import Refused

__all__ = ["HEADER", "sender_clock", "taken_at"]

HEADER = "Ballbench-Sender-Time"
"""Header in which a sender states its own clock at the moment of sending, ISO 8601 with a zone."""

AGREES = timedelta(seconds=2)
"""Clocks that are no further apart agree: so long a request may be on its way (own choice)."""

_LONGEST = 64

_behind: ContextVar[timedelta] = ContextVar("behind", default=timedelta())
"""How far the sender of the request that is answered is behind the server; zero where they agree or it said nothing."""


@contextmanager
def sender_clock(headers: Headers) -> Iterator[None]:
    """Hold a sender's clock against the server's for as long as its request is answered.

    Raises
    ------
    Refused
        The header is no time with a zone.
    """
    stated, behind = headers.get(HEADER), timedelta()
    if stated is not None:
        behind = datetime.now(UTC) - _moment(stated)
    token = _behind.set(behind if abs(behind) > AGREES else timedelta())
    try:
        yield
    finally:
        _behind.reset(token)


def _moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text.strip()) if len(text) <= _LONGEST else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        allowed = "a time with its zone, such as 2026-11-25T10:00:00+00:00"
        raise Refused(422, Fault(f"header {HEADER}", ascii(text[:_LONGEST]), allowed, "correct it, or leave it out"))
    return moment


def taken_at(at: datetime) -> datetime:
    """Give the moment of an act by the server's clock, in the sender's own zone.

    Parameters
    ----------
    at : datetime
        The sender's moment, with its zone.

    Returns
    -------
    datetime
        Moved by as much as the sender's clock is off, where that is more than two seconds; never later than now.

    Raises
    ------
    BadRequest
        There is no such moment in the calendar.
    """
    behind, now = _behind.get(), datetime.now(UTC)
    try:
        moved = _whole_ms(at + behind) if behind else at
        return min(moved, _whole_ms(now).astimezone(at.tzinfo))
    except OverflowError as error:
        found = f"{at.isoformat()}, with a clock that is {abs(behind.days)} days off"
        raise BadRequest(Fault("at", found, "a time of this age", "set the clock of this device")) from error


def _whole_ms(moment: datetime) -> datetime:
    return moment.replace(microsecond=moment.microsecond // 1000 * 1000)
