"""A typed reading in the unit of the instrument's display."""

from __future__ import annotations

from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.entry import Typed, read_entry

__all__ = ["typed_for", "typed_reading"]


Limits = tuple[float | None, float | None]

_ROOM = 10.0
"""Factor by which a reading may be off the limits before a comma in it is doubted (own choice)."""


def typed_reading(
    text: str, quantity: str, unit: str, display: str, limits: Limits, *, yes_no: bool, signed: bool
) -> Typed:
    """Read an entry; a number without a unit is in the unit of the display.

    Parameters
    ----------
    text : str
        As it was typed.
    quantity, unit : str
        What is read, and its base unit.
    limits : tuple of (float or None, float or None)
        What the requirement allows a single ball; it tells a decimal comma from a mark between thousands.
    display : str
        Unit of the instrument's display.

    Raises
    ------
    BadReadings
        It is no reading.
    """
    bare = text.strip()[-1:].isdigit() and display not in {"", "1", unit}
    known = [abs(limit) for limit in limits if limit]
    believable = (min(known) / _ROOM, max(known) * _ROOM) if known and not signed else None
    whole = f"{text.strip()} {display}" if bare else text
    return read_entry(whole, quantity, unit, yes_no=yes_no, signed=signed, believable=believable)


def typed_for(quantity: PlannedQuantity, text: str, display: str) -> Typed:
    """Read an entry for a quantity of a test; see `typed_reading`."""
    return typed_reading(
        text, quantity.name, quantity.unit, display, quantity.limits, yes_no=quantity.yes_no, signed=quantity.signed
    )
