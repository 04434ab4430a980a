"""A track is cut into free flights: the fall, and the rebounds between impacts, each close to a parabola in time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

__all__ = ["FEW", "MOST_IMPACTS", "NOT_FREE", "NO_FALL", "Flights", "flights_of"]

MOST_IMPACTS = 4
"""Impacts that are looked at: the later ones are low, and the ball has wandered (own choice)."""
_FEWEST = 5
"""Pictures in a flight for a curve to be told from something else (own choice)."""
_CUBIC = 9
"""From so many on a curve of the third degree is taken: drag, and rows read one after the other, bend a parabola."""
_OFF, _OFF_PX = 0.04, 0.3
"""Scatter about that curve that is still a flight: a share of the ball's breadth, and px (own choices)."""

NO_FALL, FEW, NOT_FREE = "no fall", "few", "not free"
"""Why a track is no drop: nothing falls and comes back up; too few pictures of it; it does not fly freely."""

Array = NDArray[np.float64]
Rows = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Flights:
    """A drop, cut at its impacts.

    Parameters
    ----------
    parts : tuple of array of int
        Rows of the track: the fall first, then a rebound each; a picture taken about an impact is in none.
    impacts : tuple of float
        Where neighbouring curves meet, s.
    floor : float
        Where they meet, px from the top, the median.
    curvatures : tuple of float
        d2y/dt2 of each part by its parabola, px/s2, downwards positive.
    """

    parts: tuple[Rows, ...]
    impacts: tuple[float, ...]
    floor: float
    curvatures: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Curve:
    """A polynomial about a moment, its rows, and how far places scatter about it, px."""

    rows: Rows
    about: float
    terms: Array
    off: float

    def at(self, t: float | Array) -> Array:
        return np.asarray(np.polyval(self.terms, np.asarray(t) - self.about))

    @property
    def curvature(self) -> float:
        return float(np.polyval(np.polyder(self.terms, 2), 0.0))


def flights_of(t: Array, y: Array, diameter: float) -> Flights | str:
    """Cut a track into flights.

    Parameters
    ----------
    t : (n,) array
        s, increasing.
    y : (n,) array
        Centre of the ball, px from the top: downwards.
    diameter : float
        Of the ball, px.

    Returns
    -------
    Flights or str
        From the first fall that ends in an impact with a rebound; `NO_FALL`, `FEW` or `NOT_FREE` where there is none,
        or where the fall before what flies freely cannot be read.
    """
    peaks = _impacts(t, y, diameter)
    why = NO_FALL
    for first, peak in enumerate(peaks):
        found = _from(t, y, peaks, first, diameter)
        if isinstance(found, Flights):
            # what looks like the fall may be the second half of a rebound whose impact could not be read
            return found if not _rose(t, y, found) else why if why != NO_FALL else NOT_FREE
        if y[peak] > max(y[k] for k in peaks) - diameter:
            why = found
    return why


def _from(t: Array, y: Array, peaks: list[int], first: int, diameter: float) -> Flights | str:
    fall = _fall(t, y, peaks[first], diameter)
    if isinstance(fall, str):
        return fall
    ends = [*peaks[first : first + MOST_IMPACTS + 1], t.size - 1]
    curves = [fall]
    for left, right in pairwise(ends):
        if len(curves) > MOST_IMPACTS:
            break
        part = _rebound(t, y, left, right, diameter)
        if isinstance(part, str):
            if len(curves) == 1:
                return part
            break
        curves.append(part)
    return _met(t, y, curves, [float(t[k]) for k in ends]) if len(curves) > 1 else NO_FALL


def _rose(t: Array, y: Array, found: Flights) -> bool:
    """Whether the ball rose freely to where the fall begins: it came from an impact, or was thrown up."""
    fall, impact = found.parts[0], found.impacts[0]
    curve = np.polyfit(t[fall] - impact, y[fall], 2)
    if curve[0] <= 0.0:
        return False
    lasting = float(curve[1] / (2.0 * curve[0]))  # from the top to the impact
    top = float(np.polyval(curve, -lasting))
    since = t - impact
    before = (since < -1.3 * lasting) & (since > -2.0 * lasting)
    # a ball that was held stays at the top, one that rose was as far below it as it is after the same time
    return bool(before.any() and np.median((y[before] - top) / (np.polyval(curve, since[before]) - top)) > 0.5)


def _impacts(t: Array, y: Array, diameter: float) -> list[int]:
    """Rows where the track is lowest between two rises of a fifth of a diameter at least."""
    from scipy.signal import find_peaks  # noqa: PLC0415 - loads only when a clip is watched

    lowest, _ = find_peaks(y, prominence=0.2 * diameter)
    # a flat top of the curve (a ball that lies still) is no impact: it must come fast and go fast
    return [int(k) for k in lowest if _turns(t, y, int(k), diameter)]


