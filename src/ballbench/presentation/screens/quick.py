"""Quick check: one ball in dispute, one quantity, two minutes."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.conditions import ConditionAsked
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import edition_words

__all__ = ["QuickPage", "QuickQuantity", "QuickRequirement", "quick_html"]


@dataclass(frozen=True, slots=True)
class QuickQuantity:
    """A quantity that a single ball can be held against.

    Parameters
    ----------
    name, words : str
        Canonical name, and the name in a sentence.
    units : tuple of str
        Units that a display may show; the first is offered.
    axes : tuple of str
        Places on the ball, asked for in turn; empty: not asked for.
    held : tuple of str
        The clauses on a single ball, in words, with their limits.
    instrument : str
        What it is usually read with, such as ``"caliper"``; empty: nothing is usual.
    conditions : tuple of ConditionAsked
        Conditions that these clauses depend on.
    """

    name: str
    words: str
    units: tuple[str, ...]
    axes: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    instrument: str = ""
    conditions: tuple[ConditionAsked, ...] = ()


@dataclass(frozen=True, slots=True)
class QuickRequirement:
    """A requirement with a clause on a single ball.

    Parameters
    ----------
    id, sport, title, edition : str
        As in the catalogue.
    sure : str
        How sure its limits are, in words.
    quantities : tuple of QuickQuantity
        Never empty.
    """

    id: str
    sport: str
    title: str
    edition: str
    sure: str
    quantities: tuple[QuickQuantity, ...]


@dataclass(frozen=True, slots=True)
class QuickPage:
    """The form of a quick check. Filled by ``workflows/quick_check.py``.

    Parameters
    ----------
    requirements : tuple of QuickRequirement
        By sport; those without a clause on a single ball are left out.
    requirement : str
        Id of the one to offer: that of the last quick check, or empty.
    """

    requirements: tuple[QuickRequirement, ...]
    requirement: str = ""


def quick_html(data: QuickPage) -> str:
    """Write the form of a quick check."""
    held = [
        {
            "requirement": one,
            "edition": edition_words(one.edition, start=True),
            "quantity": quantity,
            "units": "|".join(quantity.units),
            "axes": "|".join(axis for axis in quantity.axes if axis),
        }
        for one in data.requirements
        for quantity in one.quantities
    ]
    return page("Quick check", write("quick.html.j2", data=data, held=held), here="quick", script="quick.js")
