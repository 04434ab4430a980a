"""What a repeat study says about each variance, as draws: generalised pivotal quantities for any design.

The model of reading r of part i by person j: ``y = mu + ball_i + person_j + interaction_ij + noise_ijr``, all normal.
Each variance in turn is the one at which its own quadratic form equals a chi-square draw, given the draws before it:

1. noise: ``SS_within / s2 = chi2``;
2. interaction, with K an orthonormal basis of the contrasts of cell means that are free of parts and people and
   ``K' diag(1/n) K = U diag(d) U'``: ``sum (U'K'm)^2 / (v_I + s2 d) = chi2``;
3. people, parts held fixed, with A the information matrix of the people and ``A = U diag(a) U'``:
   ``sum (U'q)^2 / a^2 / (v_P + 1/a) = chi2``, q the adjusted totals;
4. balls in the same way, people held fixed.

Each form is exactly chi-square distributed at the true variances. In a balanced study this is the known generalised
inference on sums of mean squares. Weerahandi (1993), J. Amer. Statist. Assoc. 88, and Hamada and Weerahandi (2000), J.
Quality Technology 32 (both from memory); the coverage is simulated in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from scipy.stats import qmc

from ballbench.statistics.repeat_readings import RepeatCells

__all__ = ["VarianceDraws", "chi_square_points", "pivot_estimates", "variance_draws"]

Array = NDArray[np.float64]

POINTS = 2048
"""Points of a fixed Sobol' sequence: the ends of intervals to about half a percent, and the same in every run."""
STEPS = 60
"""Newton steps at most; the iteration is monotone and takes one step in a balanced study."""
FLOOR = 1e-12
"""Least variance of a cell's mean, relative to that of all cells: keeps a study without any spread finite."""
SMALL = 0.06
"""Upper limits rest on no sum of squares smaller than six studies in a hundred have where the variance is 0 (own
choice: its expectation would do too, but then no upper limit is ever too low, and intervals hold the truth in more than
98 %)."""
TINY = 1e-150
"""Stands for 0 where a 0 would be divided by; its square is still a number."""


@dataclass(frozen=True, slots=True)
class VarianceDraws:
    """Draws of the variances, in the squared unit of the readings; those below 0 are kept as they come.

    Parameters
    ----------
    repeatability, interaction, person, ball : (D,) float array
        NaN throughout where the design says nothing about people or balls; an interaction outside the model is 0.
    """

    repeatability: Array
    interaction: Array
    person: Array
    ball: Array

    @property
    def reproducibility(self) -> Array:
        """Between people: person and interaction, (D,)."""
        return self.person + self.interaction

    @property
    def total(self) -> Array:
        """Of one reading by anybody about the ball's size, (D,)."""
        return np.nan_to_num(self.person) + self.interaction + self.repeatability


def chi_square_points(cells: RepeatCells, error_dof: int) -> tuple[Array, Array, Array, Array]:
    """Give chi-square points of noise, interaction, people and balls.

    Parameters
    ----------
    cells : RepeatCells
        The design.
    error_dof : int
        Degrees of freedom of the noise, above 0.

    Returns
    -------
    tuple of (D,) float arrays
        Jointly spread evenly; ones where there is no degree of freedom.
    """
    return _points(error_dof, cells.interaction_dof, cells.person_dof, cells.part_dof)


@lru_cache(maxsize=64)
def _points(*dofs: int) -> tuple[Array, Array, Array, Array]:
    """Points for these degrees of freedom, not to be written to."""
    even = (qmc.Sobol(4, scramble=False).random(POINTS) + 0.5 / POINTS) % 1.0
    noise, interaction, person, ball = (
        stats.chi2.ppf(column, dof) if dof > 0 else np.ones(POINTS) for column, dof in zip(even.T, dofs, strict=True)
    )
    for column in (noise, interaction, person, ball):
        column.setflags(write=False)
    return noise, interaction, person, ball


def variance_draws(
    cells: RepeatCells,
    noise: Array,
    points: tuple[Array, Array, Array],
    *,
    interaction: bool = True,
    at_least_zero: bool = False,
) -> VarianceDraws:
    """Draw all variances of a repeat study.

    Parameters
    ----------
    cells : RepeatCells
        What was read.
    noise : (D,) float array
        Draws of the variance of repeats.
    points : tuple of (D,) float arrays
        Chi-square draws of interaction, people and balls.
    interaction : bool
        Whether people may differ from ball to ball.
    at_least_zero : bool
        Read every sum of squares that is smaller than six studies in a hundred have with a variance of 0 (`SMALL`) as
        that: for upper limits where the estimate is negative, which would otherwise say "certainly nothing".

    Returns
    -------
    VarianceDraws
        One value a draw.
    """
    floor = FLOOR * (float(np.var(cells.means)) + float(noise.max())) or 1e-30
    spread, variances = _interaction(cells, noise, points[0], interaction, at_least_zero)
    weights = 1.0 / np.maximum(variances, floor)
    person = _between(cells, weights, points[1], people=True, raised=at_least_zero)
    ball = _between(cells, weights, points[2], people=False, raised=at_least_zero)
    return VarianceDraws(noise, spread, person, ball)


