"""Which ball is this? A mass read again is held against the masses of the tray."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ballbench.errors import BadRequest, Fault
from ballbench.records import default_instrument
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.bench_state import KeptReading
from ballbench.records.written_units import exact_factor
from ballbench.statistics.which_ball import told, which_ball
from ballbench.store import Notebook
from ballbench.store.ball_tests import BallRow, ball_test_of, balls_of, instrument_of
from ballbench.store.readings import readings_of
from ballbench.workflows.typed_reading import typed_for

__all__ = ["Candidate", "WhichBall", "which_ball_is_this"]

_SHOWN = 5
_LEAST = 0.01


@dataclass(frozen=True, slots=True)
class Candidate:
    """A ball that it may be.

    Parameters
    ----------
    ball : int
        In the notebook.
    number : str
        As written on it.
    chance : float
        0 to 1, every ball of the tray that was weighed being as likely beforehand.
    mass : float or None
        Mean of its readings, g; None while a blind test is under way.
    """

    ball: int
    number: str
    chance: float
    mass: float | None


@dataclass(frozen=True, slots=True)
class WhichBall:
    """Which ball it is, the likeliest first, and what can be said in a sentence."""

    candidates: tuple[Candidate, ...]
    sentence: str


def which_ball_is_this(notebook: Notebook, test_id: int, text: str) -> WhichBall:
    """Tell a ball by its mass.

    Parameters
    ----------
    text : str
        What the scale shows, as it would be typed.

    Raises
    ------
    BadInput
        No such test, no ball of it was weighed, or the text is no mass.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        quantity = next((one for one in test.quantities if one.name == "mass"), None)
        weighed = _weighed(readings_of(tx, test_id))
        if quantity is None or not weighed:
            raise BadRequest(Fault("mass", "no ball that was weighed", "a test with masses", "weigh the balls first"))
        tool = instrument_of(tx, test_id, quantity.instrument, quantity.name)
        typed = typed_for(quantity, text, "" if tool is None else tool.unit)
        balls = [row for row in balls_of(tx, test_id) if row.id in weighed]
        sd = _sd(tool, quantity)
    means = np.array([np.mean(weighed[row.id]) for row in balls])
    counts = np.array([len(weighed[row.id]) for row in balls])
    chances = which_ball(typed.value or 0.0, means, counts, sd)
    hidden = test.blind and test.stage != "finished"
    least = min(_LEAST, float(np.max(chances)))  # of more than a hundred that are alike, none has a chance of 1 %
    order = [int(i) for i in np.argsort(-chances, kind="stable")[:_SHOWN] if chances[i] >= least]
    candidates = tuple(
        Candidate(balls[i].id, balls[i].number, float(chances[i]), None if hidden else float(means[i])) for i in order
    )
    off = float(np.min(np.abs(typed.value - means) / (sd * np.sqrt(1.0 + 1.0 / counts)))) if typed.value else np.inf
    return WhichBall(candidates, _sentence(candidates, told(chances), balls, off))


def _weighed(readings: Sequence[KeptReading]) -> dict[int, list[float]]:
    """Give the masses that stand, ball by ball."""
    found: dict[int, list[float]] = {}
    for one in readings:
        if one.quantity == "mass" and one.ball is not None and one.stands and one.holds is not None:
            found.setdefault(one.ball, []).append(one.holds)
    return found


def _sd(tool: Any, quantity: PlannedQuantity) -> float:
    """Give the scale's repeatability, g; what is usual for its display where it is not known."""
    if tool is None:
        return default_instrument("mass", quantity.unit, 10.0**-quantity.decimals).sd
    scale = exact_factor(tool.unit, quantity.unit)
    return tool.sd * scale if tool.sd else default_instrument("mass", quantity.unit, tool.resolution * scale).sd


_FAR = 4.0
"""Standard deviations from every ball of the tray beyond which it is none of them: by chance one in 16 000 (normal
distribution)."""


def _sentence(candidates: Sequence[Candidate], one: int | None, balls: Sequence[BallRow], off: float) -> str:
    """Say which ball it is, or that the masses cannot tell."""
    if off > _FAR:
        return "None of the balls that were weighed: their masses are too far from this one."
    if one is not None:
        return f"Ball {balls[one].number}: no other that was weighed fits as well."
    names = ", ".join(candidate.number for candidate in candidates)
    return f"The scale cannot tell: it may be {names}. Read another quantity, or look for the mark."
