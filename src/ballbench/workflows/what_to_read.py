"""What a requirement wants read: quantities with axes, limits of a single ball, and the order of the tests."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from ballbench.quantities.kinds import KINDS
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.test_order import caution_for, order_of
from ballbench.records.written_units import exact_factor
from ballbench.specs import Clause, Requirement

if TYPE_CHECKING:
    from ballbench.workflows.set_up import InstrumentPlan, QuantityPlan

__all__ = [
    "AXES",
    "base_units",
    "limits_of_a_ball",
    "planned_quantities",
    "suggested_axes",
    "suggested_quantities",
    "yes_no_quantities",
]

AXES = ("seam", "across", "free")
"""Places for a diameter where a requirement names no number of them (common practice, no source)."""

_USUAL_AXES = 3


def base_units(requirement: Requirement) -> dict[str, str]:
    """Give the unit that each quantity is computed in: the usual ones and those that the requirement declares."""
    usual = {kind.name: kind.unit for kind in KINDS.values()}
    return usual | {clause.quantity: clause.base_unit for clause in requirement.clauses}


def yes_no_quantities(requirement: Requirement) -> frozenset[str]:
    """Give the quantities whose result is yes or no."""
    return frozenset(clause.quantity for clause in requirement.clauses if clause.count is not None)


def suggested_quantities(requirement: Requirement) -> tuple[tuple[str, tuple[str, ...], int], ...]:
    """Give what the requirement wants read, in the order of the tests: name, axes and readings an axis."""
    names = dict.fromkeys(clause.quantity for clause in requirement.clauses if clause.decides)
    counts = {c.quantity: c.count.out_of or 1 for c in requirement.clauses if c.count is not None}
    return tuple((name, suggested_axes(name, requirement), counts.get(name, 1)) for name in order_of(names))


def suggested_axes(quantity: str, requirement: Requirement) -> tuple[str, ...]:
    """Give the places on a ball where a quantity is usually read; empty: it has none."""
    if quantity != "diameter":
        return ()
    wanted = requirement.axes or _USUAL_AXES
    return AXES[:wanted] + tuple(f"free {number}" for number in range(2, wanted - _USUAL_AXES + 2))


def limits_of_a_ball(requirement: Requirement, quantity: str) -> tuple[float | None, float | None]:
    """Give what the requirement allows a single ball's readings, in the base unit; None: it sets no such limit."""
    of_balls = [c for c in requirement.clauses if c.quantity == quantity and c.count is None and _of_a_size(c)]
    each = [c for c in of_balls if c.readings[0].sample == "each"] or of_balls
    lowers = [c.readings[0].lower.value for c in each if c.readings[0].lower is not None]
    uppers = [c.readings[0].upper.value for c in each if c.readings[0].upper is not None]
    return max(lowers, default=None), min(uppers, default=None)


def _of_a_size(clause: Clause) -> bool:
    return clause.readings[0].ball != "range" and clause.readings[0].sample not in {"sd", "range"}


def planned_quantities(
    plans: Iterable[QuantityPlan], instruments: Sequence[InstrumentPlan], requirement: Requirement
) -> tuple[PlannedQuantity, ...]:
    """Give what is read of every ball, in the order of the tests; those that can harm a ball come last."""
    by_name = {plan.name: plan for plan in plans}
    tools = {one.name: one for one in instruments}
    units, yes_no = base_units(requirement), yes_no_quantities(requirement)
    planned = []
    for rank, name in enumerate(order_of(by_name), 1):
        plan, unit = by_name[name], units[name]
        tool = tools.get(plan.instrument)
        kind = KINDS.get(name)
        planned.append(
            PlannedQuantity(
                name=name, words=kind.words if kind else name.replace("_", " "), unit=unit, axes=plan.axes or ("",),
                repeats=plan.repeats, instrument="" if name in yes_no else plan.instrument, yes_no=name in yes_no,
                signed=kind is not None and kind.lowest < 0.0, rank=rank,
                decimals=0 if tool is None else _decimals(tool.resolution * exact_factor(tool.unit, unit)),
                limits=limits_of_a_ball(requirement, name), caution=caution_for(name),
            )
        )  # fmt: skip
    return tuple(planned)


def _decimals(step: float) -> int:
    """Give the decimals that a display of such steps shows."""
    return max(0, math.ceil(-math.log10(step) - 1e-9))
