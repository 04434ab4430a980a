"""Impacts that do not go with their drop: restitution that no ball has, or that the drop's other impacts contradict.

A ball's restitution changes little from one impact to the next. Where it seems to jump, an impact was missed, was
another sound, or, at the first, the drop height was another one. What a person picked is pointed out and counts; what
the program found does not count where the beginning of a drop is in doubt, for all that is said of it hangs on that.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from ballbench.findings.bouncing.results import BounceAt, Flight

__all__ = ["beginning_in_doubt", "first_gain", "gain_words", "rather_knocks", "standing_apart"]

Array = NDArray[np.float64]

APART = 0.02
"""Restitution that differs so much from the median of a drop's others stands apart (own choice)."""
FIRST_OFF, SECOND_OFF, NEXT_OFF = 0.04, 0.03, 0.08
"""By how much restitution at the first and at the second impact may be off the line through those after them, and at
the first off that at the second where there are too few for a line (own choices)."""
_FEWEST_BESIDE, _FEWEST_LINE = 4, 3
_SCATTERS = 5.0
_STEEPEST = 0.06
"""A change of restitution with speed that is steeper, per m/s, is none of a ball (own choice)."""
_RAGGED = 0.025
"""SD of restitution about a line over speed, beyond the errors of times, that is rather a person who knocks (own
choice)."""
_RAGGED_ALONE = 0.018
"""The same where no drop height bears the ball out (own choice)."""
_RISES_ALONE = (25.0, 3000.0)
"""mm that the first flight of a drop of unknown height may rise (own choices): what settles or rattles hops lower, and
nobody drops a ball at a bench from higher up."""
_FALLING = 0.04
"""Per m/s: restitution that falls by more than this as the impacts get slower is none of a ball, which rather keeps
more then (own choice)."""
_FEWEST_RAGGED, _FEWEST_ALONE = 5, 5
_GIVE = "--drop-height is given or the impacts are put by hand"
_NORMAL = 1.4826
"""Makes the median absolute deviation the SD of a normal distribution."""


def first_gain(restitution: Array) -> int | None:
    """Give the first bounce after which the ball would be faster than before, beyond its interval; None: there is none.

    No ball does that: an impact is missing, is not of this ball, or the drop height is another one.

    Parameters
    ----------
    restitution : (M, R) array
        Estimates in the first place, draws behind.
    """
    for k in range(restitution.shape[1]):
        if np.quantile(restitution[1:, k], 0.025) > 1.0:
            return k
    return None


def gain_words(impact: int, ratio: float, *, sure: bool = False) -> str:
    """Say what is wrong at the impact, from 1, after which the ball would be faster by this ratio.

    `sure`: a person put the impacts, so that the drop counts up to there.
    """
    if impact == 1:
        return (
            f"the first flight is longer than a fall from the drop height allows (restitution {ratio:.3f}, over 1): "
            "the ball fell from higher up, was thrown, or what was taken for the first impact is not one; left out"
        )
    if impact == 2 and not sure:
        return (
            f"the second flight is longer than the first allows (restitution {ratio:.3f}, over 1): one of the first "
            "three impacts is missing or is another sound; left out unless the impacts are put by hand"
        )
    return (
        f"the flight after impact {impact} is longer than the one before it allows (restitution "
        f"{ratio:.3f}, over 1): an impact is missing or is not of this ball; what follows it is left out"
    )


def beginning_in_doubt(bounces: Sequence[BounceAt], restitution: Array | None = None) -> str:
    """Say why the first two impacts cannot be what they were taken for; empty where they can.

    Parameters
    ----------
    bounces : sequence of BounceAt
        Of one drop.
    restitution : (M, R) array or None
        Draws of the same, estimates first: what their uncertainty lets them differ by, twice it, is allowed besides.

    Returns
    -------
    str
        A sentence part.

    Notes
    -----
    A line through the restitutions from the third impact on, by the median of slopes (Theil and Sen), is drawn out to
    the speeds of the first two; they may lie `FIRST_OFF` and `SECOND_OFF` beside it, or five robust SDs of the others,
    and twice the uncertainty that they have from the errors of times and of what all impacts share.
    """
    early = {one.impact: one for one in bounces if one.impact <= 2}
    rest = [one for one in bounces if one.impact > 2]
    if len(rest) < _FEWEST_LINE:
        if len(early) == 2 and abs(early[1].restitution.value - early[2].restitution.value) > NEXT_OFF:
            return _first_words(early[1].restitution.value, early[2].restitution.value)
        return ""
    speeds, values = (np.array(both) for both in zip(*((o.speed, o.restitution.value) for o in rest), strict=True))
    slope = float(np.clip(stats.theilslopes(values, speeds).slope, -_STEEPEST, _STEEPEST)) if np.ptp(speeds) else 0.0
    level = float(np.median(values - slope * speeds))
    scatter = _NORMAL * float(np.median(np.abs(values - slope * speeds - level)))
    for impact, most in ((2, SECOND_OFF), (1, FIRST_OFF)):
        if impact not in early:
            continue
        one = early[impact]
        expected = level + slope * one.speed
        known = 2.0 * _line_u(bounces, impact, restitution)
        if abs(one.restitution.value - expected) > max(most, _SCATTERS * scatter) + known:
            words = _second_words if impact == 2 else _first_words
            return words(one.restitution.value, expected)
    return ""


