"""What an act at the bench carries: its key, the browser tab, the person and the time; and how bodies are checked."""

from __future__ import annotations

from typing import Annotated, Any
from uuid import UUID

from fastapi import Path, Query
from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from ballbench.web.sender_clock import taken_at

__all__ = [
    "LARGEST_ID",
    "LONGEST_REQUIREMENT",
    "Act",
    "Body",
    "Line",
    "Moment",
    "Name",
    "Number",
    "QuickId",
    "TestId",
    "Word",
    "Written",
]

LARGEST_ID = 2**31 - 1
"""Numbers of rows are 32-bit in every database."""
LONGEST_REQUIREMENT = 200_000
"""Characters of a requirement file, some twenty times those of the catalogue (own choice)."""

TestId = Annotated[int, Path(alias="t", ge=1, le=LARGEST_ID, description="Number of the test.")]
QuickId = Annotated[int, Path(alias="id", ge=1, le=LARGEST_ID, description="Number of the quick check.")]
Number = Annotated[int, Field(strict=True, ge=1, le=LARGEST_ID)]
Name = Annotated[str, StringConstraints(max_length=120)]
"""Of a person, a device; the workflow says what is wrong with an empty one, together with everything else."""
Written = Annotated[str, StringConstraints(max_length=200)]
"""What was typed for a reading."""


def _as_text(value: object) -> object:
    if not isinstance(value, str):
        raise ValueError("a time as text, such as 2026-11-25T10:00:00+01:00")  # noqa: TRY004 - pydantic reads this one
    return value


def _printable(text: str) -> str:
    if not text.isprintable():
        raise ValueError("printable characters on one line")
    return text


Line = Annotated[str, StringConstraints(max_length=500), AfterValidator(_printable)]
"""Text in a form; what comes as JSON is looked through before."""
Word = Annotated[str, Query(max_length=200), AfterValidator(_printable)]
"""Text in an address: a database refuses what no keyboard types."""

Moment = Annotated[AwareDatetime, BeforeValidator(_as_text)]
"""ISO 8601 with a zone."""


class Body(BaseModel):
    """A body in JSON: nothing beside its fields, no number that is none, no endless text."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, str_max_length=500)


class Act(Body):
    """An act that changes the notebook.

    Parameters
    ----------
    key : UUID
        New for each act, the same whenever it is sent again.
    client : UUID
        Of the browser tab.
    by : str
        The person.
    at : datetime
        The client's time, with its zone; what the client says of its clock is reckoned in by `stamp`.
    """

    key: UUID
    client: UUID
    by: Name
    at: Moment

    def stamp(self) -> tuple[str, str, str, str]:
        """Give key, client, person and time as the workflows take them, in their order; the time by our own clock."""
        return str(self.key), str(self.client), self.by, taken_at(self.at).isoformat()

    def more(self) -> dict[str, Any]:
        """Give what the act holds beside them."""
        return {name: getattr(self, name) for name in type(self).model_fields if name not in Act.model_fields}
