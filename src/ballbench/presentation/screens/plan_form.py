"""The form in which a plan is asked for: what is read with what, what the make may be like, which designs to try."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.numbers import with_unit
from ballbench.presentation.requirement_view import RequirementPage
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.plan_words import PlanLine, plan_words
from ballbench.presentation.screens.qualified import QualifiedInstrument, qualified_words
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import plural, quantity_words
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.bench import Instrument

__all__ = ["AsFound", "PlanForm", "QuantityToPlan", "plan_form_html"]


@dataclass(frozen=True, slots=True)
class AsFound:
    """What a make was like in a finished test, numbers in the base unit of the quantity.

    Parameters
    ----------
    test, title : int, str
        The test's number and title.
    make, quantity : str
        Whose balls, and what was read.
    balls : int
        How many.
    mean, sd, form_sd : float
        Of the make, between balls, and between the places of a ball.
    invented : bool
        The test holds invented data.
    """

    test: int
    title: str
    make: str
    quantity: str
    balls: int
    mean: float
    sd: float
    form_sd: float
    invented: bool = False


@dataclass(frozen=True, slots=True)
class QuantityToPlan:
    """A quantity that a test can be planned for: as the requirement suggests it, and the step of a usual display."""

    planned: PlannedQuantity
    step: float | None = None


@dataclass(frozen=True, slots=True)
class PlanForm:
    """The form for one requirement. Filled by ``workflows/plan_forms.py``.

    Parameters
    ----------
    requirement : RequirementPage
        The chosen one.
    quantities : tuple of QuantityToPlan
        Those with a clause on a number.
    qualified : tuple of QualifiedInstrument
        Kept qualifications, the newest first.
    others : tuple of Instrument
        Instruments of earlier tests.
    found : tuple of AsFound
        Makes of finished tests against the same requirement.
    plans : tuple of PlanLine
        Plans for it that were made before, the newest first.
    seed : int
        Offered; a new random one each time.
    """

    requirement: RequirementPage
    quantities: tuple[QuantityToPlan, ...]
    qualified: tuple[QualifiedInstrument, ...] = ()
    others: tuple[Instrument, ...] = ()
    found: tuple[AsFound, ...] = ()
    plans: tuple[PlanLine, ...] = ()
    seed: int = 1


def plan_form_html(data: PlanForm) -> str:
    """Write the form."""
    units = {one.planned.name: one.planned.unit for one in data.quantities}
    body = write(
        "plan_form.html.j2",
        data=data,
        requirement=data.requirement,
        quantities=[_quantity(one) for one in data.quantities],
        qualified=[(one, qualified_words(one)) for one in data.qualified],
        others=[(tool, f"as stated before, {tool.resolution:g} {tool.unit}") for tool in data.others],
        found=[_found(one, units[one.quantity]) for one in data.found if one.quantity in units],
        plans=[(one, plan_words(one)) for one in data.plans],
    )
    return page("Plan a test", body, here="plan", script="plan.js")


def _quantity(one: QuantityToPlan) -> dict[str, object]:
    planned = one.planned
    low, high = planned.limits
    middle = low is not None and high is not None
    return {
        "name": planned.name, "words": planned.words, "unit": planned.unit, "places": len(planned.axes),
        "step": "" if one.step is None else f"{one.step:g}", "middle": "yes" if middle else "no",
    }  # fmt: skip


def _found(one: AsFound, unit: str) -> dict[str, object]:
    mean, sd, form = f"{one.mean:.6g}", f"{one.sd:.2g}", f"{one.form_sd:.2g}"
    words = f"mean {quantity_words(one.quantity)} {with_unit(mean, unit)}, SD between balls {with_unit(sd, unit)}"
    if one.form_sd:
        words += f", between places {with_unit(form, unit)}"
    invented = "; invented data" if one.invented else ""
    said = f"{one.make} in “{one.title}”: {words} (n = {plural(one.balls, 'ball')}{invented})"
    return {"quantity": one.quantity, "mean": mean, "sd": sd, "form": form, "words": said}
