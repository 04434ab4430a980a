"""How simulated tests ended: decisions beside what was true of the balls in question."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.results import Decision, ProductDecision
from ballbench.findings.tally import limits_of, margin_of
from ballbench.specs import Clause, Reading
from ballbench.statistics.reductions import BallValues, over_balls
from ballbench.statistics.study import Floats

__all__ = ["MET", "NEITHER", "NOT_MET", "Outcomes", "code_of", "join", "true_codes"]

Codes = NDArray[np.int8]
MET, NOT_MET, NEITHER = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Outcomes:
    """Decisions of T simulated tests on C clauses.

    Parameters
    ----------
    clauses : tuple of str
        Identities.
    decided : (C, T) int8 array
        0 met, 1 not met, 2 undecided.
    product : (T,) int8 array
        Likewise for all clauses on the quantity together.
    true : (C, T) int8 array
        0 where the true values of the balls in question meet the clause under each reading of its text, 1 where they
        meet it under none, else 2.
    true_product : (T,) int8 array
        0 where they meet every clause, 1 where they surely miss one, else 2.
    in_full : int
        Tests that the full engine judged one by one.
    not_drawn : int
        Tests of which nothing could be drawn, because the sampler for coarse displays did not agree with itself; they
        count as undecided.
    """

    clauses: tuple[str, ...]
    decided: Codes
    product: Codes
    true: Codes
    true_product: Codes
    in_full: int = 0
    not_drawn: int = 0


def code_of(decision: Decision | ProductDecision) -> int:
    """0 for met (as far as tested, too), 1 for not met, 2 for anything else."""
    if decision in ("met", "met as far as tested"):
        return MET
    return NOT_MET if decision == "not met" else NEITHER


def join(parts: Iterable[Outcomes]) -> Outcomes:
    """Put the tests of several blocks side by side."""
    rows = list(parts)
    return Outcomes(
        rows[0].clauses,
        np.concatenate([row.decided for row in rows], axis=1),
        np.concatenate([row.product for row in rows]),
        np.concatenate([row.true for row in rows], axis=1),
        np.concatenate([row.true_product for row in rows]),
        sum(row.in_full for row in rows),
        sum(row.not_drawn for row in rows),
    )


def true_codes(clauses: Sequence[Clause], values: Floats) -> tuple[Codes, Codes]:
    """Say which clauses the true values meet.

    Parameters
    ----------
    clauses : sequence of Clause
        On one quantity.
    values : (T, n, k) float array
        True values of all balls in question at the planned places, read or not.

    Returns
    -------
    (C, T) and (T,) int8 arrays
        As in `Outcomes`.
    """
    balls = BallValues(values.transpose(2, 1, 0))
    rows = []
    for clause in clauses:
        met = np.array([_met(reading, balls) for reading in clause.readings])
        rows.append(np.where(met.all(axis=0), MET, np.where(met.any(axis=0), NEITHER, NOT_MET)))
    codes = np.array(rows, dtype=np.int8)
    whole = np.where((codes == MET).all(axis=0), MET, np.where((codes == NOT_MET).any(axis=0), NOT_MET, NEITHER))
    return codes, whole.astype(np.int8)


def _met(reading: Reading, values: BallValues) -> NDArray[np.bool_]:
    """Whether true values meet one reading of a clause, (T,)."""
    lower, upper = limits_of(reading)
    ball = values(reading.ball)
    if reading.sample != "each":
        return np.asarray(margin_of(over_balls(ball, reading.sample), lower, upper) > 0)
    return np.asarray((margin_of(ball, lower, upper) <= 0).sum(axis=0) <= reading.allowed_outside)
