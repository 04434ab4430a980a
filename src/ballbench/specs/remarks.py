"""What the lint says, and how it words amounts."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.quantities.units import factor
from ballbench.specs.model import Clause, Limit

__all__ = ["Remark", "amount", "in_unit", "which"]


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing about a requirement that its author should look at.

    Parameters
    ----------
    clause : str
        Id of the clause; empty for the whole requirement.
    what : str
        What was noticed, a sentence without full stop.
    todo : str
        What to do about it, an imperative.
    """

    clause: str
    what: str
    todo: str


def which(number: int) -> str:
    """Name a reading of a clause: nothing for the clause itself, else the variant's number."""
    return f"variant {number}: " if number else ""


def amount(limit: Limit) -> str:
    """Write a limit as its source does."""
    return limit.text if limit.unit == "1" else f"{limit.text} {limit.unit}"


def in_unit(value: float, clause: Clause) -> str:
    """Write a value of computation in the clause's unit, to four figures."""
    shown = f"{value / factor(clause.unit, clause.base_unit):.4g}"
    return shown if clause.unit == "1" else f"{shown} {clause.unit}"
