"""A product against a clause on deformation or hardness: only where the requirement's load, preload and time held."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.pressing.groups import Pressed
from ballbench.findings.pressing.results import PressClause
from ballbench.findings.results import Decision
from ballbench.findings.testable import unmet_condition
from ballbench.physics.deformation import PressReading
from ballbench.quantities.propagation import effective_dof
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records import Bench
from ballbench.records.press_log import PressRow
from ballbench.specs import Clause, Reading
from ballbench.statistics.normal_range import d2

__all__ = ["clauses_of", "press_clauses"]

_TIMES = ("time", "seconds", "time_under_load", "duration")
"""What a requirement may call the time under load."""
_REDUCED: dict[str, Callable[[NDArray[np.float64]], float]] = {
    "mean": np.mean, "max": np.max, "min": np.min, "range": np.ptp, "median": np.median,
    "midrange": lambda values: 0.5 * (np.max(values) + np.min(values)),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Ball:
    """One ball's value as the clause reduces it, its standard uncertainty, mm, with degrees of freedom.

    `shared` is the part of `u` that all balls have alike: the reading's own error, and what scatter adds to an extreme.
    """

    value: float
    u: float
    dof: float = math.inf
    shared: float = 0.0


def press_clauses(clauses: Sequence[Clause]) -> tuple[Clause, ...]:
    """Give the clauses that a press may answer."""
    return tuple(clause for clause in clauses if _asked(clause) is not None)


def _asked(clause: Clause) -> tuple[str, str] | None:
    """Give quantity and direction of a clause, such as those of ``deformation_return``; None: not of a press."""
    words = clause.quantity.split("_")
    if words[0] not in ("deformation", "hardness") or clause.base_unit != "mm":
        return None
    return words[0], "return" if "return" in words else "forward"


def clauses_of(
    several: Sequence[Pressed], clauses: Sequence[Clause], bench: Bench, *, accept_unverified: bool = False
) -> Iterator[PressClause]:
    """Hold each product against each clause.

    Parameters
    ----------
    several : sequence of Pressed
        What was read.
    clauses : sequence of Clause
        From `press_clauses`.
    bench : Bench
        Conditions that held beside load, preload and time.
    accept_unverified : bool
        Limits seen only in memory may decide.

    Yields
    ------
    PressClause
        Product by product; ``not tested`` with the reason wherever something that the requirement says did not hold,
        or the requirement does not say it.
    """
    for product in dict.fromkeys(one.product for one in several):
        own = [one for one in several if one.product == product]
        for clause in clauses:
            yield _clause(product, own, clause, bench, accept_unverified=accept_unverified)


def _clause(
    product: str, own: Sequence[Pressed], clause: Clause, bench: Bench, *, accept_unverified: bool
) -> PressClause:
    asked = _asked(clause)
    read = [
        pair for one in own for pair in zip(one.rows, one.readings, strict=True)
        if asked is not None and (one.quantity, pair[1].direction) == asked
    ]  # fmt: skip
    held, reason = _held(clause, read, bench, accept_unverified=accept_unverified)
    first = clause.readings[0]
    balls = _balls(held, first) if held else []
    reason = reason or _why_not(clause, balls)
    count = len({reading.ball for _, reading in read})
    if reason:
        return PressClause(
            product, clause.id, clause.text, clause.source.seen, first.lower, first.upper, "not tested", len(balls),
            count, first.sample, math.nan, math.nan, 0, reason,
        )  # fmt: skip
    unknown = _unknown_scatter(held, first)
    decision, shown, outside = _mean(balls, first) if first.sample == "mean" else _each(balls, first)
    if unknown:
        decision, shown = "undecided", _Ball(shown.value, math.nan)
    return PressClause(
        product, clause.id, clause.text, clause.source.seen, first.lower, first.upper, decision, len(balls), count,
        first.sample, shown.value, shown.u, outside, unknown,
    )  # fmt: skip


def _held(
    clause: Clause, read: Sequence[tuple[PressRow, PressReading]], bench: Bench, *, accept_unverified: bool
) -> tuple[list[tuple[PressRow, PressReading]], str]:
    """Give the readings that were taken as the clause says, or why there is none."""
    if clause.source.seen == "memory" and not accept_unverified:
        return [], "its limit is from memory only; look it up in the rule book"
    if not read:
        return [], f"no readings of {clause.quantity.replace('_', ' ')} were given"
    time = next((name for name in _TIMES if name in clause.conditions), "")
    unsaid = [name for name in ("load", "preload") if name not in clause.conditions]
    unsaid += [] if time else ["time under load"]
    if unsaid:
        return [], (
            f"the requirement as it stands here does not say the {' and the '.join(unsaid)}, so that a reading cannot "
            "be held against it; put what the rule book says under `conditions` of a requirement of your own"
        )
    reasons: dict[str, None] = {}
    held = []
    for row, reading in read:
        facts = {"load": f"{reading.load_n!r} N", "preload": f"{reading.preload_n!r} N", time: f"{reading.seconds!r} s"}
        unmet = unmet_condition(clause, bench, facts)
        if unmet is None:
            held.append((row, reading))
        else:
            reasons.setdefault(unmet)
    return held, "" if held else next(iter(reasons))


def _balls(held: Sequence[tuple[PressRow, PressReading]], first: Reading) -> list[_Ball]:
    """Reduce each ball's readings, all orientations together.

    u^2 = u_stated^2 + s^2/n, degrees of freedom by Welch-Satterthwaite (JCGM 100:2008, G.2b): the readings' own error
    is shared and does not average out, s is the pooled SD within balls. Of reductions other than the mean s is taken
    whole; to a largest or smallest of n readings it adds 0 to d2(n) s/2, to a range 0 to d2(n) s: counted as a third of
    the square of the most that it may add, since nothing is taken off.
    """
    own = {
        ball: [(row, reading) for row, reading in held if reading.ball == ball]
        for ball in dict.fromkeys(reading.ball for _, reading in held)
    }
    readings = {ball: np.array([reading.deformation_mm for _, reading in pairs]) for ball, pairs in own.items()}
    dof = sum(values.size - 1 for values in readings.values())
    within = sum(float(((values - values.mean()) ** 2).sum()) for values in readings.values())
    s = math.sqrt(within / dof) if dof else 0.0
    times = math.sqrt(2.0) if first.ball == "range" else 1.0
    adds = {"max": 0.5, "min": 0.5, "range": 1.0}.get(first.ball, 0.0)
    balls = []
    for ball, values in readings.items():
        u = times * max(row.step if row.u is None else row.u for row, _ in own[ball])
        scatter = s / math.sqrt(values.size) if first.ball == "mean" else times * s
        extra = adds * d2(values.size) * s / math.sqrt(3.0) if values.size > 1 else 0.0
        parts = (u, scatter, extra)
        known = effective_dof((u, math.hypot(scatter, extra)), (math.inf, float(max(dof, 1))))
        balls.append(_Ball(float(_REDUCED[first.ball](values)), math.hypot(*parts), known, math.hypot(u, extra)))
    return balls


def _unknown_scatter(held: Sequence[tuple[PressRow, PressReading]], first: Reading) -> str:
    """Say why single balls cannot be decided: no ball was read twice, and some reading came without uncertainty."""
    once = len({reading.ball for _, reading in held}) == len(held)
    if first.sample != "each" or not once or all(row.u is not None for row, _ in held):
        return ""
    return (
        "each ball was read once and no uncertainty is stated, so nothing is known of how a ball's own readings "
        "scatter; read balls again, or state u"
    )


def _why_not(clause: Clause, balls: Sequence[_Ball]) -> str:
    first = clause.readings[0]
    if len(clause.readings) > 1:
        return "its text can be read in several ways; a press is held against plain clauses only"
    if first.lower is None and first.upper is None:
        return "the clause names a value without a tolerance, which decides nothing"
    if first.sample not in ("each", "mean"):
        return (
            f"the clause is about the {first.sample} over the balls, and a press is held against single balls or means"
        )
    if first.sample == "mean" and len(balls) < 2:
        return "the clause is about the mean of the balls, and one ball was read"
    return ""


def _sides(one: _Ball, half: float, first: Reading) -> tuple[bool, bool]:
    """Say whether a value with its uncertainty is wholly inside, and whether it is wholly outside."""
    low, high = one.value - half, one.value + half
    inside = outside = False
    above = -math.inf if first.lower is None else first.lower.value
    below = math.inf if first.upper is None else first.upper.value
    inside = (above < low and high < below) if first.strict else (above <= low and high <= below)
    outside = (high <= above or low >= below) if first.strict else (high < above or low > below)
    return inside, outside


def _each(balls: Sequence[_Ball], first: Reading) -> tuple[Decision, _Ball, int]:
    sides = [_sides(one, coverage_factor(one.dof) * one.u, first) for one in balls]
    surely_out = sum(outside for _, outside in sides)
    surely_in = sum(inside for inside, _ in sides)
    decision: Decision = "undecided"
    if surely_out > first.allowed_outside:
        decision = "not met"
    elif len(balls) - surely_in <= first.allowed_outside:
        decision = "met"
    return (
        decision,
        min(balls, key=lambda one: first.gap(one.value)),
        sum(not _sides(one, 0.0, first)[0] for one in balls),
    )


def _mean(balls: Sequence[_Ball], first: Reading) -> tuple[Decision, _Ball, int]:
    values = np.array([one.value for one in balls])
    scatter = float(values.std(ddof=1)) / math.sqrt(values.size)
    u = max(one.shared for one in balls)
    shown = _Ball(float(values.mean()), math.hypot(scatter, u))
    half = math.hypot(coverage_factor(values.size - 1) * scatter, coverage_factor(math.inf) * u)
    inside, outside = _sides(shown, half, first)
    decision: Decision = "met" if inside else "not met" if outside else "undecided"
    return decision, shown, sum(not _sides(one, 0.0, first)[0] for one in balls)
