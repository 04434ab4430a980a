"""One block of simulated tests at one setting: simulate, judge together what can be, and the rest in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ballbench.findings.judging import Effort, ProductData, judge_product
from ballbench.findings.planning.designs import (
    Design,
    Terms,
    TruthAt,
    balls_in_question,
    example_values,
    testable_clauses,
)
from ballbench.findings.planning.outcomes import NEITHER, Codes, Outcomes, code_of, true_codes
from ballbench.findings.planning.simulating import draw_balls, draw_shared, read_balls, sample_from
from ballbench.findings.planning.together import Batch, judge_together
from ballbench.records import Sample
from ballbench.specs import Requirement
from ballbench.statistics.preparation import Prepared, prepare
from ballbench.statistics.study import Study

__all__ = ["Setting", "judge_in_full", "judge_samples", "run_tests", "simulated_samples"]

NOISES = (0.5, 2.0)
"""Factors of an assumed repeatability, as `findings.sensitivity` takes them."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One place of an operating characteristic: terms, design and the make that the test meets."""

    terms: Terms
    design: Design
    truth: TruthAt

    def requirement(self) -> tuple[Requirement, dict[str, str]]:
        """The requirement cut down to what the design can test, and the reason for each clause that is left out.

        Raises
        ------
        BadRequest
            Nothing can be tested; or the bench has no instrument for the quantity, or several and none is named.
        """
        example = sample_from(self.terms.kit, self.terms.product, self.design, example_values(self.truth, self.design))
        return testable_clauses(self.terms, self.design, example)


def simulated_samples(setting: Setting, tests: int, rng: np.random.Generator) -> tuple[list[Sample], Codes, Codes]:
    """Simulate tests: their readings, and which clauses the balls in question meet, (C, T), and all clauses, (T,).

    Balls in question that the design does not read are drawn with the others. A design of more balls than are in
    question is held against the first of them.
    """
    terms, design, truth = setting.terms, setting.design, setting.truth
    requirement, _ = setting.requirement()
    asked = balls_in_question(terms, design)
    values = draw_balls(truth, max(design.balls, asked), design.axes, tests, rng)
    shared = draw_shared(terms.kit, tests, rng)
    readings = read_balls(terms.kit, terms.product, values[:, : design.balls], design.repeats, shared, rng)
    true, whole = true_codes(requirement.clauses, values[:, :asked])
    return [sample_from(terms.kit, terms.product, design, readings[t]) for t in range(tests)], true, whole


def run_tests(setting: Setting, tests: int, rng: np.random.Generator) -> Outcomes:
    """Simulate and judge tests at one setting.

    Parameters
    ----------
    setting : Setting
        Where.
    tests : int
        How many, at least 1.
    rng : numpy.random.Generator
        Seeded by the caller.

    Returns
    -------
    Outcomes
        Tests whose readings count as intervals (a coarse display) are judged one by one by the full engine, as all
        are under the simple rule; `in_full` says how many.

    Raises
    ------
    BadRequest
        No clause can be tested.
    """
    requirement, _ = setting.requirement()
    samples, true, whole = simulated_samples(setting, tests, rng)
    decided, product, in_full, not_drawn = judge_samples(setting, samples, rng)
    names = tuple(clause.id for clause in requirement.clauses)
    return Outcomes(names, decided, product, true, whole, in_full, not_drawn)


def judge_samples(
    setting: Setting, samples: Sequence[Sample], rng: np.random.Generator
) -> tuple[Codes, Codes, int, int]:
    """Judge tests of one design: codes (C, T) and (T,), tests judged in full, tests of which nothing could be drawn."""
    requirement, _ = setting.requirement()
    tests = len(samples)
    decided = np.full((len(requirement.clauses), tests), NEITHER, np.int8)
    product = np.full(tests, NEITHER, np.int8)
    prepared = [prepare(sample, setting.terms.kit.bench) for sample in samples]
    noises = _noises(prepared[0])
    together = np.array([_can_be_stacked(setting, item, noises) for item in prepared])
    places = np.flatnonzero(together)
    if places.size:
        batch = _batch(setting, requirement, [prepared[t] for t in places], noises)
        decided[:, places], product[places] = judge_together(batch, rng)
    not_drawn = 0
    for t in np.flatnonzero(~together).tolist():
        decided[:, t], product[t], drawn = judge_in_full(setting, requirement, samples[t], int(rng.integers(2**31)))
        not_drawn += not drawn
    return decided, product, tests - places.size, not_drawn


def judge_in_full(setting: Setting, requirement: Requirement, sample: Sample, seed: int) -> tuple[Codes, int, bool]:
    """Judge one simulated test as a real one is judged: codes of the clauses, of the product, and whether it drew."""
    terms = setting.terms
    effort = Effort(seed=seed, detail=False, settle=False, accept_unverified=terms.accept_unverified)
    data = ProductData(terms.product, {terms.kit.quantity: sample})
    finding = judge_product(data, requirement, terms.kit.bench, terms.rule, effort)
    codes = np.array([code_of(clause.decision) for clause in finding.clauses], np.int8)
    drawn = all(clause.decision != "not tested" for clause in finding.clauses)
    return codes, code_of(finding.decision), drawn


def _unread(requirement: Requirement, design: Design) -> int:
    """Balls of the requirement's sample that the design does not read."""
    return max((requirement.sample_size or 0) - design.balls, 0)


def _noises(prepared: Prepared) -> tuple[float, ...]:
    """Other noises under which a decision must hold: where the repeatability is assumed and no repeat tells it."""
    assumed = prepared.instrument.assumed and prepared.study.sse_dof == 0 and prepared.study.has_form
    return NOISES if assumed else ()


def _can_be_stacked(setting: Setting, prepared: Prepared, noises: Sequence[float]) -> bool:
    """Whether a test's readings pass as continuous, under the other noises too, and share one level of each error."""
    if setting.terms.rule.name != "guarded" or prepared.bounds is not None or prepared.study.kinds:
        return False
    bench = setting.terms.kit.bench
    return all(prepare(prepared.sample, bench, noise_factor=factor).bounds is None for factor in noises)


def _batch(
    setting: Setting, requirement: Requirement, prepared: list[Prepared], noises: tuple[float, ...]
) -> Batch:  # fmt: skip
    """Put prepared tests of one design side by side.

    The prior scale and the shared errors follow the readings' mean, which differs between the tests by a share of
    some 1e-3 at most; the median of the tests stands for all.
    """
    first: Study = prepared[0].study
    study = replace(
        first,
        means=np.concatenate([item.study.means for item in prepared]),
        sse=np.concatenate([item.study.sse for item in prepared]),
        prior_scale=float(np.median([item.study.prior_scale for item in prepared])),
    )
    shared_sd = float(np.median([item.shared_sd for item in prepared]))
    return Batch(
        study, shared_sd, requirement.clauses, _unread(requirement, setting.design), noises, setting.terms.rule.spent
    )
