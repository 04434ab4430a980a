"""In which order balls are tested: what leaves them as they were first, what can harm them last; and what to beware of.

Common practice of the trade, no source; a requirement's own order comes first, and so do local rules.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntEnum

__all__ = ["Step", "caution_for", "order_of", "step_of"]


class Step(IntEnum):
    """The steps of a test, in their order.

    ``TOUCHED``: the ball is only laid on or between something; ``ROLLED``: it rolls; ``DECLARED``: a declared quantity
    whose name says nothing, before the drops because it may be an inspection that they would spoil; ``DROPPED``;
    ``LOADED``: pressed, with an indenter last; ``WORN``: read again after impacts, water or days; ``TORN``: the ball
    is lost.
    """

    TOUCHED = 1
    ROLLED = 2
    DECLARED = 3
    DROPPED = 4
    LOADED = 5
    WORN = 6
    TORN = 7


_KNOWN = {
    "diameter": Step.TOUCHED,
    "circumference": Step.TOUCHED,
    "mass": Step.TOUCHED,
    "outline_form": Step.TOUCHED,
    "roundness": Step.TOUCHED,
    "veer": Step.ROLLED,
    "rebound": Step.DROPPED,
    "bounce_restitution": Step.DROPPED,
    "deformation": Step.LOADED,
    "hardness": Step.LOADED,
}
_SAID_BY_WORD = {
    "roll": Step.ROLLED,
    "rolling": Step.ROLLED,
    "rebound": Step.DROPPED,
    "bounce": Step.DROPPED,
    "drop": Step.DROPPED,
    "restitution": Step.DROPPED,
    "resilience": Step.DROPPED,
    "deformation": Step.LOADED,
    "compression": Step.LOADED,
    "stiffness": Step.LOADED,
    "hardness": Step.LOADED,
    "shore": Step.LOADED,
    "after": Step.WORN,
    "change": Step.WORN,
    "loss": Step.WORN,
    "uptake": Step.WORN,
    "wear": Step.WORN,
    "strength": Step.TORN,
}
"""Words of declared names, such as ``resilience_23`` or ``roundness_after``; the latest step that one of them names."""

_INDENTED = frozenset(("hardness", "shore"))  # an indenter marks one spot for good
_DROPS = "Drop from a fixed stand, never from a chair or ladder; wear eye protection with hard balls."
_LOADS = "Weights and presses: secure and guard them, eyes and fingers away, eye protection on; test hardness last."
_INFLATED = "Pressurised balls: no heat, no over-inflation, no puncture near the face."


def step_of(quantity: str) -> Step:
    """Give the step of the test at which a quantity is read.

    Parameters
    ----------
    quantity : str
        Canonical name, or one that a requirement declares.

    Returns
    -------
    Step
        Common practice, no source.
    """
    if quantity in _KNOWN:
        return _KNOWN[quantity]
    return max((_SAID_BY_WORD[word] for word in _words(quantity) if word in _SAID_BY_WORD), default=Step.DECLARED)


def order_of(quantities: Iterable[str]) -> tuple[str, ...]:
    """Put quantities in the order in which they are read.

    Parameters
    ----------
    quantities : iterable of str
        Canonical or declared names.

    Returns
    -------
    tuple of str
        By step, an indenter after other loads; otherwise in the order in which they were given.
    """
    return tuple(sorted(quantities, key=lambda name: (step_of(name), _indents(name))))


def caution_for(quantity: str) -> str:
    """Give what to beware of while a quantity is read; empty where there is nothing special."""
    if "pressure" in _words(quantity):
        return _INFLATED
    return {Step.DROPPED: _DROPS, Step.LOADED: _LOADS, Step.TORN: _LOADS}.get(step_of(quantity), "")


def _words(quantity: str) -> list[str]:
    """Take a name apart."""
    return quantity.casefold().split("_")


def _indents(quantity: str) -> bool:
    """Say whether a quantity is read with an indenter."""
    return not _INDENTED.isdisjoint(_words(quantity))
