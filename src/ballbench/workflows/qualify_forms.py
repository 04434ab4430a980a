"""What the pages of instruments offer: those that were qualified, those that were not, and the form of a study."""

from __future__ import annotations

from dataclasses import replace

from ballbench.presentation.screens.instruments_page import InstrumentsPage
from ballbench.presentation.screens.repeat_study import RepeatStudyPage
from ballbench.presentation.screens.set_up import QuantityChoice
from ballbench.records import Instrument
from ballbench.specs import catalogue_text, parse_requirement
from ballbench.store import Notebook
from ballbench.workflows.boxes import boxes
from ballbench.workflows.forms import diameter_first, instruments, quantity_choices
from ballbench.workflows.keep import studies
from ballbench.workflows.qualified import qualified_instruments
from ballbench.workflows.requirements import shown

__all__ = ["instruments_page", "not_qualified", "repeat_study_page"]


def not_qualified(notebook: Notebook) -> tuple[Instrument, ...]:
    """Give the instruments of earlier tests that were never qualified for their quantity."""
    known = {(one.instrument.name, one.instrument.quantity) for one in qualified_instruments(notebook)}
    return tuple(tool for tool in instruments(notebook) if (tool.name, tool.quantity) not in known)


def instruments_page(notebook: Notebook) -> InstrumentsPage:
    """Give the instruments that the notebook knows, and the repeat studies."""
    return InstrumentsPage(qualified_instruments(notebook), not_qualified(notebook), studies(notebook))


def repeat_study_page(notebook: Notebook, identity: str) -> RepeatStudyPage:
    """Give the form of a repeat study for one requirement of the catalogue.

    Raises
    ------
    BadRequest
        There is no such requirement.
    """
    requirement = parse_requirement(catalogue_text(identity), f"{identity}.toml")
    choices = [one for one in diameter_first(quantity_choices(requirement)) if not one.planned.yes_no]
    return RepeatStudyPage(
        shown(requirement), tuple(map(_at_one_place, choices)), qualified_instruments(notebook),
        not_qualified(notebook), boxes(notebook),
    )  # fmt: skip


def _at_one_place(choice: QuantityChoice) -> QuantityChoice:
    """Read each ball at its first place only: a study of an instrument needs the same place again, not many."""
    return replace(choice, planned=replace(choice.planned, axes=choice.planned.axes[:1]))
