"""What the forms offer: requirements, quantities with their usual axes, units and instruments."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from typing import Literal

from ballbench.presentation.screens.conditions import ConditionAsked
from ballbench.presentation.screens.quick import QuickPage, QuickQuantity, QuickRequirement
from ballbench.presentation.screens.set_up import ChoosePage, QuantityChoice, SetUpPage
from ballbench.presentation.wording import seen_words
from ballbench.quantities.kinds import KINDS
from ballbench.records import Instrument, default_instrument
from ballbench.specs import Clause, Requirement, catalogue_ids, catalogue_text, parse_requirement
from ballbench.store import Notebook
from ballbench.store.library import last_quick_requirement, latest_instruments
from ballbench.workflows.ball_alone import single_ball_clauses
from ballbench.workflows.boxes import boxes
from ballbench.workflows.qualified import pieces_of_qualified, qualified_instruments
from ballbench.workflows.requirements import overview, shown
from ballbench.workflows.set_up import SEEDS, InstrumentPlan, QuantityPlan
from ballbench.workflows.taking_in import CONDITIONS
from ballbench.workflows.what_to_read import base_units, planned_quantities, suggested_axes, suggested_quantities

__all__ = [
    "choose_page",
    "diameter_first",
    "instruments",
    "quantity_choices",
    "quick_page",
    "set_up_page",
    "usual_instrument",
]

_UNITS = {"mm": ("mm", "in", "cm"), "g": ("g", "oz", "kg")}
"""Units that displays of the trade show; the first is offered."""

_STEPS = {"mm": 0.01, "g": 0.01, "1": 0.001}
"""Display step that only serves to name the usual instrument (own choice)."""


def choose_page(aim: Literal["set up", "plan", "qualify"] = "set up") -> ChoosePage:
    """Give the catalogue to choose from, by sport."""
    return ChoosePage(tuple(sorted(overview(), key=lambda one: (one.sport, one.title))), aim)


def set_up_page(notebook: Notebook, identity: str) -> SetUpPage:
    """Give the form for one requirement of the catalogue.

    Raises
    ------
    BadRequest
        There is no such requirement.
    """
    requirement = parse_requirement(catalogue_text(identity), f"{identity}.toml")
    return SetUpPage(
        requirement=shown(requirement),
        quantities=quantity_choices(requirement),
        instruments=instruments(notebook),
        seed=secrets.randbelow(SEEDS),
        conditions=_conditions(requirement.clauses),
        boxes=boxes(notebook),
        qualified=qualified_instruments(notebook),
        pieces=pieces_of_qualified(notebook),
    )


def quantity_choices(requirement: Requirement) -> tuple[QuantityChoice, ...]:
    """Give what a requirement wants read, with usual instruments and the units of their displays."""
    plans = [
        QuantityPlan(name, axes, repeats, usual_instrument(name, base_units(requirement)[name]))
        for name, axes, repeats in suggested_quantities(requirement)
    ]
    tools = [InstrumentPlan(plan.instrument, plan.name, base_units(requirement)[plan.name], 0.01) for plan in plans]
    planned = planned_quantities(plans, tools, requirement)
    return tuple(QuantityChoice(one, _units(one.unit)) for one in planned)


def diameter_first(choices: Iterable[QuantityChoice]) -> tuple[QuantityChoice, ...]:
    """Put the diameter first, which is what most plans and studies are about; all else stays in its order."""
    return tuple(sorted(choices, key=lambda one: one.planned.name != "diameter"))


def instruments(notebook: Notebook) -> tuple[Instrument, ...]:
    """Give the instruments of earlier tests, each as it was last; numbers in the unit of its display."""
    with notebook.read() as tx:
        return tuple(
            Instrument(
                row.name, row.quantity, row.unit, row.resolution, row.sd or 0.0, row.dof or 0.0, row.offset,
                row.offset_sd or 0.0, row.scale_sd, row.zeroed, row.display, assumed=row.sd is None,
            )
            for row in latest_instruments(tx)
        )  # fmt: skip


def quick_page(notebook: Notebook) -> QuickPage:
    """Give the form of a quick check."""
    found = [parse_requirement(catalogue_text(one), f"{one}.toml") for one in catalogue_ids()]
    offered = [_quick(one) for one in found if single_ball_clauses(one)]
    with notebook.read() as tx:
        last = last_quick_requirement(tx)
    return QuickPage(tuple(sorted(offered, key=lambda one: (one.sport, one.title))), last)


def _quick(requirement: Requirement) -> QuickRequirement:
    clauses = single_ball_clauses(requirement)
    seen = dict.fromkeys(seen_words(clause.source.seen) for clause in clauses)
    names = dict.fromkeys(clause.quantity for clause in clauses)
    return QuickRequirement(
        id=requirement.id, sport=requirement.sport, title=requirement.title, edition=requirement.edition,
        sure=f"limits {', '.join(seen)}", quantities=tuple(_quantity(requirement, name) for name in names),
    )  # fmt: skip


def _quantity(requirement: Requirement, name: str) -> QuickQuantity:
    unit, kind = base_units(requirement)[name], KINDS.get(name)
    own = [clause for clause in single_ball_clauses(requirement) if clause.quantity == name]
    return QuickQuantity(
        name=name, words=kind.words if kind else name.replace("_", " "), units=_units(unit),
        axes=suggested_axes(name, requirement), held=tuple(clause.text for clause in own),
        instrument=usual_instrument(name, unit), conditions=_conditions(own),
    )  # fmt: skip


def _conditions(clauses: Iterable[Clause]) -> tuple[ConditionAsked, ...]:
    """Give the conditions that clauses depend on; those that are facts of single balls are noted at the bench."""
    facts = {name for name, _ in CONDITIONS.values()}
    asked: dict[str, dict[str, None]] = {}
    for clause in clauses:
        for name, wanted in clause.conditions.items():
            if name not in facts:
                asked.setdefault(name, {})[wanted] = None
    return tuple(ConditionAsked(name, name.replace("_", " "), tuple(wanted)) for name, wanted in asked.items())


def _units(unit: str) -> tuple[str, ...]:
    return _UNITS.get(unit, (unit,))


def usual_instrument(quantity: str, unit: str) -> str:
    """Name what a quantity is usually read with; empty where nothing is usual."""
    name = default_instrument(quantity, unit, _STEPS.get(unit, 1.0)).name
    return "" if name == "instrument" else name
