"""How far a test has come, counted one way everywhere: readings of balls, and apart from them instrument checks."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.store import Tx
from ballbench.store.library import count_of, read_by_ball

__all__ = ["HowFar", "how_far"]


@dataclass(frozen=True, slots=True)
class HowFar:
    """Places of a test, and those that hold a reading which stands.

    Parameters
    ----------
    read, planned : int
        Places of balls.
    checks_read, checks_planned : int
        Places of reference pieces.
    """

    read: int
    planned: int
    checks_read: int
    checks_planned: int


def how_far(tx: Tx, test_id: int) -> HowFar:
    """Count the places of a test."""
    count, balls = count_of(tx, test_id), read_by_ball(tx, test_id).values()
    read, planned = (sum(one[i] for one in balls) for i in (0, 1))
    return HowFar(read, planned, count.read - read, count.planned - planned)
