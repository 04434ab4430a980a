"""A repeat study: a test whose balls are read again and again, round by round, each round by one person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from ballbench.errors import Fault
from ballbench.specs import Requirement
from ballbench.workflows.what_to_read import yes_no_quantities

if TYPE_CHECKING:
    from ballbench.workflows.set_up import SetUp

__all__ = ["MOST_PEOPLE", "REPEAT_STUDY", "Purpose", "is_study", "person_of", "study_faults", "with_rounds"]

Purpose = Literal["", "repeat study"]
REPEAT_STUDY: Purpose = "repeat study"
MOST_PEOPLE = 6
"""More people than take turns at one instrument in one study (own choice)."""


def is_study(request: SetUp) -> bool:
    """Say whether a set-up asks for a repeat study."""
    return request.purpose == REPEAT_STUDY


def with_rounds(request: SetUp) -> SetUp:
    """Give each place of a repeat study one round a person and reading: `repeats` is what each person reads."""
    if not is_study(request):
        return request
    times = max(len(request.people), 1)
    quantities = tuple(replace(plan, repeats=plan.repeats * times) for plan in request.quantities)
    return replace(request, quantities=quantities)


def person_of(people: Sequence[str], repeat: int) -> str:
    """Say who reads a round: people take turns, so that what drifts falls on all alike; empty: nobody is named."""
    return people[(repeat - 1) % len(people)] if people else ""


def study_faults(request: SetUp, requirement: Requirement) -> Iterator[Fault]:
    """Say what is wrong with a set-up as a repeat study, or with people where it is none."""
    if request.purpose not in {"", REPEAT_STUDY}:
        yield Fault("purpose", request.purpose[:40], f"{REPEAT_STUDY}, or nothing", "leave it out to judge balls")
    if not is_study(request):
        if request.people:
            found, todo = ", ".join(request.people)[:80], "leave them out; at the bench anybody reads"
            yield Fault("people", found, "nobody, but in a repeat study", todo)
        return
    if not 1 <= len(request.people) <= MOST_PEOPLE:
        found = str(len(request.people)) if request.people else "nobody"
        yield Fault("people", found, f"1 to {MOST_PEOPLE} people", "say who reads: names or initials")
    if len({name.casefold() for name in request.people}) < len(request.people):
        yield Fault("people", "a name twice", "people of different names", "name them apart")
    if len(request.quantities) > 1:
        found = f"{len(request.quantities)} quantities"
        yield Fault("quantities", found, "one: an instrument is studied for one quantity", "take the others out")
    for plan in request.quantities:
        if plan.name in yes_no_quantities(requirement):
            yield Fault("quantities 1, name", plan.name, "a quantity that is read as a number", "choose another")
    if request.control_every:
        yield Fault("control_every", str(request.control_every), "0: every ball is read again anyway", "leave it out")
