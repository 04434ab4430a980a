"""Which ball of a tray is this? A mass read again tells, as far as the balls differ by more than the scale scatters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ballbench.errors import BadRequest, Fault
from ballbench.statistics.study import Floats

__all__ = ["told", "which_ball"]


def which_ball(reading: float, means: ArrayLike, counts: ArrayLike, sd: float) -> Floats:
    """Give the chance of each ball to be the one that was read again.

    Parameters
    ----------
    reading : float
        The new reading; it is taken to come from one of the balls.
    means : (n,) array_like of float
        Mean of each ball's earlier readings, in the unit of `reading`; NaN for a ball never read.
    counts : (n,) array_like of int
        How many readings those were; 0 for a ball never read.
    sd : float
        Repeatability SD of one reading, of the new one and of the earlier ones alike.

    Returns
    -------
    (n,) float array
        Sums to 1 over the balls that were read; NaN for a ball never read.

    Raises
    ------
    BadRequest
        `reading` or `sd` cannot be used, or `means` and `counts` do not fit together.

    Notes
    -----
    Bayes' theorem with equal chances beforehand and nothing known of a ball's mass but its readings (a uniform prior):
    the new reading of ball i is normal about its mean, with variance ``sd^2 (1 + 1 / count)``. Where all balls differ
    by less than the scale scatters, the true chances are nearer to equal than these.
    """
    centres, many = np.asarray(means, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    _refuse(reading, centres, many, sd)
    read = (many > 0) & np.isfinite(centres)
    chances = np.full(centres.shape, np.nan)
    if read.any():
        spread = sd * np.sqrt(1.0 + 1.0 / many[read])
        log = -0.5 * ((reading - centres[read]) / spread) ** 2 - np.log(spread)
        weights = np.exp(log - log.max())
        chances[read] = weights / weights.sum()
    return chances


def told(chances: Floats, level: float = 0.95) -> int | None:
    """Give the ball that the chances tell.

    Parameters
    ----------
    chances : (n,) float array
        As of `which_ball`.
    level : float
        Chance from which a ball counts as told (own choice: 95 %).

    Returns
    -------
    int or None
        Its place, from 0; None where no ball reaches the level.
    """
    if not np.isfinite(chances).any():
        return None
    best = int(np.nanargmax(chances))
    return best if chances[best] >= level else None


def _refuse(reading: float, means: Floats, counts: Floats, sd: float) -> None:
    """Refuse what gives no chances, all faults at once."""
    faults = []
    if not np.isfinite(reading):
        faults.append(Fault("reading", f"{reading:g}", "a finite number", "read the ball again"))
    if not 0.0 < sd < np.inf:
        faults.append(Fault("sd", f"{sd:g}", "a number above 0", "give the scale's repeatability, or its display step"))
    if means.ndim != 1 or means.shape != counts.shape:
        found = f"{means.size} means and {counts.size} counts"
        faults.append(Fault("means", found, "one count for every mean", "give both for the same balls"))
    elif not np.all(counts >= 0):
        faults.append(Fault("counts", "a count that is no number of readings", "0 or more", "correct it"))
    if faults:
        raise BadRequest(faults)
