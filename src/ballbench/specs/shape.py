"""The shape of a requirement file: which keys it may hold and of what type; meaning is given in `assembling`.

Every shape is strict (no number for a text, no text for a number) and forbids keys that it does not know.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from ballbench.specs.model import BallReduction, SampleReduction, Seen

__all__ = [
    "ClauseShape",
    "ClauseSourceShape",
    "CountShape",
    "QuantityShape",
    "RequirementShape",
    "SourceShape",
    "VariantShape",
]

Slug = Annotated[str, StringConstraints(pattern=r"\A[a-z0-9]+(?:-[a-z0-9]+)*\z", max_length=80)]
Name = Annotated[str, StringConstraints(pattern=r"\A[a-z][a-z0-9_]*\z", max_length=60)]
Words = Annotated[str, StringConstraints(min_length=1)]
Natural = Annotated[int, Field(ge=0, le=1_000_000)]
Positive = Annotated[int, Field(ge=1, le=1_000_000)]
Answer = Annotated[str, StringConstraints(pattern=r"\A(?:yes|no|passed|failed)\z")]


class _Shape(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class SourceShape(_Shape):
    """``source`` of the requirement."""

    seen: Seen
    document: str = ""
    clause: str = ""
    note: str = ""


class ClauseSourceShape(_Shape):
    """``source`` of a clause: document and grade are the requirement's unless given; place and note are its own."""

    seen: Seen | None = None
    document: str | None = None
    clause: str = ""
    note: str = ""


class CountShape(_Shape):
    """``count``: a rule on yes/no results."""

    answer: Answer
    at_least: Natural | None = None
    at_most: Natural | None = None
    out_of: Positive | None = None


class VariantShape(_Shape):
    """``[[clause.variant]]``: None means as in the clause; an empty limit text removes the limit."""

    text: Words | None = None
    ball: BallReduction | None = None
    sample: SampleReduction | None = None
    lower: str | None = None
    upper: str | None = None
    strict: bool | None = None
    allowed_outside: Natural | None = None


class ClauseShape(_Shape):
    """``[[clause]]``."""

    id: Slug
    text: Words
    quantity: Name
    ball: BallReduction | None = None
    sample: SampleReduction | None = None
    lower: str | None = None
    upper: str | None = None
    nominal: str | None = None
    strict: bool | None = None
    allowed_outside: Natural | None = None
    count: CountShape | None = None
    conditions: dict[str, str] = {}
    source: ClauseSourceShape | None = None
    variant: list[VariantShape] = []


class QuantityShape(_Shape):
    """``[quantity.NAME]``: a further quantity."""

    unit: str


class RequirementShape(_Shape):
    """The whole file."""

    id: Slug
    sport: Words
    title: Words
    edition: Words
    source: SourceShape
    clause: Annotated[list[ClauseShape], Field(min_length=1)]
    sample_size: Positive | None = None
    axes: Positive | None = None
    notes: list[Words] = []
    cautions: list[Words] = []
    quantity: dict[Name, QuantityShape] = {}
