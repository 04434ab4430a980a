"""What a requirement says of one ball by itself."""

from __future__ import annotations

from dataclasses import replace

from ballbench.errors import BadRequest, Fault
from ballbench.specs import Clause, Requirement

__all__ = ["for_ball_alone", "single_ball_clauses"]


def single_ball_clauses(requirement: Requirement) -> tuple[Clause, ...]:
    """Give the clauses that hold for every ball by itself and are read as numbers."""
    return tuple(
        clause
        for clause in requirement.clauses
        if clause.count is None and clause.decides and clause.readings[0].sample == "each"
    )


def for_ball_alone(requirement: Requirement, quantity: str) -> Requirement:
    """Leave the clauses on single balls of one quantity; a ball in dispute is none of those that may be outside.

    Raises
    ------
    BadRequest
        There is no such clause.
    """
    own = [clause for clause in single_ball_clauses(requirement) if clause.quantity == quantity]
    if not own:
        known = ", ".join(dict.fromkeys(clause.quantity for clause in single_ball_clauses(requirement))) or "none"
        raise BadRequest(Fault("quantity", quantity, known, "choose one of them"))
    lenient = [
        f"clause {clause.id} lets {clause.readings[0].allowed_outside} of a sample be outside; "
        "this ball alone is held against its limits"
        for clause in own
        if clause.readings[0].allowed_outside
    ]
    strict = tuple(
        replace(clause, readings=tuple(replace(one, allowed_outside=0) for one in clause.readings)) for clause in own
    )
    return replace(requirement, clauses=strict, notes=(*requirement.notes, *lenient), sample_size=None)
