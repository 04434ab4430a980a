"""What a look at single sections of a ball can say to a clause on form: frozen, and in a sentence.

A vee reads sections and a photograph shows an outline. Either may show that a ball is beyond a limit, neither that it
is within: other sections may hold more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ballbench.quantities.printed import plural
from ballbench.specs import Clause, Limit

__all__ = ["FormClause", "form_clause_sentence", "form_clauses"]


@dataclass(frozen=True, slots=True)
class FormClause:
    """What is said to a clause on form.

    Parameters
    ----------
    product, clause, text : str
        Whose, and which.
    limit : Limit
        The largest form allowed.
    seen : str
        How the limit was seen.
    outcome : str
        ``told`` or ``cannot be told``; there is no other.
    beyond : tuple of str
        Balls that are beyond the limit, noise and lobes that are not known reckoned in.
    within : int
        Balls of which all that was read lies within.
    balls : int
        Balls read.
    reasons : tuple of str
        Why it cannot be told; empty where it is.
    """

    product: str
    clause: str
    text: str
    limit: Limit
    seen: str
    outcome: Literal["told", "cannot be told"]
    beyond: tuple[str, ...]
    within: int
    balls: int
    reasons: tuple[str, ...]


def form_clauses(clauses: Sequence[Clause]) -> tuple[Clause, ...]:
    """Give the clauses on the form of an outline; one without an upper limit cannot be about how round a ball is."""
    return tuple(one for one in clauses if one.quantity == "outline_form" and one.readings[0].upper is not None)


def form_clause_sentence(clause: FormClause, read: str, *, beyond: str = "", within: str = "") -> str:
    """Say what can be told of a clause: beyond, within as far as it was read, or why not.

    Parameters
    ----------
    clause : FormClause
        As found.
    read : str
        What was read, ``"sections that were read"``.
    beyond, within : str
        What stands behind balls that are beyond the limit, and behind those within, such as on what condition.
    """
    head = f"{clause.product}, at most {clause.limit.text} {clause.limit.unit}"
    if clause.outcome == "cannot be told":
        return f"{head}: cannot be told: {'; '.join(clause.reasons)}."
    if clause.beyond:
        balls = "ball {} is" if len(clause.beyond) == 1 else "balls {} are"
        return f"{head}: told: {balls.format(', '.join(clause.beyond))} beyond it{beyond}."
    return (
        f"{head}: told for the {read}: {plural(clause.balls, 'ball')} within it{within}. Other sections may hold more, "
        "so this is no pass."
    )
