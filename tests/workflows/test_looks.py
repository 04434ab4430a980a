from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from ballbench.errors import BadRequest

MEAN = """[[clause]]
id = "mean"
text = "The mean is at most 40.26 mm."
quantity = "diameter"
ball = "mean"
sample = "mean"
upper = "40.26 mm"
"""


def spent(look: int, planned: int, risk: float = 0.05) -> float:
    """Share of the risk of one look: risk ln(1 + (e - 1) t), differenced (Lan and DeMets 1983, from memory)."""
    total = [risk * math.log(1.0 + (math.e - 1.0) * at / planned) for at in (look - 1, look)]
    return total[1] - total[0]


def test_the_looks_share_the_risk() -> None:
    """The shares of three planned looks add up to the risk, whatever the number of looks."""
    for planned in (1, 2, 3, 7):
        assert abs(sum(spent(look, planned) for look in range(1, planned + 1)) - 0.05) < 1e-12


def test_a_chance_between_the_two_thresholds_is_met_in_one_look_and_undecided_in_three(
    bench: Any, diameters: Callable[..., Any]
) -> None:
    """The same balls: met where one look may spend 5 %, undecided where the first of three may spend its share."""
    path, spec = bench.readings(diameters(balls=24)), bench.spec(MEAN)
    single = bench.one(path, spec, draws=20_000)
    assert 1.0 - 0.05 < single["probability_met"] < 1.0 - spent(3, 3)
    assert single["decision"] == "met"
    third = bench.judge(path, spec, draws=20_000, look=3, planned_looks=3)
    (clause,) = third["products"][0]["clauses"]
    assert clause["probability_met"] == single["probability_met"]
    assert clause["decision"] == "undecided"
    assert (third["look"], third["planned_looks"], third["rule"]["risk"]) == (3, 3, 0.05)
    assert any("look 3 of 3 planned" in note for note in third["notes"])


@pytest.mark.parametrize(("look", "planned"), [(0, 1), (2, 1), (4, 3), (1, 0), (-1, 3)])
def test_a_look_outside_the_plan_is_refused(bench: Any, diameters: Callable[..., Any], look: int, planned: int) -> None:
    """A look that was not planned has no share of the risk."""
    with pytest.raises(BadRequest, match="--look"):
        bench.judge(bench.readings(diameters()), bench.spec(MEAN), look=look, planned_looks=planned)


def test_a_smaller_risk_never_turns_undecided_into_decided(bench: Any, diameters: Callable[..., Any]) -> None:
    """With the risk going down 0.4, 0.2, 0.05, 0.001 the clause goes from decided to undecided, once, and not back."""
    path, spec = bench.readings(diameters(balls=24)), bench.spec(MEAN)
    decisions = [bench.one(path, spec, risk=risk)["decision"] for risk in (0.4, 0.2, 0.05, 0.001)]
    assert decisions == sorted(decisions, key=["met", "not met", "undecided"].index)
    assert decisions[0] == "met"
    assert decisions[-1] == "undecided"
