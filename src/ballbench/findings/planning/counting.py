"""Chances of many simulated tests at once, counted over draws of one posterior for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.evidence import PRIOR_FACTORS, prior_log_weight
from ballbench.findings.tally import Tally
from ballbench.specs import Reading
from ballbench.statistics.grids import GridSize
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.prediction import predict
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats, Study

__all__ = ["Counts", "count", "some_of"]

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Counts:
    """Counts of T tests, K readings of clauses, and F other scales of the prior.

    Parameters
    ----------
    draws : int
        Draws a test.
    met : (K, T) float array
        Draws in which the reading of the clause is met.
    joint : (T,) float array
        Draws in which all are.
    weight, squares : (F, T) float arrays
        Sum of the draws' weights under another prior scale, and of their squares.
    weighted : (F, K, T) float array
        Sum of the weights of the draws in which the reading is met.
    """

    draws: int
    met: Floats
    joint: Floats
    weight: Floats
    squares: Floats
    weighted: Floats

    def plus(self, other: Counts) -> Counts:
        """Put further draws of the same tests to these."""
        return Counts(
            self.draws + other.draws, self.met + other.met, self.joint + other.joint, self.weight + other.weight,
            self.squares + other.squares, self.weighted + other.weighted,
        )  # fmt: skip

    def at(self, tests: Ints) -> Counts:
        """Those of some tests."""
        return Counts(
            self.draws, self.met[:, tests], self.joint[tests], self.weight[:, tests], self.squares[:, tests],
            self.weighted[:, :, tests],
        )  # fmt: skip

    def chances(self) -> tuple[Floats, Floats]:
        """Chances of each reading as it stands and under the other priors, and their standard errors, (1 + F, K, T)."""
        chance = np.concatenate([self.met[None] / self.draws, self.weighted / self.weight[:, None, :]])
        alike = self.weight**2 / self.squares  # so many equally weighted draws would tell as much
        number = np.concatenate([np.full((1, 1, alike.shape[1]), float(self.draws)), alike[:, None, :]])
        return chance, error_of(chance, number)

    def joint_chance(self) -> tuple[Floats, Floats]:
        """Chance that all are met, and its standard error, (T,)."""
        chance = self.joint / self.draws
        return chance, error_of(chance, np.asarray(float(self.draws)))


def error_of(chance: Floats, number: Floats) -> Floats:
    """Standard error of a share of `number` draws, never 0: one draw more on either side is put in (Laplace)."""
    moved = (chance * number + 1.0) / (number + 2.0)
    return np.asarray(np.sqrt(moved * (1.0 - moved) / number))


def some_of(study: Study, tests: Ints) -> Study:
    """Give some of the studies, those whose numbers are in `tests`, an (M,) int array."""
    return replace(study, means=study.means[tests], sse=study.sse[tests])


def count(
    study: Study, size: GridSize, draws: int, readings: Sequence[Reading], extra: Sequence[int], shared_sd: float,
    rng: np.random.Generator,
) -> Counts:  # fmt: skip
    """Draw the true values of every test and count the readings of the clauses over them.

    Parameters
    ----------
    study : Study
        T studies of one design, every place of every ball read.
    size : GridSize
        How fine the grids are.
    draws : int
        Draws a test.
    readings : sequence of Reading
        K readings of clauses.
    extra : sequence of int
        Unread balls of the sample that each counts as well.
    shared_sd : float
        Standard uncertainty of the errors that all readings of a test share.
    rng : numpy.random.Generator
        Seeded by the caller.
    """
    tests, balls, _ = study.shape
    tallies = [Tally(reading, balls) for reading in readings]
    logs: list[list[Floats]] = [[] for _ in PRIOR_FACTORS]
    for truths in Posterior(study, size).sample(rng, draws, shared_sd * rng.standard_normal(tests * draws)):
        values = BallValues(truths.values)
        further = {number: BallValues(predict(truths, number, rng)) for number in set(extra) if number}
        for tally, number in zip(tallies, extra, strict=True):
            tally.add(values, further.get(number))
        for store, times in zip(logs, PRIOR_FACTORS, strict=True):
            store.append(prior_log_weight(truths, study, times))
    met = np.stack([tally.met for tally in tallies]).reshape(len(tallies), tests, draws)
    weight = np.exp(np.stack([np.concatenate(store) for store in logs])).reshape(-1, 1, tests, draws)
    return Counts(
        draws, met.sum(axis=2, dtype=np.float64), met.all(axis=0).sum(axis=1, dtype=np.float64),
        weight[:, 0].sum(axis=2), (weight[:, 0] ** 2).sum(axis=2), (weight * met).sum(axis=3),
    )  # fmt: skip
