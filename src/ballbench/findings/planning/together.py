"""Many simulated tests of one design judged together: the same posterior, the same rule, the same second looks.

What `judging.judge_product` does to one test is done to T at once: the chance of every clause, under the other scales
of the prior and other noises where the judging looks at them; every ball alone; the product by its joint chance. Few
draws first, on coarse grids; only tests near a threshold are drawn again on the grids of a judgement, and more often.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.alone import alone_chances, plays_a_part
from ballbench.findings.deciding import agree, decide, decide_product
from ballbench.findings.planning.counting import Counts, count, error_of, some_of
from ballbench.findings.planning.outcomes import Codes, code_of
from ballbench.findings.results import Decision
from ballbench.findings.sensitivity import FORM_REDUCTIONS
from ballbench.specs import Clause
from ballbench.statistics.grids import COARSE, FINE, GridSize
from ballbench.statistics.study import Floats, Noise, Study

__all__ = ["Batch", "judge_together", "lost_on_one_place"]

ROUNDS: tuple[tuple[GridSize, int], ...] = ((COARSE, 256), (COARSE, 768), (FINE, 2048))
"""Grids and draws of each round; a test goes on only while a chance is near a threshold. Draws on the same grids are
counted together."""
NEAR = 3.0
"""Standard errors of a chance within which a threshold is near."""
ALONE_FIRST, ALONE_LAST = 128, 2048
"""Draws of a ball judged alone: first, and where it is near the threshold, as many as a judgement takes."""
AT_A_TIME = 256

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Batch:
    """Simulated tests that can be judged together.

    Parameters
    ----------
    study : Study
        T studies of one design.
    shared_sd : float
        Standard uncertainty of the errors that all readings of a test share.
    clauses : tuple of Clause
        That the design can test.
    unread : int
        Balls of the requirement's sample that the design does not read.
    noises : tuple of float
        Factors of an assumed repeatability under which the decision must hold; empty where it is stated.
    risk : float
        Of the rule, for this look.
    """

    study: Study
    shared_sd: float
    clauses: tuple[Clause, ...]
    unread: int
    noises: tuple[float, ...]
    risk: float


@dataclass(slots=True)
class _Chances:
    """Chances (V, K, T) as they stand and under V - 1 other assumptions, NaN where one plays no part; joint (T,)."""

    single: Floats
    error: Floats
    joint: Floats
    joint_error: Floats


def judge_together(batch: Batch, rng: np.random.Generator) -> tuple[Codes, Codes]:
    """Decide every clause and the product for every test.

    Returns
    -------
    (C, T) and (T,) int8 arrays
        Codes of `outcomes`.
    """
    chances = _drawn(batch, rng)
    alone = _alone(batch, chances.single[0], rng)
    tests = batch.study.shape[0]
    decided = np.empty((len(batch.clauses), tests), np.int8)
    product = np.empty(tests, np.int8)
    for t in range(tests):
        decisions, first = _decide(batch, chances.single[:, :, t], alone, t)
        decided[:, t] = [code_of(decision) for decision in decisions]
        product[t] = code_of(decide_product(decisions, first, float(chances.joint[t]), batch.risk))
    return decided, product


def _decide(
    batch: Batch, chances: Floats, alone: list[dict[int, Floats]], t: int
) -> tuple[list[Decision], list[float]]:
    """Decide the clauses of test t from the chances (V, K) of their readings; and each clause's first chance."""
    decisions: list[Decision] = []
    first: list[float] = []
    place = 0
    one = batch.study.shape[2] == 1
    for clause in batch.clauses:
        under: list[Decision] = []
        first.append(float(chances[0, place]))
        for reading in clause.readings:
            under.append(_held(chances[:, place], batch.risk, alone[place].get(t), reading.allowed_outside))
            place += 1
        decision = agree(under)
        if one and decision == "met" and lost_on_one_place(clause):
            decision = "undecided"  # as the judging has it: one place cannot show the largest or smallest diameter
        decisions.append(decision)
    return decisions, first


def lost_on_one_place(clause: Clause) -> bool:
    """Whether one place read cannot end the clause met: it is on the largest or smallest diameter."""
    return clause.quantity == "diameter" and clause.readings[0].ball in ("max", "min")


def _held(chances: Floats, risk: float, alone: Floats | None, allowed: int) -> Decision:
    """Decide by the first chance; undecided where another assumption, (V,), decides otherwise."""
    decision = decide(float(chances[0]), risk, alone, allowed)
    for other in chances[1:]:
        if decision == "undecided":
            break
        if not np.isnan(other) and decide(float(other), risk, alone, allowed) != decision:
            return "undecided"
    return decision


# -------------------------------------------------------------------------------------------- draws, more where near


def _drawn(batch: Batch, rng: np.random.Generator) -> _Chances:
    """Draw in rounds until no chance is near a threshold."""
    near = np.arange(batch.study.shape[0])
    size, draws = ROUNDS[0]
    kept = _counted(batch, near, size, draws, rng)
    chances = again = _chances(kept, batch)
    for next_size, draws in ROUNDS[1:]:
        still = np.flatnonzero(_near(again, batch))
        near = near[still]
        if near.size == 0:
            break
        more = _counted(batch, near, next_size, draws, rng)
        if next_size is size:
            more = [old.at(still).plus(new) for old, new in zip(kept, more, strict=True)]
        kept, size, again = more, next_size, _chances(more, batch)
        chances.single[:, :, near], chances.error[:, :, near] = again.single, again.error
        chances.joint[near], chances.joint_error[near] = again.joint, again.joint_error
    return chances


