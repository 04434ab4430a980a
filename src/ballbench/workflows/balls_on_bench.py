"""Balls as they lie on the bench, without reading what was measured of them."""

from __future__ import annotations

from ballbench.records.ball_test import Ball, BallTest
from ballbench.store import Tx
from ballbench.store.ball_tests import balls_of
from ballbench.store.readings import taken_of
from ballbench.workflows.ball_facts import NotedFacts, facts_of
from ballbench.workflows.blind import is_hidden

__all__ = ["balls_on_bench"]


def balls_on_bench(tx: Tx, test: BallTest, ball: int | None = None) -> tuple[Ball, ...]:
    """Give the balls of a test by number, or one of them; makes hidden while a blind test goes on.

    So are the impacts of earlier tests then: a box that was dropped before would be known by them.

    Parameters
    ----------
    ball : int or None
        The only one that is asked about; None: all.
    """
    facts = facts_of(tx, test, taken_of(tx, test.id, ball), ball)
    blind = is_hidden(test)
    balls = [
        Ball(
            id=row.id, number=row.number, label=row.number if blind else row.label, make=None if blind else row.make,
            box=None if blind else row.box,
            impacts=facts[row.id].counted_here if blind else _impacts(facts[row.id]),
            conditioning_since=facts[row.id].conditioning_since, conditioned_h=facts[row.id].conditioned_h,
        )
        for row in balls_of(tx, test.id)
        if row.id in facts
    ]  # fmt: skip
    return tuple(sorted(balls, key=lambda one: one.number))


def _impacts(own: NotedFacts) -> int | None:
    return None if own.impacts is None and not own.counted else own.counted
