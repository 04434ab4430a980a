"""What is asked of a recording at the page, and how a value is answered that can be kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.recorded import RecordedValue
from ballbench.quantities.rounding import decimals_for

__all__ = ["Interval", "Method", "RecordedAsk", "stated_value"]

Method = Literal["listen", "trace", "watch"]


@dataclass(frozen=True, slots=True)
class RecordedAsk:
    """What is asked of a recording.

    Parameters
    ----------
    method : str
        The command that reads it.
    stated : tuple of (str, str)
        By the name of the field; empty texts are not said.
    picks : tuple of tuple of float or None
        What a person put right; None: what the program finds. Of a sound the moments of its impacts, s, drop by drop;
        of a film one tuple a picture, as `marks.py` has them.
    spec : str
        An id of the catalogue; empty: none.
    whose : tuple of (str, str)
        Product and ball; empty: as the file's name says.
    """

    method: Method
    stated: tuple[tuple[str, str], ...] = ()
    picks: tuple[tuple[float, ...], ...] | None = None
    spec: str = ""
    whose: tuple[tuple[str, str], ...] = ()


class Interval(Protocol):
    """A value with its standard uncertainty and its 95 % interval."""

    @property
    def value(self) -> float:
        """The value."""

    @property
    def u(self) -> float:
        """Its standard uncertainty."""

    @property
    def low(self) -> float:
        """Lower end."""

    @property
    def high(self) -> float:
        """Upper end."""


def stated_value(name: str, quantity: str, unit: str, one: Interval, words: str) -> RecordedValue:
    """Give a value that can be kept, with its interval in words."""
    decimals = decimals_for(one.low, one.high)
    value, low, high = (number(part, decimals) for part in (one.value, one.low, one.high))
    said = f"{with_unit(value, unit)} (95 %: {low} to {with_unit(high, unit)})"
    return RecordedValue(name, quantity, unit, one.value, one.u, words, said)