def pivot_estimates(cells: RepeatCells, noise: float, *, interaction: bool = True) -> VarianceDraws:
    """Give the one draw at which every chi-square is its own mean.

    Parameters
    ----------
    cells : RepeatCells
        What was read.
    noise : float
        Variance of repeats.
    interaction : bool
        As in `variance_draws`.

    Returns
    -------
    VarianceDraws
        Arrays of one value. In a balanced study these are the estimates by expected mean squares, negative ones too.
    """
    dofs = (cells.interaction_dof, cells.person_dof, cells.part_dof)
    first, second, third = (np.array([float(max(dof, 1))]) for dof in dofs)
    return variance_draws(cells, np.array([noise]), (first, second, third), interaction=interaction)


def _interaction(cells: RepeatCells, noise: Array, points: Array, wanted: bool, raised: bool) -> tuple[Array, Array]:
    """Draw the interaction; with it the variances of cell means about part and person, (D, C).

    Where the form is too small for any variance, the noise in the means is scaled down instead: so they stay positive.
    """
    shares = noise[:, None] / cells.counts
    if not wanted or cells.interaction_dof == 0:
        return np.zeros(noise.size), shares
    left, sizes, _ = np.linalg.svd(cells.additive)
    basis = left[:, int(np.sum(sizes > sizes[0] * 1e-10)) :]
    d, turn = np.linalg.eigh(basis.T @ (basis / cells.counts[:, None]))
    squares = np.broadcast_to((turn.T @ (basis.T @ cells.means)) ** 2, (noise.size, d.size))
    least = noise[:, None] * d
    if raised:
        squares = _raised(squares, least, cells.interaction_dof)
    at_zero = np.sum(squares / np.maximum(least, TINY), axis=1)
    scale = np.minimum(at_zero / points, 1.0)
    variance = np.where(scale < 1.0, 0.0, _root(squares, least, points))
    below = (scale - 1.0) * noise * float(np.mean(1.0 / cells.counts))
    return np.where(scale < 1.0, below, variance), variance[:, None] + scale[:, None] * shares


def _between(cells: RepeatCells, weights: Array, points: Array, *, people: bool, raised: bool) -> Array:
    """Draw the variance between people with parts held fixed, or between parts with people held fixed."""
    mine, other = (cells.people, cells.parts) if people else (cells.parts, cells.people)
    dof = cells.person_dof if people else cells.part_dof
    if dof == 0:
        return np.full(points.size, np.nan)
    n_mine, n_other = int(mine.max()) + 1, int(other.max()) + 1
    if cells.balanced:
        means = np.bincount(mine, cells.means) / n_other
        squares, least = np.full((points.size, 1), np.sum((means - means.mean()) ** 2)), 1.0 / weights[:, :1] / n_other
        return _root(_raised(squares, least, dof) if raised else squares, least, points)
    table, totals = np.zeros((points.size, n_mine, n_other)), np.zeros((points.size, n_mine, n_other))
    table[:, mine, other], totals[:, mine, other] = weights, weights * cells.means
    shares = table / table.sum(axis=1, keepdims=True)
    information = -shares @ table.transpose(0, 2, 1)
    information[:, np.arange(n_mine), np.arange(n_mine)] += table.sum(axis=2)
    adjusted = totals.sum(axis=2) - np.einsum("dmo,do->dm", shares, totals.sum(axis=1))
    a, turn = np.linalg.eigh(information)
    a, turn = a[:, -dof:], turn[:, :, -dof:]
    squares = (np.einsum("dmk,dm->dk", turn, adjusted) / a) ** 2
    if raised:
        squares = _raised(squares, 1.0 / a, dof)
    return _root(squares, 1.0 / a, points)


def _raised(squares: Array, least: Array, dof: int) -> Array:
    """Add to the squares what the form at variance 0 lacks of the value that one in `1/SMALL` stays under."""
    form = np.sum(squares / np.maximum(least, TINY), axis=1, keepdims=True)
    found: Array = squares + least * np.maximum(_smallest(dof) - form, 0.0) / squares.shape[1]
    return found


@lru_cache(maxsize=256)
def _smallest(dof: int) -> float:
    """Give the chi-square value that a part `SMALL` of all stays under."""
    return float(stats.chi2.ppf(SMALL, dof))


def _root(squares: Array, least: Array, points: Array) -> Array:
    """Solve ``sum squares / (v + least) = points`` for v, above the largest pole, a row a draw.

    Newton's method on the reciprocal, which is concave: from a start to the left of the root it never passes it.
    """
    v: Array = np.max(squares / points[:, None] - least, axis=1)
    for _ in range(STEPS):
        gaps = np.maximum(v[:, None] + least, TINY)
        form = np.maximum(np.sum(squares / gaps, axis=1), TINY)
        slope = np.maximum(np.sum(squares / gaps**2, axis=1), TINY)
        step = np.where(form > TINY, (form / points - 1.0) * form / slope, 0.0)  # all squares 0: the start is the root
        v = v + step
        if np.all(np.abs(step) <= 1e-10 * (np.abs(v) + least.max(axis=1))):
            break
    return v
