"""What comes of a recording: the command's document and pages, a picture to mend, and values that can be kept."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["RECORDED", "RecordedResult", "RecordedValue", "StatedField"]

RECORDED = ("rebound", "bounce_restitution", "outline_form")
"""Quantities that a recording gives."""


@dataclass(frozen=True, slots=True)
class StatedField:
    """Something that is stated beside a recording.

    Parameters
    ----------
    name : str
        Of the command's option, such as ``"drop_height"``.
    words, hint : str
        What the field is called, and what may be typed.
    value : str
        What stands in it at first.
    choices : tuple of (str, str)
        What may be chosen, by what is sent for it; empty: it is typed.
    detail : bool
        Few people need it: it is folded away.
    """

    name: str
    words: str
    hint: str
    value: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    detail: bool = False


@dataclass(frozen=True, slots=True)
class RecordedValue:
    """A value that a recording gives, to be kept as a reading.

    Parameters
    ----------
    name : str
        Such as ``"drop 1, rebound"``, the same as long as the picks are.
    quantity, unit : str
        Canonical name and base unit.
    value, u : float
        With its standard uncertainty, in `unit`.
    words, said : str
        What it is, and the value with its interval, for a person.
    """

    name: str
    quantity: str
    unit: str
    value: float
    u: float
    words: str
    said: str


@dataclass(frozen=True, slots=True)
class RecordedResult:
    """What one recording tells. Filled by ``workflows/recorded/reading.py``.

    Parameters
    ----------
    document : str
        JSON, the same as the command writes for such a file.
    shown : str
        HTML of the same; every word of a person in it is escaped.
    view : str
        JSON of the picture on which picks are mended, or the outline is shown.
    values : tuple of RecordedValue
        Values that can be kept.
    picks : tuple of tuple of float
        From what the values came: of a sound the moments of the impacts of each drop, s; of a film what a person
        marked; empty where there is none.
    refused : str
        Why nothing is told, and what to do; empty where something is.
    mended : bool
        A person put the picks there.
    """

    document: str
    shown: str
    view: str
    values: tuple[RecordedValue, ...] = ()
    picks: tuple[tuple[float, ...], ...] = ()
    refused: str = ""
    mended: bool = False
