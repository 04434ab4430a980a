"""Balls that were heard against clauses on rebound or restitution: only where the requirement's conditions held."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.bouncing.balls import BallDraws, mean_u
from ballbench.findings.bouncing.draws import spread_of
from ballbench.findings.bouncing.results import BounceClause, Spread
from ballbench.findings.results import Decision
from ballbench.findings.testable import unmet_condition
from ballbench.quantities.units import factor, parse_quantity
from ballbench.records import Bench
from ballbench.specs import Clause, Reading

__all__ = ["FEWEST_DROPS", "RISK", "bounce_clauses", "clauses_of"]

Array = NDArray[np.float64]

RISK = 0.05
"""Of a false "met", as in `judge` where nothing else is said."""
FEWEST_DROPS = 3
"""Drops of a ball without which nothing is said of a clause (own choice; three is common practice)."""
_TOP, _HEIGHT = "read_at", "drop_height"


def bounce_clauses(clauses: Sequence[Clause]) -> tuple[Clause, ...]:
    """Give the clauses that the sound of a drop may answer."""
    return tuple(
        clause
        for clause in clauses
        if (clause.quantity, clause.base_unit) in {("rebound", "mm"), ("bounce_restitution", "1")}
    )


def clauses_of(
    balls: Sequence[BallDraws],
    clauses: Sequence[Clause],
    bench: Bench,
    facts: Mapping[str, str],
    diameter: float,
    *,
    accept_unverified: bool,
) -> Iterator[BounceClause]:
    """Hold the balls of each product against each clause.

    Parameters
    ----------
    balls : sequence of BallDraws
        What was heard.
    clauses : sequence of Clause
        From `bounce_clauses`.
    bench : Bench
        Conditions that held.
    facts : mapping of str to str
        Conditions that were said with the recordings; they come before the bench's.
    diameter : float
        mm; added where the clause reads the top of the ball.
    accept_unverified : bool
        Limits seen only in memory may decide.

    Yields
    ------
    BounceClause
        Product by product; ``not tested`` with the reason where a condition did not hold or is not known.
    """
    for product in dict.fromkeys(ball.product for ball in balls):
        own = [ball for ball in balls if ball.product == product]
        for clause in clauses:
            yield _clause(product, own, clause, bench, facts, diameter, accept_unverified=accept_unverified)


def _clause(
    product: str,
    own: Sequence[BallDraws],
    clause: Clause,
    bench: Bench,
    facts: Mapping[str, str],
    diameter: float,
    *,
    accept_unverified: bool,
) -> BounceClause:
    first = clause.readings[0]
    reason = _why_not(clause, own, bench, facts, accept_unverified=accept_unverified)
    decision: Decision = "not tested"
    chance, value = math.nan, None
    each: tuple[tuple[str, Spread], ...] = ()
    if not reason:
        drawn = np.column_stack([_of(ball, clause, facts, diameter) for ball in own])
        inside = _inside(drawn, first)
        chance = float(np.mean(inside[1:]))
        each = tuple((ball.ball, _told(drawn[:, k], (ball,), clause)) for k, ball in enumerate(own))
        value = _told(drawn.mean(axis=1), own, clause) if first.sample == "mean" else each[_nearest(drawn, first)][1]
        decision = "met" if chance >= 1.0 - RISK else "not met" if chance <= RISK else "undecided"
    return BounceClause(
        product, clause.id, clause.text, clause.source.seen, clause.quantity, clause.base_unit, first.lower,
        first.upper, decision, chance, len(own), value, reason, each,
    )  # fmt: skip


def _why_not(  # noqa: PLR0911 - one return for each reason
    clause: Clause, own: Sequence[BallDraws], bench: Bench, facts: Mapping[str, str], *, accept_unverified: bool
) -> str:
    """Say why a clause is not tested, with what to do; empty where it is."""
    first = clause.readings[0]
    if not clause.decides:
        return "the clause names a value without a tolerance, which decides nothing"
    if clause.source.seen == "memory" and not accept_unverified:
        return "its limit is from memory only; check it in the rule book and pass --accept-unverified to judge by it"
    if len(clause.readings) > 1:
        return "its text can be read in several ways; write the readings to a file with --readings and judge that"
    if (first.ball, first.sample) not in {("mean", "each"), ("mean", "mean")}:
        return (
            f"the clause is about the {first.ball} of a ball's drops and {first.sample} over the balls; write the "
            "readings to a file with --readings and judge that"
        )
    if any(ball.rebound is None for ball in own):
        return "the drop height is not known; give it with --drop-height"
    said = {**facts, _TOP: clause.conditions[_TOP]} if _TOP in clause.conditions else facts
    unmet = unmet_condition(clause, bench, said)
    if unmet is not None:
        return unmet
    few = [ball for ball in own if ball.drops < FEWEST_DROPS]
    if few:
        names = ", ".join(f"{ball.ball} ({ball.drops})" for ball in few[:6])
        return (
            f"too few drops of ball {names}; drop each ball {FEWEST_DROPS} times or more, for what differs from drop "
            "to drop is not known otherwise"
        )
    if first.allowed_outside >= len(own):
        return "the clause allows as many balls outside as were dropped"
    return ""


def _of(ball: BallDraws, clause: Clause, facts: Mapping[str, str], diameter: float) -> Array:
    """Give the draws of one ball, (M,), in the clause's unit, from the clause's height and to where it is read.

    The height that was said is the clause's to half a per cent; what is left of the difference is taken off in
    proportion, which drag changes by less than a thousandth of it.
    """
    values = ball.restitution if clause.quantity == "bounce_restitution" else ball.rebound
    if values is None:
        raise AssertionError("the drop height was looked at before")
    if clause.quantity == "bounce_restitution":
        return values
    wanted, said = clause.conditions.get(_HEIGHT), facts.get(_HEIGHT)
    if wanted is not None and said is not None:
        values = values * _millimetres(wanted) / _millimetres(said)
    top = "top" in clause.conditions.get(_TOP, "").casefold()
    return values * factor("m", clause.base_unit) + (diameter if top else 0.0)


def _millimetres(text: str) -> float:
    number, unit = parse_quantity(text)
    return float(number) * factor(unit, "mm")


def _gap(drawn: Array, reading: Reading) -> Array:
    """Give how far inside the nearest limit each value lies; negative: beyond."""
    gaps = [drawn - reading.lower.value] if reading.lower is not None else []
    gaps += [reading.upper.value - drawn] if reading.upper is not None else []
    return np.asarray(np.minimum.reduce(gaps))


def _inside(drawn: Array, reading: Reading) -> NDArray[np.bool_]:
    """Say of each draw whether the clause is met."""
    if reading.sample == "mean":
        drawn = drawn.mean(axis=1, keepdims=True)
    gap = _gap(drawn, reading)
    outside = np.count_nonzero(gap <= 0.0 if reading.strict else gap < 0.0, axis=1)
    return np.asarray(outside <= (reading.allowed_outside if reading.sample == "each" else 0))


def _nearest(drawn: Array, reading: Reading) -> int:
    """Give which ball's estimate lies nearest to a limit, or furthest beyond it."""
    return int(np.argmin(_gap(drawn, reading)[0]))


def _told(drawn: Array, balls: Sequence[BallDraws], clause: Clause) -> Spread:
    """Give the mean of some balls as the clause has it, (M,), with its standard uncertainty."""
    if clause.quantity == "bounce_restitution":
        u = mean_u([ball.restitution_u for ball in balls])
    else:
        u = mean_u([ball.rebound_u for ball in balls])
        u = None if u is None else u * factor("m", clause.base_unit)
    spread = spread_of(drawn)
    return spread if u is None else replace(spread, u=u)