def _turns(t: Array, y: Array, k: int, diameter: float) -> bool:
    before, after = max(k - 3, 0), min(k + 3, t.size - 1)
    if k in {before, after}:
        return False
    down = (y[k] - y[before]) / (t[k] - t[before])
    up = (y[k] - y[after]) / (t[after] - t[k])
    return bool(min(down, up) > 2.0 * diameter)  # px/s: a ball that drops its own diameter is ten times as fast


def _fall(t: Array, y: Array, peak: int, diameter: float) -> _Curve | str:
    """Give the fall that ends at an impact: as far back as one curve holds."""
    best: _Curve | None = None
    free = _OFF * diameter + _OFF_PX
    for start in range(peak - _FEWEST, -1, -1):
        curve = _curve(t, y, np.arange(start, peak))
        if curve.off <= free and curve.curvature > 0.0:
            best = curve
        elif best is not None and curve.rows.size > 2 * _FEWEST:
            break
    if best is None:
        return FEW if peak < 2 * _FEWEST else NOT_FREE
    parabola = np.polyfit(t[best.rows] - best.about, y[best.rows], 2)
    top = best.about - float(parabola[1] / (2.0 * parabola[0])) if parabola[0] > 0 else float(t[best.rows[0]])
    highest = float(best.at(max(top, float(t[best.rows[0]]))))
    height = float(best.at(t[peak])) - highest
    if height < 0.7 * diameter:
        return NO_FALL
    # the first tenth of the way is left out: fingers, a ball that sticks, the edge of a tube
    rows = best.rows[(t[best.rows] > top) & (best.at(t[best.rows]) > highest + 0.1 * height)]
    return _Curve(rows, best.about, best.terms, best.off) if rows.size >= _FEWEST - 1 else FEW


def _rebound(t: Array, y: Array, left: int, right: int, diameter: float) -> _Curve | str:
    """Give the flight between two impacts, or from the last one to the end of the track."""
    rows = np.arange(left + 1, right + (right == t.size - 1))
    if rows.size < _FEWEST:
        return FEW
    curve = _curve(t, y, rows)
    return curve if curve.off <= _OFF * diameter + _OFF_PX and curve.curvature > 0.0 else NOT_FREE


def _curve(t: Array, y: Array, rows: Rows) -> _Curve:
    """Fit a curve, far places left out once, and give its robust scatter."""
    about = float(t[rows].mean())
    degree = 3 if rows.size >= _CUBIC else 2
    terms = np.polyfit(t[rows] - about, y[rows], degree)
    away = np.abs(y[rows] - np.polyval(terms, t[rows] - about))
    near = away <= 4.0 * 1.4826 * np.median(away) + 0.05
    if degree + 2 < near.sum() < rows.size:
        terms = np.polyfit(t[rows][near] - about, y[rows][near], degree)
        away = np.abs(y[rows] - np.polyval(terms, t[rows] - about))
    return _Curve(rows, about, terms, float(1.4826 * np.median(away)))


def _met(t: Array, y: Array, curves: list[_Curve], guesses: list[float]) -> Flights | str:
    """Find where neighbouring curves meet, and take the pictures about an impact out."""
    pace = float(np.median(np.diff(t)))
    impacts, floors = [], []
    for before, after, guess in zip(curves, curves[1:], guesses, strict=False):
        fine = guess + np.linspace(-3.0, 3.0, 1201) * pace
        meeting = float(fine[np.argmin(np.abs(before.at(fine) - after.at(fine)))])
        impacts.append(meeting)
        floors.append(float(before.at(meeting)))
    kept = []
    for k, curve in enumerate(curves):
        begins = impacts[k - 1] if k else -math.inf
        ends = impacts[k] if k < len(impacts) else math.inf
        kept.append(curve.rows[(t[curve.rows] > begins + 1.05 * pace) & (t[curve.rows] < ends - 1.05 * pace)])
    if any(rows.size < 3 for rows in kept[:2]):
        return FEW
    while kept[-1].size < 3:
        kept, impacts = kept[:-1], impacts[:-1]
    curvatures = tuple(2.0 * float(np.polyfit(t[rows] - t[rows].mean(), y[rows], 2)[0]) for rows in kept)
    if not curvatures[1] > 0.0:  # the film's scale is begun with it
        return NOT_FREE
    return Flights(tuple(kept), tuple(impacts), float(np.median(floors)), curvatures)
