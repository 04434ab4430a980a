"""What a recorder does to impacts: it cuts them off, turns its gain down after each, or silences what is between."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["at_the_limit", "floor_dip", "level_fall", "silenced"]

Floats = NDArray[np.float64]

_NEAR = 0.995  # of the largest sample: what is cut off lies there (own choice)
_QUIET = 0.2  # share of the frames that are quieter than what is called the quiet (own choice)
_NOTHING = 1.6e-5  # half a step of 16 bits: no microphone is so quiet
_NOTHING_TIME = 8e-3  # s of that in a row (own choice)
_RUN = 4  # samples in a row at the limit that are no wave (own choice)


def at_the_limit(samples: NDArray[np.float32]) -> NDArray[np.intp]:
    """Give where a channel is cut off.

    Parameters
    ----------
    samples : array (n,)
        One channel.

    Returns
    -------
    array of int
        Samples that lie, four in a row or more, at the recording's largest value; empty where nothing is cut off.
    """
    if samples.size == 0:
        return np.zeros(0, dtype=np.intp)
    top, bottom = float(samples.max()), float(samples.min())
    limit = max(top, -bottom)
    if not limit > 0.0:
        return np.zeros(0, dtype=np.intp)
    places = []
    for high in (samples >= _NEAR * limit, samples <= -_NEAR * limit):
        at = np.flatnonzero(high)
        if at.size < _RUN:
            continue
        run = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
        places += [piece for piece in run if piece.size >= _RUN]
    return np.sort(np.concatenate(places)) if places else np.zeros(0, dtype=np.intp)


def level_fall(levels: Floats, intervals: Floats) -> tuple[float, float]:
    """Give how far the levels of a drop's impacts fall, and how far its speeds say that they should, dB.

    Parameters
    ----------
    levels : array (n,)
        Of the impacts, dB.
    intervals : array (n - 1,)
        Between them, s; the speed of an impact goes with the interval before it.

    Returns
    -------
    fall, expected : float
        Over the impacts from the second on, along a straight line; NaN for under four impacts.
    """
    if levels.size < 4:
        return math.nan, math.nan
    speeds = 20.0 * np.log10(intervals)
    number = np.arange(speeds.size)
    slope, expected = (float(np.polyfit(number, values, 1)[0]) for values in (levels[1:], speeds))
    return -slope * (speeds.size - 1), -expected * (speeds.size - 1)


def floor_dip(levels: NDArray[np.float32], step: float, impacts: Sequence[float]) -> float:
    """Give by how much the quiet between impacts is quieter than before the first, dB.

    Parameters
    ----------
    levels : array (bands, frames)
        Energies in frames.
    step : float
        s between frames.
    impacts : sequence of float
        s.

    Returns
    -------
    float
        Median over the bands of the median over the gaps, each between 40 and 90 % of its length; above 0 where a gain
        was turned down. NaN where there is no quiet before the first impact to compare with.
    """
    first = int(impacts[0] / step) - 10
    quiet = levels[:, max(first - 1500, 0) : max(first, 0)]
    if quiet.shape[1] < 60:
        return math.nan
    before = np.quantile(quiet, _QUIET, axis=1)
    gaps = []
    for begin, end in itertools.pairwise(impacts):
        piece = levels[:, int((begin + 0.4 * (end - begin)) / step) : int((begin + 0.9 * (end - begin)) / step)]
        if piece.shape[1] >= 20:
            gaps.append(np.quantile(piece, _QUIET, axis=1))
    if not gaps:
        return math.nan
    dips = 10.0 * np.log10((before[:, None] + 1e-12) / (np.array(gaps).T + 1e-12))
    return float(np.median(np.median(dips, axis=1)))


def silenced(samples: NDArray[np.float32], rate: int, impacts: Sequence[float]) -> float:
    """Give the share of the quiet stretches before impacts that hold digital silence.

    Parameters
    ----------
    samples : array (n,)
        One channel.
    rate : int
        Samples a second.
    impacts : sequence of float
        s.

    Returns
    -------
    float
        Of the stretches from 40 % of the way from the impact before (0.2 s before the first) to 3 ms ahead, those of
        20 ms or more; 0 where there is none.
    """
    looked, silent = 0, 0
    for before, impact in itertools.pairwise([impacts[0] - 0.2, *impacts]):
        begin, end = round((before + 0.4 * (impact - before)) * rate), round((impact - 3e-3) * rate)
        piece = samples[max(begin, 0) : max(end, 0)]
        if piece.size < 0.02 * rate:
            continue
        looked += 1
        loud = np.flatnonzero(np.abs(piece) > _NOTHING)
        runs = np.diff(loud, prepend=-1, append=piece.size)
        silent += bool(np.max(runs) > _NOTHING_TIME * rate)
    return silent / looked if looked else 0.0
