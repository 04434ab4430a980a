"""Slips in a requirement that loads: limits that can never bind, clauses that exclude or repeat each other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ballbench.specs.bounds import Confinement, confinement, largest_sample_sd
from ballbench.specs.model import Clause, Reading, Requirement
from ballbench.specs.remarks import Remark, amount, in_unit, which
from ballbench.specs.slips import slips, substance

__all__ = ["Remark", "lint"]

_STATISTIC = {"mean": "the mean over the balls", "sd": "the SD over the balls", "range": "the range over the balls"}


def lint(req: Requirement) -> tuple[Remark, ...]:
    """Look for slips in a requirement.

    Parameters
    ----------
    req : Requirement
        As loaded.

    Returns
    -------
    tuple of Remark
        In the order of the clauses; empty where nothing was noticed. A remark is no fault: the requirement can be
        used.
    """
    remarks: list[Remark] = []
    for number, clause in enumerate(req.clauses):
        remarks.extend(slips(clause))
        remarks.extend(_never_binding(clause, req))
        remarks.extend(_excluded(clause, req))
        remarks.extend(_all_outside(clause, req))
        remarks.extend(_repeated(clause, req.clauses[:number]))
    return tuple(remarks)


def _never_binding(clause: Clause, req: Requirement) -> Iterator[Remark]:
    """Compare each limit with what the other clauses let the statistic reach."""
    others = [other for other in req.clauses if other is not clause]
    for number, reading in enumerate(clause.readings):
        inside = confinement(others, clause.quantity, reading.ball)
        if inside.width < 0:
            continue
        reach = _reach(inside, reading, req.sample_size)
        for limit, end, beyond, word in (
            (reading.lower, reach.low, reading.lower is not None and reading.lower.value < reach.low, "below"),
            (reading.upper, reach.high, reading.upper is not None and reading.upper.value > reach.high, "above"),
        ):
            if limit is not None and beyond:
                what = (
                    f"{which(number)}{amount(limit)} can never bind: with {_held(inside, reading, clause)}, "
                    f"{_statistic(reading, req.sample_size)} is never {word} {in_unit(end, clause)}"
                )
                yield Remark(clause.id, what, "check the limit's decimal point and unit, and the other clauses")


def _reach(inside: Confinement, reading: Reading, sample_size: int | None) -> Confinement:
    """Give the interval that a reading's statistic can reach when every ball's value is inside another."""
    if reading.sample == "range":
        return Confinement(0.0, inside.width)
    if reading.sample == "sd":
        n = max(sample_size or 2, 2)  # unknown: two balls, for no larger sample has a larger SD
        return Confinement(0.0, largest_sample_sd(inside.width, n))
    return inside


def _held(inside: Confinement, reading: Reading, clause: Clause) -> str:
    """Say what each ball is held to by the other clauses."""
    whose = f"each ball's {reading.ball}"
    if math.isinf(inside.low):
        return f"{whose} at most {in_unit(inside.high, clause)}"
    if math.isinf(inside.high):
        return f"{whose} at least {in_unit(inside.low, clause)}"
    return f"{whose} between {in_unit(inside.low, clause)} and {in_unit(inside.high, clause)}"


def _statistic(reading: Reading, sample_size: int | None) -> str:
    """Name a statistic, with the number of balls where it matters."""
    name = _STATISTIC.get(reading.sample, "it")
    if reading.sample != "sd":
        return name
    return name.replace("the balls", f"{sample_size} balls" if sample_size else "any number of balls")


def _excluded(clause: Clause, req: Requirement) -> Iterator[Remark]:
    """Look for a clause on each ball that no ball can meet together with the others."""
    first = clause.readings[0]
    if clause.count is not None or first.sample != "each":
        return
    alone = confinement([clause], clause.quantity, first.ball)
    if confinement(req.clauses, clause.quantity, first.ball).width < 0 <= alone.width:
        what = f"no ball can meet it together with the other clauses on {clause.quantity}"
        yield Remark(clause.id, what, "correct one of the limits")


def _all_outside(clause: Clause, req: Requirement) -> Iterator[Remark]:
    """Look for an allowance that lets every ball be outside."""
    for number, reading in enumerate(clause.readings):
        if req.sample_size is not None and reading.allowed_outside >= req.sample_size:
            what = f"{which(number)}{reading.allowed_outside} of {req.sample_size} balls may be outside, that is all"
            yield Remark(clause.id, what, "correct allowed_outside or sample_size")


def _repeated(clause: Clause, earlier: tuple[Clause, ...]) -> Iterator[Remark]:
    """Look for an earlier clause that says the same."""
    same = next((other for other in earlier if _meaning(other) == _meaning(clause)), None)
    if same is not None:
        yield Remark(clause.id, f'says the same as the clause "{same.id}"', "change its limits, or remove it")


def _meaning(clause: Clause) -> tuple[object, ...]:
    readings = tuple(substance(reading) for reading in clause.readings)
    nominal = None if clause.nominal is None else clause.nominal.value
    return clause.quantity, readings, clause.count, nominal, tuple(sorted(clause.conditions.items()))
