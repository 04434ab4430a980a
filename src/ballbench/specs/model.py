"""What a published requirement is: clauses, each two reductions and limits, with the source of every number.

A clause reads ``sample_reduction(ball_reduction(readings of one ball))`` held against a lower and an upper limit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

__all__ = [
    "BallReduction",
    "Clause",
    "CountRule",
    "Limit",
    "Reading",
    "Requirement",
    "SampleReduction",
    "Seen",
    "Source",
]

BallReduction = Literal["mean", "midrange", "median", "max", "min", "range"]
SampleReduction = Literal["each", "mean", "sd", "max", "min", "range"]
Seen = Literal["official", "quoted", "paraphrased", "memory", "practice", "own"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number stands and how it was seen.

    Parameters
    ----------
    document, clause : str
        The document and the place in it; empty when there is none.
    seen : Seen
        ``official``: read on a page of the governing body; ``quoted``: its text quoted elsewhere; ``paraphrased``: a
        secondary page; ``memory``: recalled only, gives no decision unless accepted; ``practice``: common practice,
        no source; ``own``: the user's own requirement.
    note : str
        What a reader must know about it, such as an edition that differs.
    """

    document: str
    clause: str
    seen: Seen
    note: str = ""

    @property
    def place(self) -> str:
        """Document and clause, ``"Laws of the game, 2.1"``; empty where there is neither."""
        return ", ".join(part for part in (self.document, self.clause) if part)


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: the decimal text and unit of its source, and the value in the unit of computation.

    Parameters
    ----------
    text : str
        The number as written, ``"40.60"``.
    unit : str
        The unit as written, ``"mm"``.
    value : float
        The value in the clause's unit of computation (`Clause.base_unit`).
    """

    text: str
    unit: str
    value: float


@dataclass(frozen=True, slots=True)
class CountRule:
    """A rule on yes/no results.

    Parameters
    ----------
    answer : bool
        The answer that is counted: True for yes or passed.
    at_least, at_most : int or None
        Limits of the count, inclusive.
    out_of : int or None
        How many trials a ball the rule itself prescribes; None: one answer a ball, and every ball must give `answer`.
    """

    answer: bool
    at_least: int | None = None
    at_most: int | None = None
    out_of: int | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One way of reading a clause: the clause itself or a variant of an ambiguous text.

    Parameters
    ----------
    text : str
        The words that this reading gives to the clause.
    ball : BallReduction
        What becomes of one ball's readings.
    sample : SampleReduction
        What becomes of the balls; ``each``: every ball by itself.
    lower, upper : Limit or None
        The limits; both None means a nominal value without tolerance, which gives no decision.
    strict : bool
        True: the limit itself is outside.
    allowed_outside : int
        For ``each``: so many balls of the sample may be outside.
    """

    text: str
    ball: BallReduction
    sample: SampleReduction
    lower: Limit | None
    upper: Limit | None
    strict: bool = False
    allowed_outside: int = 0

    def gap(self, value: float) -> float:
        """Give how far inside the nearest limit a value lies, in the unit of computation; below 0: beyond it."""
        gaps = [] if self.lower is None else [value - self.lower.value]
        return min([*gaps, *([] if self.upper is None else [self.upper.value - value])])


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause of a requirement.

    Parameters
    ----------
    id : str
        Unique in the requirement.
    quantity : str
        What is measured.
    unit : str
        The unit in which its values are shown: that of its limits as written.
    base_unit : str
        The unit in which readings of this quantity are computed (`ballbench.quantities.kinds`, or `unit`).
    readings : tuple of Reading
        The clause as it stands first, then its variants; never empty.
    count : CountRule or None
        Set for yes/no results, where limits of the readings are None.
    nominal : Limit or None
        A value that the text names without a tolerance.
    conditions : mapping of str to str
        What must hold for the clause to be judged, such as ``{"drop_height": "305 mm"}``.
    source : Source
        The clause's own source, or the requirement's.
    """

    id: str
    quantity: str
    unit: str
    base_unit: str
    readings: tuple[Reading, ...]
    source: Source
    count: CountRule | None = None
    nominal: Limit | None = None
    conditions: Mapping[str, str] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The clause as it stands first."""
        return self.readings[0].text

    @property
    def decides(self) -> bool:
        """Whether the clause has a limit at all."""
        return self.count is not None or any(r.lower or r.upper for r in self.readings)


@dataclass(frozen=True, slots=True)
class Requirement:
    """A published requirement, or a user's own.

    Parameters
    ----------
    id, sport, title, edition : str
        Its names.
    source : Source
        Where it stands.
    clauses : tuple of Clause
        Never empty.
    digest : str
        SHA-256 of the file's bytes, as ``"sha256:..."``: findings name it, so that a change shows.
    sample_size : int or None
        How many balls the requirement itself asks for.
    axes : int or None
        How many diameters a ball the rule itself reads.
    notes : tuple of str
        What a reader must know: ambiguities, older editions, what was not included.
    cautions : tuple of str
        What to beware of with these balls, such as flammability; printed with every result.
    """

    id: str
    sport: str
    title: str
    edition: str
    source: Source
    clauses: tuple[Clause, ...]
    digest: str
    sample_size: int | None = None
    axes: int | None = None
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
