"""What is known of each ball from what was noted at the bench: conditioning, impacts, temperature, pressure.

Impacts and the opening of its can belong to the ball: other tests that had it before the readings of this one count.
Conditioning, pressure and temperature belong to the test.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from ballbench.records.ball_test import BallTest
from ballbench.records.bench_state import KeptReading
from ballbench.store import Tx
from ballbench.store.ball_history import Earlier, earlier_of
from ballbench.store.ball_tests import balls_of, written_of
from ballbench.store.bench import marks_of
from ballbench.store.moments import read_moment
from ballbench.store.readings import Taken, spoiled_balls

__all__ = ["DROPS", "NotedFacts", "facts_of", "noted_facts", "read_moment"]

DROPS = ("rebound", "bounce_restitution")
"""Quantities whose every reading, and every spoiled attempt, is an impact."""


@dataclass(frozen=True, slots=True)
class NotedFacts:
    """What was noted of one ball; None: nothing was.

    Parameters
    ----------
    impacts : int or None
        Noted ones and drops, those of earlier tests among them; None: the ball came with a file, and nothing was said
        of its impacts.
    counted, counted_here : int
        Impacts that are known of, whatever else there was: in all tests up to this one's readings, and in this test.
    conditioning_since : str or None
        When it was laid out, ISO 8601.
    conditioned_h : float or None
        Hours from then until it was taken up, until its first reading, or until the test was finished, or until now.
    opened : str or None
        When its can was opened, ISO 8601, in this test or an earlier one.
    pressure_kpa, temperature_c : float or None
        The last that was noted.
    """

    impacts: int | None = 0
    counted: int = 0
    counted_here: int = 0
    conditioning_since: str | None = None
    conditioned_h: float | None = None
    opened: str | None = None
    pressure_kpa: float | None = None
    temperature_c: float | None = None


def facts_of(
    tx: Tx, test: BallTest, readings: Sequence[KeptReading | Taken], ball: int | None = None
) -> dict[int, NotedFacts]:
    """Give what is known of each ball of a test, by its number in the notebook.

    Parameters
    ----------
    readings : sequence of KeptReading or Taken
        Of the test, or of the ball, oldest first.
    ball : int or None
        The only one that is asked about; None: all.
    """
    balls = [row.id for row in balls_of(tx, test.id) if ball in {None, row.id}]
    spoiled, from_new = spoiled_balls(tx, test.id), test.kind != "taken in"
    finished, earlier = written_of(tx, test.id).finished, earlier_of(tx, test.id, DROPS, ball)
    marks = marks_of(tx, test.id)
    return noted_facts(balls, marks, readings, spoiled, earlier, known_from_new=from_new, finished=finished)


def noted_facts(
    balls: Iterable[int],
    marks: Sequence[Any],
    readings: Sequence[KeptReading | Taken],
    spoiled: Iterable[tuple[int, str]],
    earlier: Mapping[int, Earlier],
    *,
    known_from_new: bool,
    finished: str | None = None,
) -> dict[int, NotedFacts]:
    """Give what is known of each ball.

    Parameters
    ----------
    balls : iterable of int
        Their numbers.
    marks : sequence of rows of `mark`
        Oldest first; one without a ball holds for all.
    readings : sequence of KeptReading or Taken
        Oldest first.
    spoiled : iterable of (int, str)
        Ball and quantity of each spoiled attempt.
    earlier : mapping of int to Earlier
        What balls had in other tests before, by their numbers; those that were in none are left out.
    known_from_new : bool
        True: what is noted here, and in the earlier tests, is all that happened to the balls since their box was
        opened for the first of them.
    finished : str or None
        When the test was finished; None: it goes on.
    """
    hits = Counter(one.ball for one in readings if one.quantity in DROPS and one.ball is not None)
    hits.update(ball for ball, quantity in spoiled if quantity in DROPS)
    first: dict[int, str] = {}
    for one in readings:
        if one.ball is not None:
            first.setdefault(one.ball, one.at)
    return {
        ball: _of_one(
            ball, marks, hits[ball] if known_from_new else None, first.get(ball, finished),
            earlier.get(ball, Earlier()),
        )
        for ball in balls
    }  # fmt: skip


def _of_one(ball: int, marks: Sequence[Any], hits: int | None, taken_up: str | None, earlier: Earlier) -> NotedFacts:
    own = [row for row in marks if row.ball_id in {None, ball}]
    last = {row.kind: row for row in own}
    begun, ended = last.get("conditioning begun"), last.get("conditioning ended")
    until = ended.at if begun is not None and ended is not None and ended.id > begun.id else taken_up
    noted = [round(row.value) for row in own if row.kind == "impact"]
    here = (hits or 0) + sum(noted)
    unknown = (hits is None and not noted) or not earlier.counted
    return NotedFacts(
        impacts=None if unknown else here + earlier.impacts,
        counted=here + earlier.impacts,
        counted_here=here,
        conditioning_since=None if begun is None else begun.at,
        conditioned_h=last["conditioned"].value if "conditioned" in last else _since(begun, until),
        opened=last["opened"].at if "opened" in last else earlier.opened,
        pressure_kpa=last["pressure"].value if "pressure" in last else None,
        temperature_c=last["ball temperature"].value if "ball temperature" in last else None,
    )


def _since(begun: Any, until: str | None) -> float | None:
    """Give the hours from a mark to a moment, or to now.

    None where there is no mark; 0 where the moment comes first, as clocks of two devices may say.
    """
    if begun is None:
        return None
    start, end = read_moment(begun.at), read_moment(until or "") or datetime.now(UTC)
    return None if start is None else max((end - start).total_seconds() / 3600.0, 0.0)
