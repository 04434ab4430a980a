"""One product, judged against a requirement: draws, counts, decisions, clause by clause and jointly."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import NotConverged
from ballbench.findings.answers import judge_answers
from ballbench.findings.budgets import described
from ballbench.findings.clause_result import ClauseContext, clause_from_answers, clause_from_tracks, clause_not_tested
from ballbench.findings.deciding import Rule, decide_product
from ballbench.findings.evidence import KEPT, Evidence
from ballbench.findings.headline import headline
from ballbench.findings.influence import influence_of, outliers_of
from ballbench.findings.results import ClauseFinding, ProductFinding, Settle
from ballbench.findings.sensitivity import other_chances
from ballbench.findings.settling import settle_quantity
from ballbench.findings.testable import why_not_tested
from ballbench.records import Answers, Bench, Sample
from ballbench.specs import Clause, Requirement
from ballbench.statistics.latent import Latent
from ballbench.statistics.preparation import Prepared, prepare

__all__ = ["Effort", "ProductData", "judge_product"]

ROUND = 20_000
MOST_DRAWS = 100_000
LATENT_DRAWS = 8_192
"""Draws from chains cost more, and 8,192 of 128 chains tell a chance to 0.005."""
CERTAIN = 0.002
ASK = Settle(
    change="ask whoever wrote the rule which reading of its text holds",
    probability_decided=1.0, probability_met=float("nan"), probability_not_met=float("nan"),
    minutes=float("nan"), enough=True,
)  # fmt: skip
"""What settles a clause whose readings are each decided, but differently."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How much to compute.

    Parameters
    ----------
    seed : int
        Of everything random.
    draws : int or None
        So many draws; None: as many as the decisions need, at most 100,000.
    detail : bool
        Every ball's interval, balls like these, influence of single readings.
    settle : bool
        Simulate what would settle undecided clauses.
    accept_unverified : bool
        Limits seen only in memory may decide.
    """

    seed: int = 1
    draws: int | None = None
    detail: bool = True
    settle: bool = True
    accept_unverified: bool = False


@dataclass(frozen=True, slots=True)
class ProductData:
    """Everything measured of one product.

    Parameters
    ----------
    product : str
        Its name.
    samples : mapping of str to Sample
        By quantity.
    answers : mapping of str to Answers
        Yes/no results by quantity.
    facts : mapping of str to str
        Facts that all its balls share, by condition name.
    excluded, corrected, spoiled : int
        Counts.
    """

    product: str
    samples: Mapping[str, Sample]
    answers: Mapping[str, Answers] = field(default_factory=dict)
    facts: Mapping[str, str] = field(default_factory=dict)
    excluded: int = 0
    corrected: int = 0
    spoiled: int = 0


def product_rng(seed: int, *names: str) -> np.random.Generator:
    """Give the generator of one product and quantity: the same whatever else is judged beside it."""
    entropy = [seed, *(zlib.crc32(name.encode()) for name in names), *(len(name) for name in names)]
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(entropy)))


def judge_product(
    data: ProductData, requirement: Requirement, bench: Bench, rule: Rule, effort: Effort
) -> ProductFinding:
    """Judge one product.

    Parameters
    ----------
    data : ProductData
        What was measured.
    requirement : Requirement
        What is asked.
    bench : Bench
        Instruments and conditions, complete for the quantities of the samples.
    rule : Rule
        The decision rule.
    effort : Effort
        How much to compute.

    Returns
    -------
    ProductFinding
        Clauses in the requirement's order; those on readings from which nothing can be drawn are not tested.
    """
    reasons: dict[str, str | None] = {
        clause.id: why_not_tested(
            clause, data.samples.get(clause.quantity), bench, data.facts,
            accept_unverified=effort.accept_unverified,
            answered=_balls_answered(data, clause.quantity), sample_size=requirement.sample_size,
        )
        for clause in requirement.clauses
    }  # fmt: skip
    tested = [c for c in requirement.clauses if reasons[c.id] is None and c.count is None]
    evidence = _gather(data, requirement, bench, tested, effort)
    draws = 0
    if rule.name == "guarded":
        reasons |= _leave_out_unsettled(evidence)
        draws = _draw_until_sure(evidence, rule, effort)
    context = ClauseContext(requirement, rule, effort.detail)
    others = {name: other_chances(item, bench) for name, item in evidence.items()} if draws else {}
    clauses: list[ClauseFinding] = []
    for clause in requirement.clauses:
        reason = reasons[clause.id]
        if reason is not None:
            clauses.append(clause_not_tested(clause, reason))
        elif clause.count is not None:
            answers = data.answers[clause.quantity]
            result = judge_answers(clause.count, answers, rule.spent, clause.readings[0].allowed_outside)
            clauses.append(clause_from_answers(clause, result))
        else:
            clauses.append(
                clause_from_tracks(clause, evidence[clause.quantity], others.get(clause.quantity, {}), context)
            )
    return _product(data, requirement, clauses, evidence, bench, rule, effort)


def _balls_answered(data: ProductData, quantity: str) -> int:
    """How many balls have yes/no results of a quantity."""
    return len(data.answers[quantity].balls) if quantity in data.answers else 0


def _gather(
    data: ProductData, requirement: Requirement, bench: Bench, tested: list[Clause], effort: Effort
) -> dict[str, Evidence]:
    """Prepare every quantity that a testable clause speaks of."""
    out: dict[str, Evidence] = {}
    for quantity in dict.fromkeys(clause.quantity for clause in tested):
        prepared: Prepared = prepare(data.samples[quantity], bench)
        clauses = [clause for clause in tested if clause.quantity == quantity]
        missing = max((requirement.sample_size or 0) - len(prepared.sample.balls), 0)
        unread = {c.id: missing for c in clauses if missing and any(r.allowed_outside for r in c.readings)}
        rng = product_rng(effort.seed, data.product, quantity)
        out[quantity] = Evidence(prepared, clauses, rng, effort.seed, 2048 if effort.detail else 0, unread)
    return out


def _leave_out_unsettled(evidence: dict[str, Evidence]) -> dict[str, str]:
    """Take quantities out whose sampler does not agree with itself; give the reason for each of their clauses."""
    reasons: dict[str, str] = {}
    for quantity, item in list(evidence.items()):
        try:
            _ = item.engine
        except NotConverged as error:
            why = (
                f"has readings too coarse or too few to draw from ({error}); read more places, or with a finer display"
            )
            reasons |= {clause.id: why for clause in item.clauses}
            del evidence[quantity]
    return reasons


def _draw_until_sure(evidence: Mapping[str, Evidence], rule: Rule, effort: Effort) -> int:
    """Draw rounds until every chance is known well enough, or the cap is reached; the number of draws.

    A chance P is known when 2 s(P) < 0.002 or |P - threshold| > 4 s(P) for both thresholds (methods page "decision").
    """
    latent = any(isinstance(item.engine, Latent) for item in evidence.values())
    size = effort.draws or (LATENT_DRAWS if latent else ROUND)
    cap = effort.draws or (LATENT_DRAWS if latent else MOST_DRAWS)
    whole = int(np.clip(size // 10, 128, 2048) if effort.detail else np.clip(size // 80, 64, 256))
    drawn = 0
    while drawn < cap:
        for item in evidence.values():
            item.draw(size, whole)
        drawn += size
        chances = np.array([float(t.tally.met.mean()) for item in evidence.values() for t in item.tracks])
        if _sure(chances, drawn * min((item.engine.effective for item in evidence.values()), default=1.0), rule.spent):
            break
    for item in evidence.values():
        item.judge_alone(KEPT if effort.detail else KEPT // 2)
    return drawn


def _sure(chances: NDArray[np.float64], drawn: float, risk: float) -> bool:
    error = np.sqrt(chances * (1.0 - chances) / drawn)
    far = np.minimum(abs(chances - risk), abs(chances - (1.0 - risk))) > 4.0 * error
    return bool(np.all((2.0 * error < CERTAIN) | far))


def _joint(evidence: Mapping[str, Evidence], clauses: list[ClauseFinding]) -> float | None:
    """Chance that every tested clause is met under each of its readings, over the same draws."""
    together: NDArray[np.bool_] | None = None
    for item in evidence.values():
        for track in item.tracks:
            met = track.tally.met
            together = met if together is None else together & met
    chance = 1.0 if together is None else float(together.mean())
    answered = [c for c in clauses if c.ball == "answers" and c.probability_met is not None]
    if together is None and not answered:
        return None
    for clause in answered:
        chance *= clause.probability_met or 0.0
    return chance


def _product(
    data: ProductData,
    requirement: Requirement,
    clauses: list[ClauseFinding],
    evidence: Mapping[str, Evidence],
    bench: Bench,
    rule: Rule,
    effort: Effort,
) -> ProductFinding:
    """Put the clauses together, decide the product, and add what describes and would settle it."""
    judged = [c for c in clauses if c.decision != "not tested"]
    guarded = rule.name == "guarded"
    joint: float | None = None
    if judged:
        joint = _joint(evidence, clauses) if guarded else float(all(c.decision == "met" for c in judged))
    decision = decide_product([c.decision for c in clauses], [c.probability_met for c in clauses], joint, rule.spent)
    if effort.settle and guarded:
        clauses = _with_settling(clauses, evidence, requirement, rule)
    balls, readings = _counts(data)
    finding = ProductFinding(
        product=data.product, balls=balls, readings=readings, excluded=data.excluded, corrected=data.corrected,
        spoiled=data.spoiled, decision=decision, probability_met=joint, tested=len(judged),
        clauses_in_all=len(clauses), headline=(), clauses=tuple(clauses),
        quantities=described(evidence, bench, check=effort.detail) if guarded else (),
        outliers=tuple(o for item in evidence.values() for o in outliers_of(item)) if effort.detail else (),
        influence=influence_of(evidence, clauses, rule) if effort.detail and guarded else (),
        notes=_notes(data, evidence),
        draws=max((item.drawn for item in evidence.values()), default=0),
    )  # fmt: skip
    return replace(finding, headline=headline(finding, rule, requirement.sample_size))


def _with_settling(
    clauses: list[ClauseFinding], evidence: Mapping[str, Evidence], requirement: Requirement, rule: Rule
) -> list[ClauseFinding]:
    """Add what would settle the undecided clauses, quantity by quantity."""
    found: dict[str, tuple[Settle, ...]] = {}
    for quantity, item in evidence.items():
        open_clauses = [c for c in clauses if c.quantity == quantity and c.decision == "undecided"]
        found.update({c.id: (ASK,) for c in open_clauses if _text_alone(c)})
        undecided = [c.id for c in open_clauses if c.id not in found and not _one_place(item, c)]
        if undecided:
            found.update(settle_quantity(item, undecided, requirement, rule))
    return [replace(c, settle=found.get(c.id, ())) for c in clauses]


def _text_alone(clause: ClauseFinding) -> bool:
    """Whether each reading of the text is decided and they disagree: no measurement can mend that."""
    decisions = {variant.decision for variant in clause.variants}
    return len(decisions) > 1 and "undecided" not in decisions


def _one_place(item: Evidence, clause: ClauseFinding) -> bool:
    """Whether the clause is undecided because one place of each ball was read, which no repeat can mend."""
    return item.k == 1 and clause.quantity == "diameter" and clause.ball in ("max", "min")


def _counts(data: ProductData) -> tuple[int, int]:
    """Different balls and readings over all quantities."""
    balls: set[tuple[str, str]] = set()
    readings = 0
    for sample in data.samples.values():
        balls |= set(zip(sample.boxes, sample.balls, strict=True))
        readings += int(sample.count.sum())
    for answers in data.answers.values():
        balls |= set(zip(answers.boxes, answers.balls, strict=True))
        readings += int(answers.trials.sum())
    return len(balls), readings


def _notes(data: ProductData, evidence: Mapping[str, Evidence]) -> tuple[str, ...]:
    """What must be known of this product's data."""
    notes = [note for item in evidence.values() for note in item.notes()]
    if "diameter" in evidence and "circumference" in evidence:
        notes.append("diameter and circumference are judged as if they were independent, although both tell one size")
    if data.spoiled:
        attempts = "attempt was" if data.spoiled == 1 else "attempts were"
        notes.append(f"{data.spoiled} spoiled {attempts} counted, no readings")
    return tuple(dict.fromkeys(notes))
