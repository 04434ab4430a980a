"""Set up a test: choose a requirement, then say which balls there are and what they are read with."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from ballbench.findings.settling import MINUTES_A_READING
from ballbench.presentation.requirement_view import RequirementPage
from ballbench.presentation.screens.conditions import ConditionAsked
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import edition_words, plural, seen_words
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.bench import Instrument

__all__ = ["ChoosePage", "QuantityChoice", "SetUpPage", "choose_html", "set_up_html"]


@dataclass(frozen=True, slots=True)
class ChoosePage:
    """The catalogue to choose a requirement from. Filled by ``workflows/requirements.py``.

    Parameters
    ----------
    requirements : tuple of RequirementPage
        By sport, as `ballbench.workflows.requirements.overview` gives them.
    """

    requirements: tuple[RequirementPage, ...]


@dataclass(frozen=True, slots=True)
class QuantityChoice:
    """A quantity of the requirement that may be read.

    Parameters
    ----------
    planned : PlannedQuantity
        As the requirement suggests it: axes, repeats, the usual instrument's name.
    units : tuple of str
        Units that a display may show; the first is offered.
    chosen : bool
        Whether it is ticked at first.
    """

    planned: PlannedQuantity
    units: tuple[str, ...] = ()
    chosen: bool = True


@dataclass(frozen=True, slots=True)
class SetUpPage:
    """The form for one requirement. Filled by ``workflows/set_up.py``.

    Parameters
    ----------
    requirement : RequirementPage
        The chosen one, with its clauses in words.
    quantities : tuple of QuantityChoice
        Every quantity that a clause names, in the order in which a test reads them.
    instruments : tuple of Instrument
        Those of earlier tests, to be used again; numbers in the base unit of their quantity.
    seed : int
        Offered for the shuffled order; a new random one each time.
    conditions : tuple of ConditionAsked
        Other conditions than the temperature that a clause depends on.
    """

    requirement: RequirementPage
    quantities: tuple[QuantityChoice, ...]
    instruments: tuple[Instrument, ...]
    seed: int
    conditions: tuple[ConditionAsked, ...] = ()


def choose_html(data: ChoosePage) -> str:
    """Write the page on which a requirement is chosen."""
    choices = [
        {
            "id": one.id,
            "sport": one.sport,
            "title": one.title,
            "edition": edition_words(one.edition, start=True),
            "clauses": plural(len(one.clauses), "clause"),
            "sure": _how_sure(one),
            "find": f"{one.sport} {one.title} {one.edition} {one.id} {one.source}".lower(),
        }
        for one in data.requirements
    ]
    body = write("choose.html.j2", choices=choices)
    return page("Set up a test", body, here="set-up", script="choosing.js")


def set_up_html(data: SetUpPage) -> str:
    """Write the form in which a test against one requirement is set up."""
    body = write(
        "set_up.html.j2",
        data=data,
        requirement=data.requirement,
        edition=edition_words(data.requirement.edition, start=True),
        sure=_how_sure(data.requirement),
        clauses=[(clause, seen_words(clause.seen)) for clause in data.requirement.clauses],
        quantities=[
            (choice, ", ".join(axis for axis in choice.planned.axes if axis), _known(data, choice))
            for choice in data.quantities
        ],
        seconds=round(60 * MINUTES_A_READING),
    )
    return page("Set up a test", body, here="set-up", script="set_up.js")


def _how_sure(requirement: RequirementPage) -> str:
    counts = Counter(clause.seen for clause in requirement.clauses)
    if len(counts) == 1:
        return f"every limit: {seen_words(next(iter(counts)))}"
    return "; ".join(f"{plural(count, 'clause')}: {seen_words(seen)}" for seen, count in counts.most_common())


def _known(data: SetUpPage, choice: QuantityChoice) -> list[Instrument]:
    return [one for one in data.instruments if one.quantity == choice.planned.name and not one.assumed]
