from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from tests.findings.made_samples import clause_of, reading_of, requirement_of
from tests.findings.planning.planned import FINE_STEP, rules, setting_of

from ballbench.errors import BadRequest
from ballbench.findings.deciding import Rule
from ballbench.findings.planning.blocks import Place
from ballbench.findings.planning.chances import chances, share_of
from ballbench.findings.planning.designs import TruthAt
from ballbench.findings.planning.testing import Setting
from ballbench.records import Instrument
from ballbench.specs import Requirement

HERE = Place(1)
MEAN_ONLY = requirement_of(clause_of(reading_of("mean", "mean", upper=40.5), identity="mean"))


@pytest.mark.parametrize(("met", "tests"), [(0, 20), (3, 100), (55, 100), (400, 400)])
def test_the_interval_of_a_share_is_wilsons(met: int, tests: int) -> None:
    """Both ends agree with scipy's Wilson interval (other library)."""
    theirs = stats.binomtest(met, tests).proportion_ci(0.95, method="wilson")
    share = share_of(met, tests)
    assert (share.low, share.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)
    assert share.se == pytest.approx(np.sqrt(met / tests * (1 - met / tests) / tests))


@pytest.mark.parametrize("margin", [-2.0, 0.0, 1.0, 2.5])
def test_an_offset_alone_in_doubt_follows_the_closed_form(margin: float) -> None:
    """True mean m inside its limit, offset known to u: met with Phi(m/u - 1.645), not met with Phi(-m/u - 1.645).

    Exact for the guarded rule (JCGM 106:2012, 8.3.3, forms from memory): the mean that is read is normal with SD u.
    """
    tool = Instrument("caliper", "diameter", "mm", 1e-4, 1e-3, 1e9, offset_sd=0.02)
    setting = setting_of(TruthAt(40.5 - margin * 0.02, 0.001), 12, 2, tool=tool, requirement=MEAN_ONLY)
    (found,) = chances([setting], 400, seed=2, place=HERE)
    for share, exact in (
        (found.met, stats.norm.cdf(margin - 1.645)),
        (found.not_met, stats.norm.cdf(-margin - 1.645)),
    ):
        assert share.value == pytest.approx(exact, abs=3.5 * np.sqrt(exact * (1 - exact) / 400) + 0.006)
    assert found.met.value + found.not_met.value + found.undecided.value == pytest.approx(1.0)


def test_false_met_is_about_the_risk_at_the_limit_and_right_is_what_is_true() -> None:
    """Mean a hair outside: "met" is false and said in about 5 %; well outside "not met" is right (definitions)."""
    tool = replace(FINE_STEP, offset_sd=0.02)
    at = [setting_of(TruthAt(m, 0.0), 12, 2, tool=tool, requirement=MEAN_ONLY) for m in (40.5001, 40.6, 40.4)]
    edge, outside, inside = chances(at, 300, place=HERE)
    assert edge.false_met.value == pytest.approx(0.05, abs=0.04)
    assert edge.met.value == edge.false_met.value
    assert outside.right.value == outside.not_met.value > 0.99
    assert inside.right.value == inside.met.value > 0.99
    assert inside.false_not_met.value == 0.0


def test_the_simple_rule_is_judged_in_full() -> None:
    """Raw value against the limit: mean m inside, raw mean normal with SD u, met with Phi(m/u) (exact algebra)."""
    tool = Instrument("caliper", "diameter", "mm", 1e-4, 1e-3, 1e9, offset_sd=0.02)
    setting = setting_of(TruthAt(40.48, 0.001), 6, 1, tool=tool, requirement=MEAN_ONLY)
    setting = replace(setting, terms=replace(setting.terms, rule=Rule("simple")))
    (found,) = chances([setting], 200, place=HERE)
    assert found.in_full == 200
    assert found.met.value == pytest.approx(stats.norm.cdf(1.0), abs=3.5 * 0.026)


def test_a_smaller_risk_says_met_less_often_to_the_same_tests() -> None:
    """Risk 1 % instead of 5 %: never more often met, nor not met, on the same simulated tests (monotone)."""
    base = setting_of(TruthAt(40.47, 0.02, 0.02), 12, 3)
    strict = replace(base, terms=replace(base.terms, rule=Rule(risk=0.01)))
    (usual,), (careful,) = chances([base], 100, place=HERE), chances([strict], 100, place=HERE)
    assert careful.met.value <= usual.met.value
    assert careful.undecided.value > usual.undecided.value


def test_one_place_cannot_show_the_largest_diameter() -> None:
    """One place a ball: the clause on the largest diameter is never met, as a judgement has it; ranges left out."""
    setting = setting_of(TruthAt(40.3, 0.01), 6, 1, requirement=rules(axes=4))
    (found,) = chances([setting], 20, place=HERE)
    largest = next(row for row in found.clauses if row.clause == "largest")
    assert largest.met.value == 0.0
    assert set(found.left_out) >= {"range"}
    assert "two diameters" in found.left_out["range"]


def _of_mass() -> Requirement:
    return requirement_of(clause_of(reading_of("mean", "each", upper=3.0), quantity="mass"))


@pytest.mark.parametrize(
    ("requirement", "said"),
    [
        (_of_mass(), "no clause on this quantity"),
        (requirement_of(clause_of(reading_of("range", "each", upper=0.002))), "finer than half a step"),
    ],
)
def test_a_plan_that_can_test_nothing_is_refused(requirement: Requirement, said: str) -> None:
    """No clause on the quantity, or none that the instrument can answer: refused before anything is simulated."""
    setting: Setting = setting_of(TruthAt(40.3, 0.01), 6, 2, requirement=requirement)
    with pytest.raises(BadRequest) as caught:
        chances([setting], 10, place=HERE)
    assert said in str(caught.value)
    with pytest.raises(BadRequest):
        chances([setting_of(TruthAt(40.3, 0.01), 6, 2)], 0, place=HERE)
