"""A product against a clause on veer: the balls' own veer without the ramp's lean, under the rule's conditions only."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ballbench.findings.results import Decision
from ballbench.findings.rolling.results import RollClause, RollNoise
from ballbench.findings.rolling.turnings import Turning
from ballbench.findings.testable import unmet_condition
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records import Bench
from ballbench.specs import Clause, Reading

__all__ = ["clauses_of", "veer_clauses"]

_RISK = 0.05
"""Of a false "met", and of a false "not met", each over all balls of a product."""


@dataclass(frozen=True, slots=True)
class _Ball:
    """The veers of one ball that a clause asks for, mm, each with its standard uncertainty by noise."""

    ball: str
    veers: tuple[tuple[float, float], ...]


def veer_clauses(clauses: Sequence[Clause]) -> tuple[Clause, ...]:
    """Give the clauses that a ramp may answer: on veer, in mm."""
    return tuple(clause for clause in clauses if clause.quantity == "veer" and clause.base_unit == "mm")


def clauses_of(
    turnings: Sequence[Turning], noise: RollNoise, clauses: Sequence[Clause], bench: Bench, *,
    accept_unverified: bool = False,
) -> Iterator[RollClause]:  # fmt: skip
    """Hold each product against each clause.

    Parameters
    ----------
    turnings : sequence of Turning
        Of all balls.
    noise : RollNoise
        Of single runs.
    clauses : sequence of Clause
        From `veer_clauses`.
    bench : Bench
        Conditions that held beside those of the ramp.
    accept_unverified : bool
        Limits seen only in memory may decide.

    Yields
    ------
    RollClause
        Product by product; ``not tested`` with the reason wherever something that the requirement says did not hold.

    Notes
    -----
    A ball turned round veers as far to the other side, so each axis gives its veer and the opposite of it. All of a
    ball's are inside when each is so by t u, one-sided at the risk: no correction is needed where all must be. One is
    outside when it is so by t u at the risk over the number of axes and balls (Bonferroni).
    """
    for product in dict.fromkeys(one.product for one in turnings):
        own = [one for one in turnings if one.product == product]
        for clause in clauses:
            yield _clause(product, own, noise, clause, bench, accept_unverified=accept_unverified)


def _clause(
    product: str, turnings: Sequence[Turning], noise: RollNoise, clause: Clause, bench: Bench, *,
    accept_unverified: bool,
) -> RollClause:  # fmt: skip
    first = clause.readings[0]
    held, reason = _held(turnings, clause, bench, accept_unverified=accept_unverified)
    reason = reason or _why_not(clause, noise)
    empty = RollClause(
        product, clause.id, clause.text, clause.source.seen, first.lower, first.upper, "not tested", 0, (), 0,
        math.nan, math.nan, "", reason,
    )  # fmt: skip
    if reason:
        return empty
    balls = _balls(held, noise)
    inside, outside = _sides(balls, first, noise.dof)
    decision: Decision = "undecided"
    if len(outside) > first.allowed_outside:
        decision = "not met"
    elif len(balls) - len(inside) <= first.allowed_outside:
        decision = "met"
    furthest = min(balls, key=lambda ball: min(first.gap(veer) for veer, _ in ball.veers))
    value, u = min(furthest.veers, key=lambda pair: first.gap(pair[0]))
    return RollClause(
        product, clause.id, clause.text, clause.source.seen, first.lower, first.upper, decision, len(balls),
        tuple(outside), len(inside), value, u, furthest.ball,
    )  # fmt: skip


def _held(
    turnings: Sequence[Turning], clause: Clause, bench: Bench, *, accept_unverified: bool
) -> tuple[list[Turning], str]:
    """Give the turnings that were rolled as the clause says, or why there is none."""
    if clause.source.seen == "memory" and not accept_unverified:
        return (
            [],
            "its limit is from memory only; check it in the rule book and pass --accept-unverified to judge by it",
        )
    both = [one for one in turnings if one.both]
    if not both:
        return [], "no ball was rolled both ways round, so that the lean of the ramp cannot be told from the balls"
    reasons: dict[str, None] = {}
    held = []
    for one in both:
        unmet = unmet_condition(clause, bench, _facts(one))
        if unmet is None:
            held.append(one)
        else:
            reasons.setdefault(unmet)
    return held, "" if held else next(iter(reasons))


def _facts(one: Turning) -> dict[str, str]:
    """What the ramp says of conditions, as a requirement may name them; `roll` is the flat after the ramp."""
    ramp = one.ramp
    rise = ramp.slope * math.sin(math.radians(ramp.angle))
    return {
        "roll": f"{ramp.run_out!r} mm", "run_out": f"{ramp.run_out!r} mm", "slope": f"{ramp.slope!r} mm",
        "ramp": f"{ramp.slope!r} mm", "angle": f"{ramp.angle!r} deg", "ramp_angle": f"{ramp.angle!r} deg",
        "rise": f"{rise!r} mm", "ramp_height": f"{rise!r} mm",
    }  # fmt: skip


def _why_not(clause: Clause, noise: RollNoise) -> str:
    first = clause.readings[0]
    if len(clause.readings) > 1:
        return "its text can be read in several ways; a ramp is held against plain clauses only"
    if first.lower is None and first.upper is None:
        return "the clause names a value without a tolerance, which decides nothing"
    if first.sample != "each" or first.ball not in ("max", "min"):
        return (
            f"the clause is about the {first.ball} of a ball and {first.sample} of the balls; a ramp is held against "
            "the largest or smallest veer of each ball"
        )
    if not noise.dof:
        return "nothing is known of how runs scatter; roll the axes again, or state u"
    return ""


def _balls(held: Sequence[Turning], noise: RollNoise) -> list[_Ball]:
    by_ball: dict[str, list[tuple[float, float]]] = {}
    for one in held:
        u = noise.sd * one.per_run
        by_ball.setdefault(one.ball, []).extend(((one.veer, u), (-one.veer, u)))
    return [_Ball(ball, tuple(veers)) for ball, veers in by_ball.items()]


def _sides(balls: Sequence[_Ball], first: Reading, dof: float) -> tuple[list[str], list[str]]:
    """Give the balls that are surely inside, and those that are surely outside."""
    axes = sum(len(ball.veers) for ball in balls) // 2
    t_in, t_out = coverage_factor(dof, 1.0 - 2.0 * _RISK), coverage_factor(dof, 1.0 - 2.0 * _RISK / axes)
    inside = [ball.ball for ball in balls if all(_in(first.gap(veer) - t_in * u, first) for veer, u in ball.veers)]
    outside = [
        ball.ball for ball in balls if any(not _in(first.gap(veer) + t_out * u, first) for veer, u in ball.veers)
    ]
    return inside, outside


def _in(gap: float, first: Reading) -> bool:
    return gap > 0.0 if first.strict else gap >= 0.0
