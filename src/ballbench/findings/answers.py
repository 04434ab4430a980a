"""Clauses on yes/no results: ring gauges, cracks, same-spot counts. Exact binomial bounds, no model of noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from ballbench.findings.results import Decision
from ballbench.records import Answers
from ballbench.specs import CountRule
from ballbench.statistics.counts import share_bounds, share_upper_bound

__all__ = ["AnswerFinding", "judge_answers"]


@dataclass(frozen=True, slots=True)
class AnswerFinding:
    """What yes/no results say of a clause.

    Parameters
    ----------
    decision : Decision
        Of the clause for these balls.
    probability_met : float
        1 or 0 where the rule's own number of trials was made; else the chance that a run of that length meets it.
    value : float
        Count that the rule names, of the ball furthest off; or number of balls with the wrong answer.
    outside : int
        Balls outside.
    share_bound : float
        Upper 95 % bound of the share of such balls that are outside.
    notes : tuple of str
        What was counted, in words.
    """

    decision: Decision
    probability_met: float
    value: float
    outside: int
    share_bound: float
    notes: tuple[str, ...]


def judge_answers(rule: CountRule, answers: Answers, risk: float, allowed: int = 0) -> AnswerFinding:
    """Judge a clause on yes/no results.

    Parameters
    ----------
    rule : CountRule
        What is counted and its limits.
    answers : Answers
        Counts of yes and of trials for each ball.
    risk : float
        Of a false "met".
    allowed : int
        Balls that may be outside.

    Returns
    -------
    AnswerFinding
        With the rule's own number of trials a ball is inside or outside as counted. With another number the chance
        that a run of the rule's length would meet it is taken over the beta distribution of the ball's share
        (Jeffreys prior), and the decision follows the exact binomial bounds of that share (Clopper and Pearson 1934).
    """
    yes = answers.yes if rule.answer else answers.trials - answers.yes
    if rule.out_of is None:
        return _one_answer_each(yes, answers, allowed)
    return _counted(rule, yes, answers, risk, allowed)


def _one_answer_each(good: np.ndarray, answers: Answers, allowed: int) -> AnswerFinding:
    """Every ball must give the answer at every trial."""
    wrong = int((good < answers.trials).sum())
    met = wrong <= allowed
    n = len(answers.balls)
    bound = float(share_upper_bound(wrong, n)) if wrong < n else 1.0
    note = f"{n - wrong} of {n} balls as required; of balls like these up to {100 * bound:.2g} % may not be (95 %)"
    return AnswerFinding("met" if met else "not met", float(met), float(wrong), wrong, bound, (note,))


def _counted(rule: CountRule, yes: np.ndarray, answers: Answers, risk: float, allowed: int) -> AnswerFinding:
    """The count of each ball is held against limits for the rule's number of trials."""
    out_of = int(rule.out_of or 1)
    low = rule.at_least if rule.at_least is not None else 0
    high = rule.at_most if rule.at_most is not None else out_of
    chances, decisions = [], []
    for good, trials in zip(yes.tolist(), answers.trials.tolist(), strict=True):
        chances.append(_chance(good, trials, out_of, low, high))
        decisions.append(_decision(good, trials, out_of, low, high, risk))
    outside = sum(d == "not met" for d in decisions)
    open_balls = sum(d == "undecided" for d in decisions)
    decision: Decision = "met" if outside + open_balls <= allowed else "undecided"
    if outside > allowed:
        decision = "not met"
    order = np.sort(np.array(chances))
    probability = float(np.prod(order[allowed:])) if order.size > allowed else 1.0
    counts = np.asarray(yes) * out_of / np.maximum(answers.trials, 1)
    off = np.maximum(counts - high, low - counts)
    n = len(answers.balls)
    bound = float(share_upper_bound(outside, n)) if outside < n else 1.0
    note = f"{out_of} trials a ball are the rule's own number; {int(answers.trials.min())} were made at least"
    return AnswerFinding(decision, probability, float(counts[int(off.argmax())]), outside, bound, (note,))


def _chance(good: int, trials: int, out_of: int, low: int, high: int) -> float:
    """Chance that a run of the rule's length gives a count inside the limits."""
    if trials == out_of:
        return float(low <= good <= high)
    run = stats.betabinom(out_of, good + 0.5, trials - good + 0.5)
    return float(run.cdf(high) - (run.cdf(low - 1) if low > 0 else 0.0))


def _decision(good: int, trials: int, out_of: int, low: int, high: int, risk: float) -> Decision:
    """Decide one ball: as counted, or by the bounds of its share."""
    if trials == out_of:
        return "met" if low <= good <= high else "not met"
    bounds = share_bounds(good, trials, 1.0 - 2.0 * risk)
    if bounds.low * out_of >= low and bounds.high * out_of <= high:
        return "met"
    if bounds.low * out_of > high or bounds.high * out_of < low:
        return "not met"
    return "undecided"
