"""What the form of a plan offers, and what a plan puts into the set-up form."""

from __future__ import annotations

import json
import secrets
from dataclasses import replace

from ballbench.errors import BadRequest, Fault
from ballbench.presentation.screens.plan_form import PlanForm, QuantityToPlan
from ballbench.presentation.screens.set_up import PlanToFollow, SetUpPage
from ballbench.specs import Requirement, catalogue_text, parse_requirement
from ballbench.store import Notebook
from ballbench.store.plans import plan_of
from ballbench.workflows.as_found import as_found
from ballbench.workflows.forms import diameter_first, instruments, quantity_choices, set_up_page
from ballbench.workflows.plan import DEFAULT_RESOLUTION
from ballbench.workflows.plan_at_bench import plans
from ballbench.workflows.plan_followed import instrument_of_plan, plan_line
from ballbench.workflows.qualified import qualified_instruments
from ballbench.workflows.requirements import shown
from ballbench.workflows.set_up import SEEDS
from ballbench.workflows.what_to_read import AXES, suggested_axes

__all__ = ["plan_form", "planned_set_up_page"]


def plan_form(notebook: Notebook, identity: str) -> PlanForm:
    """Give the form for one requirement of the catalogue.

    Raises
    ------
    BadRequest
        There is no such requirement, or it has no clause on a number.
    """
    requirement = parse_requirement(catalogue_text(identity), f"{identity}.toml")
    measured = {clause.quantity for clause in requirement.clauses if clause.count is None}
    choices = [one.planned for one in diameter_first(quantity_choices(requirement)) if one.planned.name in measured]
    if not choices:
        todo = "choose another, or see how many of a box to look at: ballbench plan --box"
        raise BadRequest(Fault(identity, "yes/no results only", "a requirement with a clause on a number", todo))
    return PlanForm(
        requirement=shown(requirement),
        quantities=tuple(QuantityToPlan(one, DEFAULT_RESOLUTION.get(one.name)) for one in choices),
        qualified=qualified_instruments(notebook),
        others=tuple(one for one in instruments(notebook) if not one.assumed),
        found=as_found(notebook, identity),
        plans=tuple(one for one in plans(notebook) if one.requirement == identity),
        seed=secrets.randbelow(SEEDS),
    )


def planned_set_up_page(notebook: Notebook, identity: str, plan: int | None) -> SetUpPage:
    """Give the set-up form for one requirement, with what a plan says filled in; None: nothing is planned.

    Raises
    ------
    BadRequest
        There is no such requirement.
    NotFound
        There is no such plan.
    """
    page = set_up_page(notebook, identity)
    if plan is None:
        return page
    return replace(page, follow=_to_follow(notebook, plan, parse_requirement(catalogue_text(identity), identity)))


def _to_follow(notebook: Notebook, plan_id: int, requirement: Requirement) -> PlanToFollow:
    with notebook.read() as tx:
        row = plan_of(tx, plan_id)
        line = plan_line(tx, row)
    rule = json.loads(json.loads(row.result)["json"])["rule"]
    axes = _axes(row.quantity, line.design.axes, requirement)
    return PlanToFollow(line, axes, str(rule["name"]), float(rule["risk"]), instrument_of_plan(row))


def _axes(quantity: str, count: int, requirement: Requirement) -> tuple[str, ...]:
    """Name so many places on a ball: those that the requirement suggests, then further ones."""
    usual = suggested_axes(quantity, requirement)
    if count == 1 and not usual:
        return ()
    names = list(dict.fromkeys((*usual, *(AXES if usual else ()))))
    names += [f"free {number}" for number in range(2, count + 2) if f"free {number}" not in names]
    return tuple(names[:count]) if usual else tuple(f"place {number}" for number in range(1, count + 1))
