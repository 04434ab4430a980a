"""The plausibility gate for one entry at the bench: it asks while the ball is still in the hand, and alters nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ballbench.quantities.kinds import Kind
from ballbench.records.fellows import ONE_SIZE, Fellows, fellows_of_one
from ballbench.records.mistyping import (
    AMONG_FELLOWS,
    Digits,
    Mistyped,
    Wording,
    ask_far,
    ask_mistyped,
    ask_outside_belief,
    unasked,
)

__all__ = ["LOOK_AGAIN", "SENT_TWICE", "Asked", "BenchFellows", "Written", "ask_about"]

LOOK_AGAIN = "far from this box, look again"
"""All that is said in a blind test: a number, or what is wrong with one, would steer the second reading."""

SENT_TWICE = "the same number again within a second: did the instrument send it twice?"

_AT_ONCE = 0.8  # s; nobody takes a ball out, puts another in and reads it in less (own choice)
_ROOM = 1.0  # widths of the required interval beyond it from which a reading is far (own choice)
_REACH = 9.0  # spreads to that distance: from the middle of two limits, 3 of them reach to the limits (own choice)
_ENOUGH = 3  # fellows that the requirement stands for: what is off its size by a power of ten is asked about
_ROW = np.zeros(1, dtype=np.int64)

_BY_REQUIREMENT = Wording(
    "the required",
    "what the requirement allows",
    "far from what the requirement allows",
    ", and near it with two digits swapped",
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked about an entry.

    Parameters
    ----------
    why : str
        What is odd about it, in a sentence part; in a blind test `LOOK_AGAIN` or `SENT_TWICE`, nothing else.
    gross : bool
        True: so far off that no result can stand before it is answered, as in `ballbench.records.Query`.
    """

    why: str
    gross: bool


@dataclass(frozen=True, slots=True)
class Written:
    """How a number was written: its decimals, and the factor from its unit to the base unit."""

    decimals: int
    factor: float


@dataclass(frozen=True, slots=True)
class BenchFellows:
    """What one entry is held against; all numbers in the base unit of its quantity.

    Parameters
    ----------
    same_make : tuple of float
        Readings of the quantity that stand, of the same make, or of the same box where the make is unknown.
    same_axis : tuple of float
        Those among them at the same axis; all where the quantity has no axes.
    limits : tuple of (float or None, float or None)
        What the requirement allows a single ball.
    kind : Kind or None
        The quantity; None for one that a requirement declares.
    step : float
        Display step, positive.
    last : tuple of (str, float) or None
        Text of the last entry from the same page, and how many seconds ago it came.
    balls : int or None
        How many different balls `same_make` and the entry come from; None: as many as there are readings.
    unit : str
        Base unit of a quantity that a requirement declares; that of `kind` holds for the trade's own.
    """

    same_make: tuple[float, ...]
    same_axis: tuple[float, ...]
    limits: tuple[float | None, float | None]
    kind: Kind | None
    step: float
    last: tuple[str, float] | None = None
    balls: int | None = None
    unit: str = ""


def ask_about(value: float, text: str, written: Written, fellows: BenchFellows, *, blind: bool) -> Asked | None:
    """Ask about an entry that looks mistyped.

    From five readings of five balls on, itself included, it is held against its fellows as `plausibility_queries`
    does. Before, it is held against the requirement too: further beyond two limits than they are apart, 15 % from
    the only limit of a quantity that cannot be near zero, or a power of ten or a unit off (own choices).

    Parameters
    ----------
    value : float
        In the base unit; finite.
    text : str
        As it was typed.
    written : Written
        Of that text.
    fellows : BenchFellows
        What it is held against.
    blind : bool
        True: say nothing that could steer the second reading.

    Returns
    -------
    Asked or None
        None: nothing is odd about it.
    """
    if fellows.last is not None and text == fellows.last[0] and abs(fellows.last[1]) < _AT_ONCE:
        return Asked(SENT_TWICE, gross=True)
    asked = _asked(np.array([value]), written, fellows)
    why, gross = str(asked.why[0]), bool(asked.gross[0])
    if not why:
        return None
    return Asked(LOOK_AGAIN if blind else why, gross)


def _asked(value: npt.NDArray[np.float64], written: Written, fellows: BenchFellows) -> Mistyped:
    """Hold the entry against the requirement while it has few fellows, against those, and against belief."""
    own = fellows_of_one(float(value[0]), fellows.same_make, fellows.same_axis, fellows.step, fellows.balls)
    held: list[tuple[Fellows, Wording]] = [(own, AMONG_FELLOWS)]
    required = _required(fellows) if np.isinf(own.limit[0]) else None
    if required is not None:
        held.insert(0, (required, _BY_REQUIREMENT))
    for against, wording in held:
        asked = ask_mistyped(
            value, against, lambda rows: _bases(fellows, rows), lambda _: _digits(value, written, fellows), wording
        )
        if asked.why[0]:
            return asked
    asked = unasked(1)
    if fellows.kind is not None:
        ask_outside_belief(value, _ROW, fellows.kind, asked)
    for against, wording in held:
        ask_far(value, against, asked, wording)
    return asked


def _required(fellows: BenchFellows) -> Fellows | None:
    """Give the requirement's limits as if they were fellows; None where they say nothing of a ball's size."""
    known = [limit for limit in fellows.limits if limit is not None]
    if len(known) == 2:
        size, width = 0.5 * (known[0] + known[1]), known[1] - known[0]
        reach, tight = (0.5 + _ROOM) * width, 0.5 * width <= ONE_SIZE * abs(size)
    elif known and fellows.kind is not None and fellows.kind.lowest > 0.0:
        size, reach, tight = known[0], ONE_SIZE * abs(known[0]), True
    else:
        return None
    return Fellows(
        median=np.array([size]),
        count=np.array([_ENOUGH]),
        tight=np.array([float(tight)]),
        centre=np.array([size]),
        spread=np.array([max(reach / _REACH, fellows.step)]),
        limit=np.array([_REACH]),
    )


def _bases(fellows: BenchFellows, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.object_]:
    """Give the base unit of the entry for each row."""
    return np.full(rows.size, fellows.kind.unit if fellows.kind is not None else fellows.unit, dtype=object)


def _digits(value: npt.NDArray[np.float64], written: Written, fellows: BenchFellows) -> Digits:
    """Take the entry apart into digits: at the decimals of the display, or its own where it has more."""
    usual = max(math.ceil(-math.log10(fellows.step / written.factor) - 1e-9), 0)
    last = np.array([written.factor * 10.0 ** -max(written.decimals, usual)])
    return Digits(np.rint(value / last), last, np.array([written.decimals == usual]))
