"""Readings of a repeat study, sorted into cells: one cell is one part read by one person."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault

__all__ = ["RepeatCells", "repeat_cells"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

LARGEST = 180
"""Cells at most, such as 60 parts and 3 people: an answer within seconds. Own choice."""


@dataclass(frozen=True)  # no slots: what is derived is kept once computed
class RepeatCells:
    """What a repeat study says about variances: means and counts of its cells, and the spread inside them.

    Parameters
    ----------
    means : (C,) float array
        Mean of each cell less `centre`, in the unit of the readings.
    counts : (C,) int array
        Readings of each cell, 1 or more.
    parts, people : (C,) int array
        Index of the part (a ball, or a place of a ball) and of the person of each cell, from 0.
    centre : float
        Taken off every reading, so that long constant digits do no harm.
    within_ss : float
        Sum of squares about the means of cells.
    readings : tuple of (n_c,) float arrays
        Readings of each cell less `centre`.
    """

    means: Array
    counts: Whole
    parts: Whole
    people: Whole
    centre: float
    within_ss: float
    readings: tuple[Array, ...]

    @property
    def n_parts(self) -> int:
        """Parts that were read."""
        return int(self.parts.max()) + 1

    @property
    def n_people(self) -> int:
        """People who read."""
        return int(self.people.max()) + 1

    @property
    def total(self) -> int:
        """Readings in all."""
        return int(self.counts.sum())

    @property
    def within_dof(self) -> int:
        """Degrees of freedom inside cells."""
        return self.total - self.means.size

    @property
    def balanced(self) -> bool:
        """Whether every person read every part equally often."""
        full = self.means.size == self.n_parts * self.n_people
        return bool(full and np.all(self.counts == self.counts[0]))

    @cached_property
    def additive(self) -> Array:
        """Columns of the mean, the parts and the people, (C, 1 + parts + people); not of full rank."""
        return np.column_stack(
            (
                np.ones(self.means.size),
                self.parts[:, None] == np.arange(self.n_parts),
                self.people[:, None] == np.arange(self.n_people),
            )
        ).astype(np.float64)

    @cached_property
    def rank(self) -> int:
        """How many of those columns say different things."""
        return int(np.linalg.matrix_rank(self.additive))

    @property
    def interaction_dof(self) -> int:
        """Degrees of freedom of what neither part nor person explains."""
        return self.means.size - self.rank

    @property
    def person_dof(self) -> int:
        """Degrees of freedom between people who read the same parts."""
        return self.rank - self.n_parts

    @property
    def part_dof(self) -> int:
        """Degrees of freedom between parts read by the same people."""
        return self.rank - self.n_people

    @cached_property
    def additive_ss(self) -> float:
        """Sum of squares of all readings about the additive model of parts and people."""
        root = np.sqrt(self.counts.astype(np.float64))
        fitted = self.additive @ np.linalg.lstsq(self.additive * root[:, None], self.means * root, rcond=None)[0]
        return self.within_ss + float(np.sum(self.counts * (self.means - fitted) ** 2))


def repeat_cells(values: ArrayLike, parts: ArrayLike, people: ArrayLike | None = None) -> RepeatCells:
    """Sort the readings of a repeat study into cells.

    Parameters
    ----------
    values : (N,) array_like of float
        Readings, one unit, finite, two at least.
    parts : (N,) array_like
        Which part each reading is of: numbers or names; where a ball is read at several places, a name of its own for
        each ball and place.
    people : (N,) array_like, optional
        Who read it; left out: one person.

    Returns
    -------
    RepeatCells
        Cells in the order of parts, then of people.

    Raises
    ------
    BadRequest
        Lengths that differ, values that are not finite, too many cells, or nothing read twice.
    """
    readings = np.asarray(values, dtype=np.float64).ravel()
    names = np.asarray(parts).ravel()
    who = np.zeros(readings.size, dtype=np.int64) if people is None else np.asarray(people).ravel()
    _check(readings, names, who)
    part = np.unique(names, return_inverse=True)[1]
    person = np.unique(who, return_inverse=True)[1]
    keys, cell = np.unique(part * (int(person.max()) + 1) + person, return_inverse=True)
    if keys.size > LARGEST:
        where = "repeat study, parts and people"
        raise BadRequest(Fault(where, f"{keys.size} pairs of them", f"up to {LARGEST}", "take fewer parts"))
    centre = float(readings[0])
    groups = tuple(readings[cell == index] - centre for index in range(keys.size))
    means = np.array([float(group.mean()) for group in groups])
    shift = float(means.mean())
    groups = tuple(group - shift for group in groups)
    means = np.array([float(group.mean()) for group in groups])
    within = math.fsum(float(np.sum((group - mean) ** 2)) for group, mean in zip(groups, means, strict=True))
    cells = RepeatCells(
        means=means,
        counts=np.array([group.size for group in groups]),
        parts=keys // (int(person.max()) + 1),
        people=keys % (int(person.max()) + 1),
        centre=centre + shift,
        within_ss=within,
        readings=groups,
    )
    if cells.total <= cells.rank:
        todo = "read each part twice at least, without looking at the first reading"
        raise BadRequest(Fault("repeat study", "no part was read twice", "repeated readings", todo))
    return cells


def _check(readings: Array, names: NDArray[np.generic], who: NDArray[np.generic]) -> None:
    """Say all that is wrong with the arrays."""
    faults = []
    if not readings.size == names.size == who.size:
        found = f"{readings.size} values, {names.size} parts, {who.size} people"
        faults.append(Fault("repeat study", found, "one part and one person a value", "give arrays of one length"))
    if readings.size < 2:
        faults.append(Fault("repeat study, values", f"{readings.size} values", "two at least", "read more"))
    if not np.all(np.isfinite(readings)):
        faults.append(Fault("repeat study, values", "values that are not finite", "finite numbers", "leave them out"))
    if faults:
        raise BadRequest(faults)
