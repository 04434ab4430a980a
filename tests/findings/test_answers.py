from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy import integrate, stats
from tests.findings.made_samples import OWN, bench_of, requirement_of

from ballbench.findings.answers import judge_answers
from ballbench.findings.deciding import Rule
from ballbench.findings.judging import Effort, ProductData, judge_product
from ballbench.records import Answers
from ballbench.specs import Clause, CountRule, Reading


def _answers(yes: list[int], trials: list[int]) -> Answers:
    names = tuple(str(i + 1) for i in range(len(yes)))
    return Answers(names, ("",) * len(yes), np.array(yes), np.array(trials))


@pytest.mark.parametrize(
    ("wrong", "allowed", "decision"), [(0, 0, "met"), (1, 0, "not met"), (1, 1, "met"), (2, 1, "not met")]
)
def test_one_answer_a_ball_is_counted(wrong: int, allowed: int, decision: str) -> None:
    """Every ball must give the answer, but for those allowed; what was counted is certain for these balls."""
    found = judge_answers(CountRule(True), _answers([0] * wrong + [1] * (12 - wrong), [1] * 12), 0.05, allowed)
    assert found.decision == decision
    assert (found.value, found.outside) == (wrong, wrong)


def test_no_bad_ball_of_24_still_allows_an_eighth() -> None:
    """0 bad of 24 leaves up to 1 - 0.05^(1/24) = 11.7 % bad in the batch at 95 % (exact binomial)."""
    found = judge_answers(CountRule(False), _answers([0] * 24, [1] * 24), 0.05)
    assert found.share_bound == pytest.approx(1 - 0.05 ** (1 / 24), rel=1e-9)
    assert "12 %" in found.notes[0]


@pytest.mark.parametrize(("wrong", "balls"), [(1, 12), (3, 24), (5, 6)])
def test_bound_of_the_share_is_exact(wrong: int, balls: int) -> None:
    """At the bound so few bad balls or fewer are seen in exactly 5 % of samples (binomial, scipy)."""
    found = judge_answers(CountRule(True), _answers([0] * wrong + [1] * (balls - wrong), [1] * balls), 0.05)
    assert stats.binom.cdf(wrong, balls, found.share_bound) == pytest.approx(0.05, rel=1e-6)


def test_the_rules_own_number_of_trials_is_judged_as_counted() -> None:
    """At least 8 of 10 with ten trials made: 8 is met, 7 is not, over all counts."""
    for good in range(11):
        found = judge_answers(CountRule(True, at_least=8, out_of=10), _answers([good], [10]), 0.05)
        assert found.decision == ("met" if good >= 8 else "not met")
        assert found.probability_met == float(good >= 8)


@pytest.mark.parametrize("trials", [5, 20, 60])
def test_other_numbers_of_trials_follow_exact_bounds(trials: int) -> None:
    """Met only where even the lower 95 % bound of the share reaches the limit, by binomial tails of scipy."""
    rule = CountRule(True, at_least=6, out_of=10)
    for good in range(trials + 1):
        decision = judge_answers(rule, _answers([good], [trials]), 0.05).decision
        high_tail = stats.binom.sf(good - 1, trials, 0.6)
        low_tail = stats.binom.cdf(good, trials, 0.6)
        expected = "met" if high_tail <= 0.05 else "not met" if low_tail < 0.05 else "undecided"
        assert decision == expected, good


@pytest.mark.parametrize(("good", "trials"), [(3, 5), (18, 20), (0, 4)])
def test_chance_of_a_run_is_the_binomial_averaged_over_the_share(good: int, trials: int) -> None:
    """Chance of at least 7 of 10: binomial tail integrated over Jeffreys' beta posterior (scipy quadrature)."""
    share = stats.beta(good + 0.5, trials - good + 0.5)
    theirs = integrate.quad(lambda p: stats.binom.sf(6, 10, p) * share.pdf(p), 0, 1, limit=200)[0]
    found = judge_answers(CountRule(True, at_least=7, out_of=10), _answers([good], [trials]), 0.05)
    assert found.probability_met == pytest.approx(theirs, rel=1e-5, abs=1e-9)


def test_false_met_keeps_the_risk() -> None:
    """A share just short of the limit is said to be met with a chance of at most the risk, whatever the trials."""
    rule = CountRule(True, at_least=9, out_of=10)
    for trials in (11, 25, 40, 90):
        chance = sum(
            stats.binom.pmf(good, trials, 0.8999)
            for good in range(trials + 1)
            if judge_answers(rule, _answers([good], [trials]), 0.05).decision == "met"
        )
        assert chance <= 0.05


def test_chance_of_several_balls_is_no_larger_than_exact() -> None:
    """With one of three allowed outside, the chance stated is at most the exact one, by all eight cases."""
    rule = CountRule(True, at_least=7, out_of=10)
    yes, trials = [12, 13, 9], [16, 15, 14]
    each = [judge_answers(rule, _answers([y], [t]), 0.05).probability_met for y, t in zip(yes, trials, strict=True)]
    exact = sum(
        float(np.prod([p if ok else 1 - p for p, ok in zip(each, case, strict=True)]))
        for case in product((True, False), repeat=3)
        if sum(case) >= 2
    )
    found = judge_answers(rule, _answers(yes, trials), 0.05, allowed=1)
    assert found.probability_met <= exact + 1e-12
    assert judge_answers(rule, _answers(yes, trials), 0.05).probability_met == pytest.approx(float(np.prod(each)))


@pytest.mark.parametrize("balls", [6, 48])
def test_an_allowance_is_for_its_own_number_of_balls(balls: int) -> None:
    """One of 24 may be wrong, one was, of 6 or of 48 balls: not simply met (methods: applies at n = N)."""
    reading = Reading("text", "mean", "each", None, None, False, 1)
    clause = Clause("ring", "ring_gauge", "1", "1", (reading,), OWN, CountRule(True))
    data = ProductData("A", {}, {"ring_gauge": _answers([0] + [1] * (balls - 1), [1] * balls)})
    found = judge_product(data, requirement_of(clause, sample_size=24), bench_of(), Rule(), Effort())
    assert found.clauses[0].decision != "met"
