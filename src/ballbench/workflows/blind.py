"""What a blind test keeps from everybody until it is finished."""

from __future__ import annotations

from dataclasses import replace

from ballbench.errors import Conflict, Fault
from ballbench.presentation.screens.progress import is_hidden
from ballbench.records.ball_test import BallTest

__all__ = ["as_shown", "is_hidden", "refuse_while_hidden"]


def refuse_while_hidden(test: BallTest) -> None:
    """Refuse what would tell makes, limits or values of a blind test.

    Raises
    ------
    Conflict
        It is blind and not finished.
    """
    if is_hidden(test):
        found = "a blind test that is under way"
        raise Conflict(Fault("test", found, "a finished test, or one that is not blind", "finish it first"))


def as_shown(test: BallTest) -> BallTest:
    """Give a test as everybody may see it: blind and not finished, without boxes, limits and the shuffle's seed."""
    if not is_hidden(test):
        return test
    bare = tuple(replace(one, limits=(None, None)) for one in test.quantities)
    return replace(test, boxes=(), quantities=bare, seed=0)
