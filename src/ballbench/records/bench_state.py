"""What the bench knows at one moment: every place to read, every reading kept, what is still asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ballbench.records.ball_test import Ball, BallTest, ReferencePiece, Sitting

__all__ = ["BenchState", "CheckResult", "KeptReading", "OpenQuestion", "Place", "Standing"]

Standing = Literal["kept", "taken back", "excluded", "corrected"]


@dataclass(frozen=True, slots=True)
class Place:
    """One reading to take: a ball, or a reference piece, at one axis, for one repeat.

    Parameters
    ----------
    id : int
        In the notebook.
    ball, reference : int or None
        Whose; one of the two is set.
    quantity, axis : str
        What is read, and where on the ball.
    repeat : int
        Which repeat as planned, from 1.
    order : int
        Its position in the shuffled order.
    sheet_order : int
        Its position on a paper sheet: the shuffled order; ball by ball in a quick check.
    put_off : int
        How often it was left for later.
    filled : bool
        True: it holds a reading that stands.
    spoiled : int
        Attempts that gave no reading.
    why : str
        Why it was asked for again; empty for a place of the plan.
    person : str
        Who is to read it, in a repeat study; empty: anybody.
    """

    id: int
    ball: int | None
    reference: int | None
    quantity: str
    axis: str
    repeat: int
    order: int
    sheet_order: int
    put_off: int = 0
    filled: bool = False
    spoiled: int = 0
    why: str = ""
    person: str = ""


@dataclass(frozen=True, slots=True)
class KeptReading:
    """A reading in the notebook. It never changes; what was said about it later stands beside it.

    Parameters
    ----------
    id, place : int
        In the notebook.
    ball, reference : int or None
        Whose.
    quantity, axis : str
        As in its place.
    repeat : int
        Which reading of this ball and axis it is, from 1, taken-back ones counted.
    text : str
        The number as it was written, with a decimal point, without unit; ``yes`` or ``no``.
    value : float or None
        In the quantity's base unit; None for a yes/no result.
    answer : bool or None
        Of a yes/no result.
    unit : str
        Unit as written, or the base unit.
    sitting : int
        In which.
    by, at : str
        Who, and when it was typed (ISO 8601 with zone).
    standing : {"kept", "taken back", "excluded", "corrected"}
        The last thing said about it.
    corrected : float or None
        The value that holds, where a number was corrected.
    corrected_text, corrected_unit : str
        The same as it was written, or ``yes`` or ``no``; empty where nothing was corrected.
    reason : str
        Of that; empty while it is kept without a question.
    confirmed : bool
        True: it was asked about, and kept as read.
    touched : bool
        True: a failed instrument check throws doubt on it, and nothing was said of it since.
    instrument, note : str
        With what it was taken, and what was noted beside it; may be empty.
    """

    id: int
    place: int
    ball: int | None
    reference: int | None
    quantity: str
    axis: str
    repeat: int
    text: str
    value: float | None
    answer: bool | None
    unit: str
    sitting: int
    by: str
    at: str
    standing: Standing = "kept"
    corrected: float | None = None
    corrected_text: str = ""
    corrected_unit: str = ""
    reason: str = ""
    confirmed: bool = False
    touched: bool = False
    instrument: str = ""
    note: str = ""

    @property
    def stands(self) -> bool:
        """Whether it counts: it was neither taken back nor excluded."""
        return self.standing in {"kept", "corrected"}

    @property
    def holds(self) -> float | None:
        """The number that holds, base unit: the corrected one where there is one; None for a yes/no result."""
        return self.value if self.corrected is None else self.corrected


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """An entry that was asked about and neither confirmed nor replaced: it is no reading yet.

    Parameters
    ----------
    key : str
        Of the entry.
    place : int
        Which reading it was meant for.
    text, unit, why : str
        What was typed, in which unit, and what is asked.
    by, at : str
        Who and when.
    """

    key: str
    place: int
    text: str
    unit: str
    why: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class CheckResult:
    """A reading of a reference piece held against what the piece is known to be.

    Parameters
    ----------
    id, reading : int
        In the notebook.
    reference, instrument : str
        Names.
    value, known, allowed : float
        As read, what the piece is, and how far the two may be apart; base unit.
    unit : str
        Of the three.
    passed : bool
        Whether they are no further apart.
    touched : int
        Readings that a failed check throws doubt on.
    at : str
        When.
    """

    id: int
    reading: int
    reference: str
    instrument: str
    value: float
    known: float
    allowed: float
    unit: str
    passed: bool
    touched: int
    at: str


@dataclass(frozen=True, slots=True)
class BenchState:
    """Everything that the measuring page needs to go on, after a crash too.

    Parameters
    ----------
    test : BallTest
        As set up; makes are hidden in `balls` while a blind test is under way.
    sitting : Sitting or None
        The one that goes on; None: none was begun, or the last was ended.
    revision : int
        Number of the last thing that happened in this test.
    balls, references, places, readings, questions, checks : tuple
        Balls by number, places in their order, readings and checks in the order in which they came.
    reasons : tuple of str
        Reasons for a spoiled attempt to choose from.
    notebook : str
        Random name of the notebook: what waits in a browser belongs to this one and to no other.
    """

    test: BallTest
    sitting: Sitting | None
    revision: int
    balls: tuple[Ball, ...]
    references: tuple[ReferencePiece, ...]
    places: tuple[Place, ...]
    readings: tuple[KeptReading, ...]
    questions: tuple[OpenQuestion, ...]
    checks: tuple[CheckResult, ...]
    reasons: tuple[str, ...]
    notebook: str = ""
