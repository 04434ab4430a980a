"""A control ball: one ball of the test that is read again and again, so that a drift shows on a ball too.

A reference piece checks the instrument; the control ball goes through the same hands and jaws as all balls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.test_order import Step, step_of

__all__ = ["CONTROL", "ControlBall", "is_controlled", "with_control"]

CONTROL = "control ball"
"""Why a place of the control ball is read again."""


@dataclass(frozen=True, slots=True)
class ControlBall:
    """Which ball is read again, counted from 0, and after how many balls each."""

    ball: int
    every: int


def is_controlled(quantity: PlannedQuantity) -> bool:
    """Say whether a control ball is read for a quantity: only a number, and only what leaves the ball as it was."""
    return not quantity.yes_no and step_of(quantity.name) <= Step.ROLLED


def with_control(in_hand: Sequence[tuple[int, int]], control: ControlBall, repeats: int) -> list[tuple[int, int]]:
    """Put the control ball into the order of one quantity: at its start, after every so many balls, at its end.

    Parameters
    ----------
    in_hand : sequence of (int, int)
        Ball and repeat, in the order in which balls are taken up.
    control : ControlBall
        Which, and how often.
    repeats : int
        Planned readings a place; those of the control ball count on from there.

    Returns
    -------
    list of (int, int)
        `in_hand` with the control ball between. It is left out beside its own turn, which does the same.
    """
    order: list[tuple[int, int]] = []
    again = repeats
    for position in range(len(in_hand) + 1):
        beside = {one[0] for one in in_hand[max(position - 1, 0) : position + 1]}
        due = position % control.every == 0 or position == len(in_hand)
        if due and control.ball not in beside:
            again += 1
            order.append((control.ball, again))
        order += in_hand[position : position + 1]
    return order
