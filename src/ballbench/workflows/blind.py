"""What a blind test keeps from everybody until it is finished."""

from __future__ import annotations

from ballbench.errors import Conflict, Fault
from ballbench.presentation.screens.progress import is_hidden
from ballbench.records.ball_test import BallTest

__all__ = ["is_hidden", "refuse_while_hidden"]


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
