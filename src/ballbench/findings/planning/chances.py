"""The operating characteristic of a planned test: chance of met, not met and undecided at stated truths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.findings.planning.blocks import Block, Place, Progress, Run, block_sizes, running
from ballbench.findings.planning.designs import Design, TruthAt, balls_in_question
from ballbench.findings.planning.outcomes import MET, NEITHER, NOT_MET, Codes, Outcomes, join
from ballbench.findings.planning.testing import Setting, run_tests
from ballbench.findings.planning.together import lost_on_one_place

__all__ = ["ClauseChances", "SettingChances", "Share", "chances", "outcomes_of", "share_of", "summary"]


@dataclass(frozen=True, slots=True)
class Share:
    """A share of simulated tests.

    Parameters
    ----------
    value, se : float
        The share and its Monte Carlo standard error.
    low, high : float
        95 % interval (Wilson 1927; NIST/SEMATECH handbook 7.2.4.1, from memory).
    """

    value: float
    se: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ClauseChances:
    """Chances of one clause: how it is decided, and how often rightly and wrongly."""

    clause: str
    met: Share
    not_met: Share
    undecided: Share
    right: Share
    false_met: Share


@dataclass(frozen=True, slots=True)
class SettingChances:
    """Chances at one setting.

    Parameters
    ----------
    design, truth
        The setting.
    minutes : float
        Of the test at the bench.
    tests : int
        Simulated.
    met, not_met, undecided : Share
        Of all clauses on the quantity together; "met as far as tested" counts as met.
    right : Share
        Decided as the true values of the balls in question have it, at the places that the design reads. These are
        the same number for all designs of a plan: the requirement's sample, else the largest number of balls asked
        for; those that are not read are drawn too. Undecided is never right.
    false_met, false_not_met : Share
        Decided the other way.
    clauses : tuple of ClauseChances
        In the requirement's order.
    left_out : mapping of str to str
        Clauses on the quantity that the design cannot test, with the reason.
    in_full : int
        Tests that the full engine judged one by one.
    not_drawn : int
        Tests of which nothing could be drawn; they count as undecided.
    in_question : int
        Balls that a right answer is about.
    one_place : tuple of str
        Clauses on the largest or smallest diameter that cannot end met because one place of a ball is read.
    """

    design: Design
    truth: TruthAt
    minutes: float
    tests: int
    met: Share
    not_met: Share
    undecided: Share
    right: Share
    false_met: Share
    false_not_met: Share
    clauses: tuple[ClauseChances, ...]
    left_out: dict[str, str]
    in_full: int
    not_drawn: int
    in_question: int
    one_place: tuple[str, ...]


def share_of(count: int, tests: int) -> Share:
    """Give a share with its standard error and Wilson interval."""
    z = float(stats.norm.ppf(0.975))
    p = count / tests
    middle = (p + z * z / (2.0 * tests)) / (1.0 + z * z / tests)
    reach = z / (1.0 + z * z / tests) * math.sqrt(p * (1.0 - p) / tests + z * z / (4.0 * tests * tests))
    low, high = middle - reach if count > 0 else 0.0, middle + reach if count < tests else 1.0
    return Share(p, math.sqrt(p * (1.0 - p) / tests), low, high)


def chances(
    settings: Sequence[Setting], tests: int = 400, seed: int = 1, place: Place | None = None,
    progress: Progress | None = None,
) -> tuple[SettingChances, ...]:  # fmt: skip
    """Simulate tests at each setting and say how they end.

    Parameters
    ----------
    settings : sequence of Setting
        Terms, design and truth of each.
    tests : int
        Simulated at each, at least 1.
    seed : int
        Of everything random; the result depends on it, on the settings' order and on `tests`, not on `place`.
    place : Place, optional
        Where to run; on all processors of this machine by default.
    progress : callable, optional
        Told the blocks done and the blocks in all.

    Returns
    -------
    tuple of SettingChances
        In the order of `settings`.

    Raises
    ------
    BadRequest
        `tests` below 1; a setting in which nothing can be tested; a scheduler that cannot be reached.
    """
    check_tests(tests)
    with running(place or Place(), progress) as run:
        return tuple(summary(setting, found) for setting, found in zip(
            settings, outcomes_of(settings, [tests] * len(settings), seed, run), strict=True))  # fmt: skip


def check_tests(tests: int) -> None:
    """Refuse a count of simulated tests below 1."""
    if tests < 1:
        raise BadRequest(Fault("simulated tests", str(tests), "a whole number from 1", "ask for some hundreds"))


def outcomes_of(
    settings: Sequence[Setting], tests: Sequence[int], seed: int, run: Run, first_block: int = 0
) -> list[Outcomes | None]:
    """Run so many tests at each setting, blocks numbered from `first_block`; None where none were asked for."""
    for setting in settings:
        setting.requirement()  # refuses here, with its own words, rather than in a worker
    blocks = [
        Block(run_tests, setting, size, (seed, place, first_block + number))
        for place, setting in enumerate(settings)
        for number, size in enumerate(block_sizes(tests[place], setting.design.balls))
    ]
    results: list[Outcomes] = run(blocks) if blocks else []
    parts: list[list[Outcomes]] = [[] for _ in settings]
    for block, result in zip(blocks, results, strict=True):
        parts[block.key[1]].append(result)
    return [join(rows) if rows else None for rows in parts]


def summary(setting: Setting, found: Outcomes | None) -> SettingChances:
    """Shares of the outcomes at one setting."""
    if found is None:
        raise ValueError("no tests were run at this setting")
    tests = found.product.size
    met, not_met, undecided = (share_of(int((found.product == code).sum()), tests) for code in (MET, NOT_MET, NEITHER))
    right, false_met, false_not_met = _rightness(found.product, found.true_product)
    requirement, left_out = setting.requirement()
    one_place = tuple(c.id for c in requirement.clauses if setting.design.axes == 1 and lost_on_one_place(c))
    return SettingChances(
        setting.design, setting.truth, setting.design.minutes, tests, met, not_met, undecided, right, false_met,
        false_not_met, tuple(_clause(found, c) for c in range(len(found.clauses))), left_out, found.in_full,
        found.not_drawn, balls_in_question(setting.terms, setting.design), one_place,
    )  # fmt: skip


def _clause(found: Outcomes, c: int) -> ClauseChances:
    decided = found.decided[c]
    met, not_met, undecided = (share_of(int((decided == code).sum()), decided.size) for code in (MET, NOT_MET, NEITHER))
    right, false_met, _ = _rightness(decided, found.true[c])
    return ClauseChances(found.clauses[c], met, not_met, undecided, right, false_met)


def _rightness(decided: Codes, true: Codes) -> tuple[Share, Share, Share]:
    """Shares decided rightly, met wrongly, and not met wrongly."""
    tests = decided.size
    right = np.count_nonzero((decided == true) & (true != NEITHER))
    false_met = np.count_nonzero((decided == MET) & (true == NOT_MET))
    false_not_met = np.count_nonzero((decided == NOT_MET) & (true == MET))
    return share_of(int(right), tests), share_of(int(false_met), tests), share_of(int(false_not_met), tests)
