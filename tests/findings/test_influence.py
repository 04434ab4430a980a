from __future__ import annotations

import numpy as np
import pytest
from tests.findings.made_samples import bench_of, clause_of, reading_of, requirement_of, sample_of

from ballbench.findings.deciding import Rule
from ballbench.findings.influence import _less_one, outliers_of
from ballbench.findings.judging import Effort, ProductData, judge_product
from ballbench.findings.results import ProductFinding
from ballbench.records import Bench
from ballbench.specs import Clause
from ballbench.statistics.preparation import prepare
from ballbench.statistics.study import Floats

RNG = np.random.default_rng(1)
GOOD = 40 + 0.02 * RNG.standard_normal((12, 1)) + 0.008 * RNG.standard_normal((12, 3))


def _judge(y: Floats, clause: Clause, bench: Bench, **more: object) -> ProductFinding:
    data = ProductData("A", {"diameter": sample_of(y)})
    return judge_product(data, requirement_of(clause, **more), bench, Rule(), Effort(draws=8000, settle=False))  # type: ignore[arg-type]


def test_a_single_slip_is_named() -> None:
    """One reading 0.2 mm too high among good ones: it is listed, with the decision that would hold without it."""
    y = GOOD.copy()
    y[4, 1] += 0.2
    clause = clause_of(reading_of("max", "each", upper=40.15))
    found = _judge(y, clause, bench_of(sd=0.005))
    assert found.clauses[0].decision == "not met"
    row = next(row for row in found.influence if row.value == pytest.approx(y[4, 1]))
    assert (row.ball, row.clause, row.repeat) == ("5", "clause", 1)
    assert row.decision_without == "met"


def test_a_repeat_is_named_by_its_number() -> None:
    """The third reading of one place is the slip: repeat 3 is listed, and its fellows stay."""
    y = GOOD[:, :, None] + 0.004 * np.random.default_rng(2).standard_normal((12, 3, 3))
    y[4, 1, 2] += 0.9
    found = _judge(y, clause_of(reading_of("max", "each", upper=40.15)), bench_of(sd=0.005, dof=200))
    row = next(row for row in found.influence if row.value == pytest.approx(y[4, 1, 2]))
    assert (row.ball, row.repeat) == ("5", 3)


def test_good_readings_have_no_influence() -> None:
    """Twelve like balls far inside the limit: no single reading moves anything."""
    found = _judge(GOOD, clause_of(reading_of("max", "each", upper=40.3)), bench_of(sd=0.005))
    assert found.clauses[0].decision == "met"
    assert found.influence == ()


def test_a_ball_far_from_its_fellows_is_shown_and_kept() -> None:
    """Eleven SDs off is found by the generalized ESD test, and the finding still counts all twelve balls."""
    y = GOOD.copy()
    y[7] += 0.22
    found = _judge(y, clause_of(reading_of("mean", "mean", upper=41.0)), bench_of(sd=0.005))
    assert [row.ball for row in found.outliers] == ["8"]
    assert found.balls == 12
    assert outliers_of.__doc__
    assert _judge(GOOD[:9], clause_of(reading_of("mean", "mean", upper=41.0)), bench_of(sd=0.005)).outliers == ()


def test_unread_balls_are_no_influence_of_a_reading() -> None:
    """One of 24 allowed and 16 unread: leaving an ordinary reading out does not make the clause certain."""
    rng = np.random.default_rng(3)
    y = 40 + 0.03 * rng.standard_normal((8, 1)) + 0.01 * rng.standard_normal((8, 3))
    limit = float(np.sort(y.max(axis=1))[-2]) + 0.06
    found = _judge(y, clause_of(reading_of("max", "each", upper=limit, allowed=1)), bench_of(sd=0.004), sample_size=24)
    chance = found.clauses[0].probability_met
    assert chance is not None
    assert chance < 0.9
    assert not any(row.probability_without > 0.99 for row in found.influence)


def test_an_assumption_that_flips_a_decision_is_no_influence_of_a_reading() -> None:
    """Undecided only because half the assumed noise would flip it: no single reading is blamed for that."""
    rng = np.random.default_rng(4)
    y = 40 + 0.03 * rng.standard_normal((12, 1)) + 0.010 * rng.standard_normal((12, 3))
    limit = 0.9 * float(np.ptp(y, axis=1).mean())
    clause = clause_of(reading_of("range", "mean", upper=limit))
    found = _judge(y, clause, bench_of(sd=0.010, dof=400, assumed=True))
    chance = found.clauses[0].probability_met
    assert found.clauses[0].decision == "undecided"
    assert chance is not None
    assert chance > 0.95
    assert not [row for row in found.influence if abs(row.probability_without - chance) < 0.05]


def test_leaving_a_repeat_out_leaves_its_fellow_where_it_was() -> None:
    """Two repeats on a display that cuts off, one left out: the cell is the other reading plus half a step, no more."""
    y = np.floor((GOOD[:, :2, None] + 0.02 * np.random.default_rng(6).standard_normal((12, 2, 2))) * 100) / 100
    prepared = prepare(sample_of(y, step=0.01), bench_of(sd=0.02, resolution=0.01, display="truncates"))
    left = _less_one(prepared.study, 0, 0, float(y[0, 0, 0]) + prepared.correction)
    assert left.means[0, 0, 0] == pytest.approx(y[0, 0, 1] + 0.005, abs=1e-9)
