"""The order in which a test is read: quantity by quantity, balls shuffled anew each round, reference pieces between.

A ball stays in the hand for all its axes; a further repeat comes only when every ball has been in the hand once more,
so that the first value is not remembered. Each third of a round holds each make and box equally often.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ballbench.records.balanced_order import balanced_order
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.control_ball import ControlBall, is_controlled, with_control

__all__ = ["MOMENTS", "Turn", "numbers_for", "reading_order", "sheet_key"]

MOMENTS = ("start", "middle", "end")
"""When a reference piece is read, for each quantity that it checks."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One reading to take; `ball` counts the balls from 0, `reference` the pieces, one of them is None."""

    ball: int | None
    reference: int | None
    quantity: str
    axis: str
    repeat: int


def reading_order(
    quantities: Sequence[PlannedQuantity],
    balls: int,
    references: Mapping[str, Sequence[int]],
    rng: np.random.Generator,
    *,
    shuffled: bool = True,
    boxes: Sequence[tuple[str, str]] | None = None,
    control: ControlBall | None = None,
) -> tuple[Turn, ...]:
    """Give every reading of a test in its order.

    Parameters
    ----------
    quantities : sequence of PlannedQuantity
        In the order of their rank.
    balls : int
        How many.
    references : mapping of str to sequence of int
        Pieces that check the instrument of a quantity, by its name.
    rng : numpy.random.Generator
        Of the shuffle.
    shuffled : bool
        False: balls in their order.
    boxes : sequence of (str, str) or None
        Make and box of every ball, over which each round is balanced; None: they are all of one box.
    control : ControlBall or None
        A ball that is read again in between, where that leaves it as it was; its readings are repeats beyond those of
        the plan.
    """
    turns: list[Turn] = []
    for quantity in quantities:
        pieces = references.get(quantity.name, ())
        rounds = [_round(balls, boxes, rng) if shuffled else range(balls) for _ in range(quantity.repeats)]
        in_hand = [(int(ball), repeat) for repeat, order in enumerate(rounds, 1) for ball in order]
        if control is not None and is_controlled(quantity):
            in_hand = with_control(in_hand, control, quantity.repeats)
        half = (len(in_hand) + 1) // 2
        turns += _checks(quantity, pieces, 1)
        turns += _balls(quantity, in_hand[:half])
        turns += _checks(quantity, pieces, 2)
        turns += _balls(quantity, in_hand[half:])
        turns += _checks(quantity, pieces, 3)
    return tuple(turns)


def _round(balls: int, boxes: Sequence[tuple[str, str]] | None, rng: np.random.Generator) -> Iterable[int]:
    return rng.permutation(balls) if boxes is None else balanced_order(boxes, rng)


def _balls(quantity: PlannedQuantity, in_hand: Sequence[tuple[int, int]]) -> Iterator[Turn]:
    return (Turn(ball, None, quantity.name, axis, repeat) for ball, repeat in in_hand for axis in quantity.axes)


def _checks(quantity: PlannedQuantity, pieces: Sequence[int], moment: int) -> Iterator[Turn]:
    return (Turn(None, piece, quantity.name, MOMENTS[moment - 1], moment) for piece in pieces)


def sheet_key(turn: Turn, quantities: Sequence[PlannedQuantity]) -> tuple[int, int, int, int, int]:
    """Give what a sheet that goes ball by ball is sorted by: quantity, pieces around the balls, ball, axis, repeat."""
    names = [quantity.name for quantity in quantities]
    rank = names.index(turn.quantity)
    if turn.ball is None:
        return (rank, 0 if turn.repeat == 1 else 2, turn.repeat, turn.reference or 0, 0)
    return (rank, 1, turn.ball, quantities[rank].axes.index(turn.axis), turn.repeat)


def numbers_for(labels: Sequence[str], rng: np.random.Generator | None, *, blind: bool) -> tuple[str, ...]:
    """Give each ball the number that it carries at the bench.

    Parameters
    ----------
    labels : sequence of str
        The balls' names in their boxes, box after box.
    rng : numpy.random.Generator or None
        Of the shuffle; None: nothing is shuffled.
    blind : bool
        True: numbers run over all boxes in shuffled order, so that none tells its box.

    Returns
    -------
    tuple of str
        The labels themselves where they tell the balls apart and nothing is to be hidden.
    """
    if not blind and len(set(labels)) == len(labels):
        return tuple(labels)
    width = max(2, len(str(len(labels))))
    numbers = rng.permutation(len(labels)) if blind and rng is not None else np.arange(len(labels))
    return tuple(f"{int(number) + 1:0{width}d}" for number in numbers)
