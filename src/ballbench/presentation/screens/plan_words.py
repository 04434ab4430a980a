"""A plan in words, and what became otherwise in the test that follows it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from ballbench.findings.plan_words import design_words, time_words
from ballbench.findings.planning import Design
from ballbench.presentation.numbers import percent, with_unit
from ballbench.presentation.screens.moments import moment_words
from ballbench.presentation.wording import plural, quantity_words

__all__ = ["FollowedPlan", "Otherwise", "PlanLine", "differences", "plan_words", "planned_words"]

What = Literal[
    "requirement", "requirement text", "quantity", "balls", "places", "readings a place", "rule", "risk", "instrument",
    "step", "noise", "degrees of freedom", "offset", "offset uncertainty", "scale uncertainty", "zeroed", "display",
    "not taken", "left out",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A plan in a list.

    Parameters
    ----------
    id : int
        In the notebook.
    title, requirement, quantity : str
        What it is for: the requirement's title and id, and what is read.
    design : Design
        The one that the plan goes on with.
    sentence : str
        Its answer.
    by, at : str
        Who made it, and when (ISO 8601 with zone).
    tests : tuple of (int, str)
        Number and title of the tests that follow it.
    invented : bool
        Its instrument was qualified on invented data.
    """

    id: int
    title: str
    requirement: str
    quantity: str
    design: Design
    sentence: str
    by: str
    at: str
    tests: tuple[tuple[int, str], ...] = ()
    invented: bool = False


@dataclass(frozen=True, slots=True)
class Otherwise:
    """Something that is otherwise in the test than it was planned: as text, or as a number with its unit."""

    what: What
    planned: str | float = ""
    now: str | float = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class FollowedPlan:
    """The plan that a test follows. Filled by ``workflows/plan_followed.py``.

    Parameters
    ----------
    plan : PlanLine
        As it was made.
    otherwise : tuple of Otherwise
        What became otherwise in the test.
    """

    plan: PlanLine
    otherwise: tuple[Otherwise, ...] = ()


def plan_words(plan: PlanLine) -> str:
    """Write ``"12 balls, 3 places each, read once; about 9 min"``."""
    return f"{design_words(plan.design)}; {time_words(plan.design.minutes)}"


def planned_words(plan: PlanLine) -> str:
    """Write ``"Planned on 27 November 2026, 23:10, by E: 12 balls, 3 places each, read once; about 9 min."``."""
    return f"Planned on {moment_words(plan.at)}, by {plan.by}: {plan_words(plan)}."


def differences(followed: FollowedPlan) -> tuple[str, ...]:
    """Say what became otherwise, one sentence each."""
    return tuple(sentence for one in followed.otherwise for sentence in _said(one, followed.plan))


def _said(one: Otherwise, plan: PlanLine) -> Iterator[str]:
    planned, now = _words(one.planned, one), _words(one.now, one)
    words = quantity_words(plan.quantity)
    sentences: dict[What, str] = {
        "requirement": f"The balls are held against {now}; planned was {planned}.",
        "requirement text": "The text of the requirement has changed since the plan was made.",
        "quantity": f"The {words} is not read, though the plan is about it.",
        "balls": f"{_capital(now)} of a make at least; planned were {planned}.",
        "places": f"{_capital(now)} on a ball; planned were {planned}.",
        "readings a place": f"{_capital(now)} of each place; planned were {planned}.",
        "rule": f"The decision rule is {now}; planned was {planned}.",
        "risk": f"The risk of a false “met” is {now}; planned was {planned}.",
        "instrument": f"The {words} is read with the {now}; planned was the {planned}.",
        "step": f"The display step is {now}; planned was {planned}.",
        "noise": f"The SD of repeated readings is {now}; planned was {planned}.",
        "degrees of freedom": f"The degrees of freedom behind that SD are {now}; planned were {planned}.",
        "offset": f"The offset is {now}; planned was {planned}.",
        "offset uncertainty": f"The standard uncertainty of the offset is {now}; planned was {planned}.",
        "scale uncertainty": f"The relative uncertainty of the scale is {now}; planned was {planned}.",
        "zeroed": f"The instrument is zeroed {now}; planned was {planned}.",
        "display": f"The display {now}; planned was that it {planned}.",
        "not taken": f"{_capital(now)} of the plan {'was' if one.now == 1 else 'were'} not taken.",
        "left out": f"{_capital(now)} {'was' if one.now == 1 else 'were'} left out after it was taken.",
    }
    yield sentences[one.what]


_COUNTED = {"balls": "ball", "places": "place", "readings a place": "reading", "not taken": "reading",
            "left out": "reading"}  # fmt: skip


def _words(value: str | float, one: Otherwise) -> str:
    if isinstance(value, str):
        return value
    if one.what in _COUNTED:
        return plural(int(value), _COUNTED[one.what])
    if one.what == "risk":
        return percent(value)
    return with_unit(f"{value:.4g}".replace("-", "−"), one.unit) if one.unit else f"{value:.4g}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
