"""The values across a picture, and the numbers printed along them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Tick", "ValueAxis"]


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on the axis with its printed number."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class ValueAxis:
    """The values across the picture.

    Parameters
    ----------
    name, unit : str
        What runs along it.
    low, high : float
        What the picture spans, in `unit`; low < high.
    ticks : tuple of Tick
        Empty where limits take their place.
    """

    name: str
    unit: str
    low: float
    high: float
    ticks: tuple[Tick, ...] = ()
