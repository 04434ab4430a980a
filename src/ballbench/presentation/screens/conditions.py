"""What a requirement asks of the bench, to be said when a test is set up or a ball is checked."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ConditionAsked"]


@dataclass(frozen=True, slots=True)
class ConditionAsked:
    """A condition that some clause depends on; not said, such clauses are not tested.

    Parameters
    ----------
    name : str
        As in the requirement, such as ``"drop_height"``; the key that is posted.
    words : str
        In a sentence, such as ``"drop height"``.
    asked : tuple of str
        What the clauses ask for, such as ``("305 mm",)``; offered to choose from, never filled in by itself.
    """

    name: str
    words: str
    asked: tuple[str, ...]
