from __future__ import annotations

import math

import numpy as np
import pytest
from tests.findings.made_samples import bench_of, sample_of

from ballbench.findings.comparing import compare_samples
from ballbench.findings.difference_budget import PARTLY
from ballbench.findings.results import CANCELS, BudgetFinding, BudgetLine
from ballbench.records import Bench, Expansion, Squeeze, Temperature
from ballbench.statistics.study import Floats

WARM = {"temperature": Temperature(25.0, 3.0, 23.0), "expansion": Expansion(9e-5, 0.2)}


def balls(seed: int, mean: float) -> Floats:
    rng = np.random.default_rng(seed)
    truth = mean + 0.02 * rng.standard_normal((12, 1)) + 0.01 * rng.standard_normal((12, 2))
    return np.asarray(truth + 0.008 * rng.standard_normal((12, 2)))


def of_difference(means: tuple[float, float], bench: Bench) -> BudgetFinding:
    """Budget of A minus B, 12 balls of 2 places each."""
    samples = {name: sample_of(balls(i, means[i]), product=name) for i, name in enumerate("AB")}
    budget = compare_samples(samples, bench, 1, 8000)[1][0].budget
    assert budget is not None
    return budget


def by_name(budget: BudgetFinding) -> dict[str, BudgetLine]:
    return {line.name: line for line in budget.lines}


def test_what_both_share_cancels_and_is_shown_as_such() -> None:
    """An offset in doubt by 0.5 mm has its line, its size and no share: c_a = c_b (JCGM 100:2008, equation 16)."""
    plain = of_difference((40.03, 40.0), bench_of(sd=0.008))
    budget = of_difference((40.03, 40.0), bench_of(sd=0.008, offset_sd=0.5, **WARM))
    lines = by_name(budget)
    assert (lines["offset"].u, lines["offset"].note) == (pytest.approx(0.5), CANCELS)
    assert lines["ball_temperature"].note == CANCELS
    assert lines["offset"].share < 1e-6
    assert budget.u == pytest.approx(plain.u, rel=0.01)
    assert "offset" not in by_name(plain)
    assert sum(line.share for line in budget.lines) == pytest.approx(1.0)
    assert budget.lines[-1].share <= budget.lines[0].share


def test_the_budget_of_a_difference_is_near_what_is_drawn() -> None:
    """U against half the drawn 95 % interval within 12 %, and squares of the lines sum to u squared (exact algebra)."""
    budget = of_difference((40.03, 40.0), bench_of(sd=0.008, dof=50))
    assert budget.drawn_expanded == pytest.approx(budget.expanded, rel=0.12)
    assert math.hypot(*(line.contribution for line in budget.lines)) == pytest.approx(budget.u)
    assert {line.name for line in budget.lines} == {
        f"{name} {who}" for name in ("reading", "balls", "places") for who in "AB"
    }
    assert budget.dominant == "balls"


def test_squeeze_belongs_to_the_make_and_stays() -> None:
    """Squeezes in doubt by 0.03 and 0.04 mm bring 0.05 mm (exact algebra), and that dominates."""
    squeeze = {"A": Squeeze(0.0, 0.03), "B": Squeeze(0.0, 0.04)}
    budget = of_difference((40.0, 40.0), bench_of(sd=0.008, squeeze=squeeze))
    assert by_name(budget)["squeeze"].contribution == pytest.approx(0.05)
    assert by_name(budget)["squeeze"].note == ""
    assert budget.dominant == "squeeze"


def test_a_shared_temperature_of_unlike_sizes_is_left_in_part() -> None:
    """Balls of 40 and 60 mm at one temperature in doubt by 3 K: 20 mm of difference times 9e-5 times 3 K is left."""
    budget = of_difference((60.0, 40.0), bench_of(sd=0.008, **WARM))
    line = by_name(budget)["ball_temperature"]
    assert line.note == PARTLY
    assert line.contribution == pytest.approx(20 * 9e-5 * 3, rel=0.01)
