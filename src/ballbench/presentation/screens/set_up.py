"""Set up a test: choose a requirement, then say which balls there are and what they are read with."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Literal

from ballbench.findings.settling import MINUTES_A_READING
from ballbench.presentation.requirement_view import RequirementPage
from ballbench.presentation.screens.box_words import bought_words, box_name
from ballbench.presentation.screens.boxes_page import BoxLine, tests_words
from ballbench.presentation.screens.conditions import ConditionAsked
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.plan_words import PlanLine, planned_words
from ballbench.presentation.screens.qualified import QualifiedInstrument, qualified_words
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import edition_words, plural, seen_words
from ballbench.records.ball_test import PlannedQuantity, ReferencePiece
from ballbench.records.bench import Instrument

__all__ = ["ChoosePage", "PlanToFollow", "QuantityChoice", "SetUpPage", "choose_html", "set_up_html"]

_ZEROED = (("each reading", "before each reading"), ("each sitting", "once a sitting"))
"""`Instrument.zeroed`, and its words; the first is offered, as in a bench file that says nothing."""

_AIMS = {
    "set up": ("Set up a test", "/tests/new", "set-up"),
    "plan": ("Plan a test", "/plan", "plan"),
    "qualify": ("Begin a repeat study", "/qualify/new", "instruments"),
}


@dataclass(frozen=True, slots=True)
class ChoosePage:
    """The catalogue to choose a requirement from. Filled by ``workflows/requirements.py``.

    Parameters
    ----------
    requirements : tuple of RequirementPage
        By sport, as `ballbench.workflows.requirements.overview` gives them.
    aim : {"set up", "plan", "qualify"}
        What it is chosen for.
    """

    requirements: tuple[RequirementPage, ...]
    aim: Literal["set up", "plan", "qualify"] = "set up"


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
class PlanToFollow:
    """What a plan puts into the form. Filled by ``workflows/plan_forms.py``.

    Parameters
    ----------
    line : PlanLine
        The plan.
    axes : tuple of str
        Names of so many places as it has.
    rule, risk : str, float
        By which it was decided.
    instrument : Instrument or None
        With which, numbers in the base unit; None: another version of ballbench made the plan.
    """

    line: PlanLine
    axes: tuple[str, ...]
    rule: str
    risk: float
    instrument: Instrument | None


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
    boxes : tuple of BoxLine
        Boxes of the notebook that may be tested again, the newest first.
    qualified : tuple of QualifiedInstrument
        Kept qualifications, the newest first: they stand before the instruments of earlier tests.
    pieces : tuple of ReferencePiece
        Those that the kept qualifications were found with, each once: they are offered again.
    follow : PlanToFollow or None
        A plan whose numbers are filled in; None: the test follows none.
    """

    requirement: RequirementPage
    quantities: tuple[QuantityChoice, ...]
    instruments: tuple[Instrument, ...]
    seed: int
    conditions: tuple[ConditionAsked, ...] = ()
    boxes: tuple[BoxLine, ...] = ()
    qualified: tuple[QualifiedInstrument, ...] = ()
    pieces: tuple[ReferencePiece, ...] = ()
    follow: PlanToFollow | None = None


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
    title, address, here = _AIMS[data.aim]
    body = write("choose.html.j2", choices=choices, title=title, address=address)
    return page(title, body, here=here, script="choosing.js")


def set_up_html(data: SetUpPage) -> str:
    """Write the form in which a test against one requirement is set up."""
    body = write(
        "set_up.html.j2",
        data=data,
        requirement=data.requirement,
        edition=edition_words(data.requirement.edition, start=True),
        sure=_how_sure(data.requirement),
        clauses=[(clause, seen_words(clause.seen)) for clause in data.requirement.clauses],
        follow=data.follow,
        made=None if data.follow is None else planned_words(data.follow.line),
        rule="guarded" if data.follow is None else data.follow.rule,
        risk="5" if data.follow is None else f"{100.0 * data.follow.risk:g}",
        quantities=[_filled(data, choice) for choice in data.quantities],
        seconds=round(60 * MINUTES_A_READING),
        zeroed=_ZEROED,
        boxes=[(line, box_name(line.box), f"{plural(line.balls, 'ball')}, {bought_words(line.box)}", tests_words(line))
               for line in data.boxes],
    )  # fmt: skip
    return page("Set up a test", body, here="set-up", script="set_up.js")


def _how_sure(requirement: RequirementPage) -> str:
    counts = Counter(clause.seen for clause in requirement.clauses)
    if len(counts) == 1:
        return f"every limit: {seen_words(next(iter(counts)))}"
    return "; ".join(f"{plural(count, 'clause')}: {seen_words(seen)}" for seen, count in counts.most_common())


def _filled(data: SetUpPage, choice: QuantityChoice) -> tuple[QuantityChoice, str, list[_Known]]:
    """Give a quantity with its places as text, and the instruments that may read it; the first is chosen.

    Those of the plan come first, then kept qualifications; only where there is neither, none is chosen by itself.
    """
    name, follow = choice.planned.name, data.follow
    known: list[_Known] = []
    if follow is not None:
        choice = replace(choice, chosen=follow.line.quantity == name)
    if follow is not None and follow.line.quantity == name:
        choice = replace(choice, planned=replace(choice.planned, axes=follow.axes, repeats=follow.line.design.repeats))
        if follow.instrument is not None:
            known.append(_Known(follow.instrument, "as planned", made=planned_words(follow.line), chosen=True))
    for one in data.qualified:
        if one.instrument.quantity == name:
            words = qualified_words(one)
            made = f"{words[:1].upper()}{words[1:]}. {one.sentence}"
            known.append(_Known(one.instrument, words, made, chosen=not known))
    others = [one for one in data.instruments if one.quantity == name and not one.assumed]
    known += [_Known(one, f"of an earlier test, {one.resolution} {one.unit}") for one in others]
    return choice, ", ".join(axis for axis in choice.planned.axes if axis), known


@dataclass(frozen=True, slots=True)
class _Known:
    """An instrument that may be chosen: in few words, and in a sentence; the chosen one is filled in by itself."""

    tool: Instrument
    words: str
    made: str = ""
    chosen: bool = False
