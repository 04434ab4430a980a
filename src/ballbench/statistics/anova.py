"""Analysis of variance of a balanced repeat study, and of values in groups."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.statistics.repeat_readings import RepeatCells

__all__ = ["AnovaRow", "AnovaTable", "crossed_anova", "one_way_anova"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """One line of the table.

    Parameters
    ----------
    source : str
        ``"balls"``, ``"people"``, ``"people x balls"``, ``"repeats"``, ``"groups"`` or ``"total"``.
    dof : int
        Degrees of freedom.
    ss, ms : float
        Sum of squares and mean square; `ms` of the total is NaN.
    f, p : float
        Against the mean square that has the same expectation but for the line's own component: the interaction for
        balls and people (the repeats where it was pooled or there is none), the repeats for the interaction. NaN where
        there is none, or where that mean square is 0.
    f_repeats, p_repeats : float
        Against the repeats: right where balls or people are these ones and no others. NaN as above.
    """

    source: str
    dof: int
    ss: float
    ms: float
    f: float
    p: float
    f_repeats: float
    p_repeats: float


@dataclass(frozen=True, slots=True)
class AnovaTable:
    """The lines of the table, in order, the total last."""

    rows: tuple[AnovaRow, ...]

    def row(self, source: str) -> AnovaRow:
        """Give the line of a source.

        Parameters
        ----------
        source : str
            As in `AnovaRow`.

        Returns
        -------
        AnovaRow
            That line.

        Raises
        ------
        BadRequest
            There is no such line.
        """
        for row in self.rows:
            if row.source == source:
                return row
        names = ", ".join(row.source for row in self.rows)
        raise BadRequest(Fault("table of variance", f'a line "{source}"', names, "ask for one of these"))


def crossed_anova(cells: RepeatCells, *, pool_interaction: bool = False) -> AnovaTable:
    """Take a balanced repeat study apart.

    Parameters
    ----------
    cells : RepeatCells
        Every person read every part equally often.
    pool_interaction : bool
        Add the interaction to the repeats.

    Returns
    -------
    AnovaTable
        Lines for what the design has: with one person there is neither people nor interaction; with one reading a cell
        the interaction stands for the repeats.

    Raises
    ------
    BadRequest
        The study is not balanced.

    Notes
    -----
    Two-way layout with random effects; expected mean squares in ``docs/methods/repeat-study.md``.
    """
    if not cells.balanced:
        todo = "fit it by restricted likelihood"
        raise BadRequest(Fault("table of variance", "cells of different size", "a balanced study", todo))
    n = int(cells.counts[0])
    table = cells.means.reshape(cells.n_parts, cells.n_people)
    ball, person = table.mean(axis=1, keepdims=True), table.mean(axis=0, keepdims=True)
    grand = float(table.mean())
    lines = [
        ("balls", cells.part_dof, n * cells.n_people * float(np.sum((ball - grand) ** 2))),
        ("people", cells.person_dof, n * cells.n_parts * float(np.sum((person - grand) ** 2))),
        ("people x balls", cells.interaction_dof, n * float(np.sum((table - ball - person + grand) ** 2))),
        ("repeats", cells.within_dof, cells.within_ss),
    ]
    if pool_interaction or cells.within_dof == 0:
        joined = ("repeats", lines[2][1] + lines[3][1], lines[2][2] + lines[3][2])
        lines = [*lines[:2], joined]
    return _table([line for line in lines if line[1] > 0])


def one_way_anova(values: ArrayLike, groups: ArrayLike) -> AnovaTable:
    """Take values in groups apart, of any sizes.

    Parameters
    ----------
    values : (N,) array_like of float
        One unit, finite.
    groups : (N,) array_like
        Which group each value is of.

    Returns
    -------
    AnovaTable
        Lines ``"groups"``, ``"repeats"`` and ``"total"``.

    Raises
    ------
    BadRequest
        Lengths that differ, values that are not finite, one group only, or no group of two.

    Notes
    -----
    The first value is taken off all values before anything is squared, so that long constant digits do little harm.
    """
    data, names = np.asarray(values, dtype=np.float64).ravel(), np.asarray(groups).ravel()
    faults = []
    if data.size != names.size:
        found = f"{data.size} values and {names.size} groups"
        faults.append(Fault("values in groups", found, "one group a value", "give arrays of one length"))
    if not np.all(np.isfinite(data)):
        faults.append(Fault("values in groups", "values that are not finite", "finite numbers", "leave them out"))
    kinds, index, counts = np.unique(names, return_inverse=True, return_counts=True)
    if not faults and (kinds.size < 2 or data.size <= kinds.size):
        found = f"{data.size} values in {kinds.size} groups"
        faults.append(Fault("values in groups", found, "two groups, and one of two values at least", "read more"))
    if faults:
        raise BadRequest(faults)
    data = data - data[0]
    data = data - data.mean()
    means = np.array([float(data[index == k].mean()) for k in range(kinds.size)])
    grand = float(np.sum(counts * means)) / data.size
    between, within = float(np.sum(counts * (means - grand) ** 2)), float(np.sum((data - means[index]) ** 2))
    return _table([("groups", kinds.size - 1, between), ("repeats", data.size - kinds.size, within)])


def _table(lines: list[tuple[str, int, float]]) -> AnovaTable:
    """Put mean squares, F and p to degrees of freedom and sums of squares, the repeats last."""
    squares = {source: (dof, ss / dof) for source, dof, ss in lines}
    repeats = squares["repeats"]
    crossed = squares.get("people x balls", repeats)
    rows = []
    for source, dof, ss in lines:
        against = {"people x balls": repeats, "repeats": (0, 0.0)}.get(source, crossed)
        f, p = _f(squares[source], against)
        f_repeats, p_repeats = _f(squares[source], repeats if source != "repeats" else (0, 0.0))
        rows.append(AnovaRow(source, dof, ss, ss / dof, f, p, f_repeats, p_repeats))
    whole = sum(dof for _, dof, _ in lines), math.fsum(ss for *_, ss in lines)
    rows.append(AnovaRow("total", whole[0], whole[1], *[math.nan] * 5))
    return AnovaTable(tuple(rows))


def _f(above: tuple[int, float], below: tuple[int, float]) -> tuple[float, float]:
    """Ratio of two mean squares with its p; NaN where the lower one is 0."""
    if below[1] <= 0.0:
        return math.nan, math.nan
    f = above[1] / below[1]
    return f, float(stats.f.sf(f, above[0], below[0]))