def _counted(batch: Batch, tests: Ints, size: GridSize, draws: int, rng: np.random.Generator) -> list[Counts]:
    """Counts as the study stands, and under every other noise."""
    readings = [reading for clause in batch.clauses for reading in clause.readings]
    extra = [
        batch.unread if any(reading.allowed_outside for reading in clause.readings) else 0
        for clause in batch.clauses
        for _ in clause.readings
    ]
    study = some_of(batch.study, tests)
    return [
        count(_with_noise(study, factor), size, draws, readings, extra, batch.shared_sd, rng)
        for factor in (1.0, *batch.noises)
    ]


def _with_noise(study: Study, factor: float) -> Study:
    return replace(study, noise=Noise(study.noise.sd * factor, study.noise.dof))


def _chances(counts: list[Counts], batch: Batch) -> _Chances:
    """Chances from counts; other noises play a part where form does."""
    single, error = counts[0].chances()
    form = np.array([r.ball in FORM_REDUCTIONS for clause in batch.clauses for r in clause.readings])[:, None]
    for other in counts[1:]:
        chance, rough = other.chances()
        single = np.concatenate([single, np.where(form, chance[:1], np.nan)])
        error = np.concatenate([error, rough[:1]])
    joint, joint_error = counts[0].joint_chance()
    return _Chances(single, error, joint, joint_error)


def _near(chances: _Chances, batch: Batch) -> NDArray[np.bool_]:
    """Which tests have a chance near a threshold that matters to a decision, (T,)."""
    risk = batch.risk
    low, high = risk, 1.0 - risk
    p, error = chances.single, NEAR * chances.error
    near = (abs(p[0] - low) <= error[0]) | (abs(p[0] - high) <= error[0])
    open_ = (p[0] > low) & (p[0] < high) & ~near  # undecided whatever the other assumptions say
    side = np.where(p[0] < 0.5, low, high)
    others = (abs(p[1:] - side) <= error[1:]) & ~open_
    first = _first_readings(batch.clauses)
    each = risk / len(batch.clauses)
    surely = (p[0, first] + error[0, first] <= each).any(axis=0)
    told = (abs(p[0, first] - each) <= error[0, first]).any(axis=0) & ~surely
    joint = abs(chances.joint - high) <= NEAR * chances.joint_error
    return np.asarray(near.any(axis=0) | others.any(axis=(0, 1)) | told | joint)


def _first_readings(clauses: Sequence[Clause]) -> list[int]:
    """Place of each clause's first reading among all readings."""
    places, place = [], 0
    for clause in clauses:
        places.append(place)
        place += len(clause.readings)
    return places


# -------------------------------------------------------------------------------------------- every ball by itself


def _alone(batch: Batch, chances: Floats, rng: np.random.Generator) -> list[dict[int, Floats]]:
    """Chance of every ball by itself, (n,), for the tests in which a reading would be met by its chance (K, T)."""
    readings = [reading for clause in batch.clauses for reading in clause.readings]
    wanted = np.array([plays_a_part(reading) for reading in readings])[:, None] & (chances >= 1.0 - batch.risk)
    tests = np.flatnonzero(wanted.any(axis=0))
    found: list[dict[int, Floats]] = [{} for _ in readings]
    if tests.size == 0:
        return found

    def judged(study: Study, draws: int) -> list[Floats | None]:
        shared = batch.shared_sd * rng.standard_normal((study.shape[0], draws))
        return alone_chances(study, shared, readings, rng)

    first = judged(some_of(batch.study, tests), ALONE_FIRST)
    flags = _unsure_balls(first, wanted[:, tests], batch.risk, [reading.allowed_outside for reading in readings])
    _look_again(batch.study, tests, first, flags, judged)
    for place, rows in enumerate(first):
        if rows is not None:
            found[place] = {int(t): rows[:, i] for i, t in enumerate(tests)}
    return found


def _unsure_balls(
    found: list[Floats | None], wanted: NDArray[np.bool_], risk: float, allowed: list[int]
) -> NDArray[np.bool_]:
    """Which balls of which tests, (n, T), are near the threshold where that matters."""
    shape = next(rows.shape for rows in found if rows is not None)
    flags = np.zeros(shape, bool)
    for rows, ask, out in zip(found, wanted, allowed, strict=True):
        if rows is None:
            continue
        error = NEAR * error_of(rows, np.asarray(float(ALONE_FIRST)))
        surely_far = (rows + error < 1.0 - risk).sum(axis=0) > out
        flags |= (abs(rows - (1.0 - risk)) <= error) & ask & ~surely_far
    return flags


def _look_again(
    study: Study,
    tests: Ints,
    found: list[Floats | None],
    flags: NDArray[np.bool_],
    judged: Callable[[Study, int], list[Floats | None]],
) -> None:
    """Judge the flagged balls once more with as many draws as a judgement takes, each as a study of its own."""
    balls, at = np.nonzero(flags)
    for start in range(0, balls.size, AT_A_TIME):
        part = slice(start, start + AT_A_TIME)
        i, j = balls[part], at[part]
        own = replace(
            study, means=study.means[tests[j], i][:, None, :], counts=study.counts[:1], sse=study.sse[tests[j]],
            axis_effects=False,
        )  # fmt: skip
        for rows, better in zip(found, judged(own, ALONE_LAST), strict=True):
            if rows is not None and better is not None:
                rows[i, j] = better[0]
