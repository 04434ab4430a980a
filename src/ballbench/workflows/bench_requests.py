"""What a person sends from the bench. Every request has its own key: sent again, it changes nothing."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["BeginSitting", "EndSitting", "Entry", "Finish", "Mark", "PutOff", "ReadAgain", "Sent", "Spoil", "TakeBack"]


@dataclass(frozen=True, slots=True)
class Sent:
    """Key of the act, the sender, the person, and the sender's time (ISO 8601 with zone; empty: now)."""

    key: str
    client: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class Entry(Sent):
    """What was typed for a place, as it was typed; `confirms` is the key of the entry that was asked about."""

    place: int
    text: str
    confirms: str = ""


@dataclass(frozen=True, slots=True)
class TakeBack(Sent):
    """Take a reading back: it stays in the notebook, and no longer counts."""

    reading: int
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Spoil(Sent):
    """An attempt gave no reading."""

    place: int
    reason: str


@dataclass(frozen=True, slots=True)
class PutOff(Sent):
    """Leave a place for later."""

    place: int


@dataclass(frozen=True, slots=True)
class ReadAgain(Sent):
    """Ask for one more reading of a ball at an axis."""

    ball: int
    quantity: str
    axis: str
    reason: str


@dataclass(frozen=True, slots=True)
class Mark(Sent):
    """Something else that happened; without a ball: to all balls, or to the bench."""

    kind: str
    value: float | None = None
    ball: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class BeginSitting(Sent):
    """Begin a sitting at the bench, or of typing from paper; temperatures in degC."""

    kind: str = "bench"
    label: str = ""
    air_c: float | None = None
    ball_c: float | None = None


@dataclass(frozen=True, slots=True)
class EndSitting(Sent):
    """End the sitting that goes on."""


@dataclass(frozen=True, slots=True)
class Finish(Sent):
    """Finish a test, or take it up again."""

    again: bool = False