def rather_knocks(
    bounces: Sequence[BounceAt], restitution: Array, flights: Sequence[Flight], *, quieter: bool, known: bool
) -> str:
    """Say why what was heard may be claps or knocks that get faster rather than a ball; empty where it may be a ball.

    Parameters
    ----------
    bounces : sequence of BounceAt
        Of one drop.
    restitution : (M, R) array
        Draws of the same, estimates first.
    flights : sequence of Flight
        Of the drop, one fewer than impacts that follow each other.
    quieter : bool
        They get quieter as a ball's do.
    known : bool
        The drop height is known: then the first flight speaks for a ball, or against it.

    Returns
    -------
    str
        A sentence part.
    """
    ragged = _ragged(bounces, restitution)
    if ragged > (_RAGGED if known else _RAGGED_ALONE):
        return (
            f"restitution jumps about by {ragged:.3f} from impact to impact, as where a person knocks; left out unless "
            + ("the impacts are put by hand" if known else _GIVE)
        )
    return "" if known else _no_ball_by_itself(bounces, restitution, flights, quieter)


def _no_ball_by_itself(
    bounces: Sequence[BounceAt], restitution: Array, flights: Sequence[Flight], quieter: bool
) -> str:
    """Say what speaks against a ball where there is no drop height to bear it out; empty where nothing does."""
    lowest, highest = _RISES_ALONE
    rise = flights[0].rise.value
    if not lowest <= rise <= highest:
        high = f"{rise:.0f} mm" if rise < lowest else f"{rise / 1e3:.1f} m"
        what = "something that settles or rattles" if rise < lowest else "knocks"
        return f"the first flight would be {high} high, as of {what} rather than of a ball; left out unless {_GIVE}"
    if not quieter:
        return (
            "the impacts hardly get quieter, as claps and knocks do, and without the drop height nothing tells these "
            f"from a ball; left out unless {_GIVE}"
        )
    impacts = len(flights) + 1
    if impacts < _FEWEST_ALONE:
        return (
            f"only {impacts} impacts follow each other, and without the drop height so few are not told from knocks; "
            f"left out unless {_GIVE}"
        )
    slope, u = _slope(bounces, restitution)
    if slope - 2.0 * u > _FALLING:
        return (
            f"restitution falls by {slope:.2f} a m/s as the impacts get slower, which no ball's does: rather knocks "
            f"that get faster; left out unless {_GIVE}"
        )
    return ""


def _slope(bounces: Sequence[BounceAt], restitution: Array) -> tuple[float, float]:
    """Give the change of restitution with impact speed, per m/s, and its standard uncertainty; 0 for fewer than four.

    The uncertainty is that of times and shared errors, and of what the impacts scatter about the line.
    """
    speeds = np.array([one.speed for one in bounces])
    if speeds.size < _FEWEST_BESIDE or not np.ptp(speeds) > 0.0:
        return 0.0, 0.0
    away = speeds - speeds.mean()
    weights = away / np.sum(away**2)
    left = restitution[0] - restitution[0].mean() - away * float(weights @ restitution[0])
    scatter = float(np.sum(left**2)) / (speeds.size - 2)
    by_draws = float(np.var(restitution[1:] @ weights))
    return float(weights @ restitution[0]), float(np.sqrt(max(scatter * np.sum(weights**2), 0.0) + by_draws))


def _ragged(bounces: Sequence[BounceAt], restitution: Array) -> float:
    """Give the SD of restitution about its line over speed beyond what the errors of times make of it."""
    count = len(bounces)
    if count < _FEWEST_RAGGED:
        return 0.0
    speeds = np.array([one.speed for one in bounces])
    line = np.column_stack([np.ones(count), speeds - speeds.mean()])
    away = np.eye(count) - line @ np.linalg.pinv(line)
    seen = float(np.sum((away @ restitution[0]) ** 2))
    by_times = float(np.mean(np.sum(((restitution[1:] - restitution[0]) @ away) ** 2, axis=1)))
    return float(np.sqrt(max(seen - by_times, 0.0) / (count - 2)))


def _line_u(bounces: Sequence[BounceAt], impact: int, restitution: Array | None) -> float:
    """Give the SD over the draws of what an early impact differs by from a line through those after the second.

    Errors that all share bend the line: a contact time that is taken too short makes short flights look longer.
    """
    if restitution is None:
        return 0.0
    rest = [k for k, one in enumerate(bounces) if one.impact > 2]
    early = next(k for k, one in enumerate(bounces) if one.impact == impact)
    speeds = np.array([bounces[k].speed for k in rest])
    away = np.column_stack([np.ones(len(rest)), speeds - bounces[early].speed])
    weights = np.linalg.pinv(away)[0]  # of the line's value at the early impact's speed
    return float(np.std(restitution[1:, early] - restitution[1:, rest] @ weights))


def _first_words(value: float, expected: float) -> str:
    return (
        f"restitution at the first impact is {value:.3f}, and the impacts after it speak for {expected:.3f}: the first "
        "impact was missed or is another sound, or the drop height was another; left out unless the impacts are put by "
        "hand"
    )


def _second_words(value: float, expected: float) -> str:
    return (
        f"restitution at impact 2 is {value:.3f}, and the impacts after it speak for {expected:.3f}: one of the first "
        "impacts is wrong; left out unless the impacts are put by hand"
    )


def standing_apart(bounces: Sequence[BounceAt]) -> list[str]:
    """Point out restitutions that stand apart from the drop's others: rather a wrong impact than a ball that did it."""
    values = np.array([bounce.restitution.value for bounce in bounces])
    if values.size < _FEWEST_BESIDE:
        return []
    middle = float(np.median(values))
    spread = _NORMAL * float(np.median(np.abs(values - middle)))
    far = np.abs(values - middle) > max(APART, _SCATTERS * spread)
    names = [f"{one.impact} ({one.restitution.value:.3f})" for one, is_far in zip(bounces, far, strict=True) if is_far]
    if not names:
        return []
    words = ", ".join(names)
    return [f"restitution at impact {words} stands apart from the others ({middle:.3f}): look at the impacts"]
