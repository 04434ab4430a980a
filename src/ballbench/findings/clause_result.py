"""From counts to the finding of one clause, in the unit in which the clause is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ballbench.findings.answers import AnswerFinding
from ballbench.findings.deciding import Rule, agree, decide, violates
from ballbench.findings.evidence import Evidence, Track, truth_of
from ballbench.findings.population import population_of
from ballbench.findings.results import BallFinding, ClauseFinding, Decision, Truth, VariantFinding, WholeBall
from ballbench.findings.tally import limits_of, margin_of
from ballbench.quantities.units import factor
from ballbench.specs import Clause, Limit, Requirement, Source
from ballbench.statistics.study import Floats

__all__ = ["ClauseContext", "clause_from_answers", "clause_from_tracks", "clause_not_tested"]


_NO_NOTES: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ClauseContext:
    """What every clause of one judgement shares."""

    requirement: Requirement
    rule: Rule
    detail: bool


def _source_text(source: Source) -> str:
    return source.place or "no source"


def _limit_text(limit: Limit | None) -> str:
    if limit is None:
        return ""
    return limit.text if limit.unit == "1" else f"{limit.text} {limit.unit}"


def _limit_value(limit: Limit | None, unit: str, scale: float) -> float | None:
    """A limit in the clause's unit: as written where it is written in it."""
    if limit is None:
        return None
    return float(limit.text) if limit.unit == unit else limit.value * scale


def _bare(clause: Clause, decision: Decision, notes: tuple[str, ...]) -> ClauseFinding:
    """A finding that holds the clause itself and nothing measured."""
    reading = clause.readings[0]
    scale = factor(clause.base_unit, clause.unit) if clause.count is None else 1.0
    return ClauseFinding(
        id=clause.id, text=clause.text, quantity=clause.quantity, unit=clause.unit,
        ball="answers" if clause.count else reading.ball, sample=reading.sample,
        lower=_limit_value(reading.lower, clause.unit, scale), upper=_limit_value(reading.upper, clause.unit, scale),
        lower_text=_limit_text(reading.lower), upper_text=_limit_text(reading.upper), strict=reading.strict,
        allowed_outside=reading.allowed_outside, seen=clause.source.seen, source=_source_text(clause.source),
        as_read=None, outside=0, truth=None, bound=None, probability_met=None, decision=decision, margin=None,
        scope="as prescribed", notes=notes,
    )  # fmt: skip


def clause_not_tested(clause: Clause, reason: str) -> ClauseFinding:
    """Give the finding of a clause that could not be tested, with the reason."""
    return _bare(clause, "not tested", (f"not tested: {reason}",))


def clause_from_answers(clause: Clause, result: AnswerFinding) -> ClauseFinding:
    """Give the finding of a clause on yes/no results."""
    rule = clause.count
    bare = _bare(clause, result.decision, result.notes)
    return replace(
        bare,
        lower=float(rule.at_least) if rule and rule.at_least is not None else None,
        upper=float(rule.at_most) if rule and rule.at_most is not None else None,
        as_read=result.value, outside=result.outside, probability_met=result.probability_met,
    )  # fmt: skip


def clause_from_tracks(
    clause: Clause, item: Evidence, others: Mapping[str, Sequence[float]], context: ClauseContext
) -> ClauseFinding:
    """Give the finding of a clause from its counted tracks, variants included.

    Parameters
    ----------
    clause : Clause
        The clause.
    item : Evidence
        Its quantity, drawn (guarded rule) or not (simple rule).
    others : mapping of str to sequence of float
        Chances of every track of the quantity under other assumptions.
    context : ClauseContext
        Requirement, rule, detail.
    """
    at = [i for i, track in enumerate(item.tracks) if track.clause is clause]
    verdicts = [_verdict(item, i, others, context) for i in at]
    decisions = [verdict.decision for verdict in verdicts]
    first = verdicts[0]
    track = item.tracks[at[0]]
    variants = tuple(verdict.variant for verdict in verdicts) if len(verdicts) > 1 else ()
    decision = agree(decisions)
    notes = [note for verdict in verdicts for note in verdict.notes]
    scope = _scope(track, item, context)
    notes += _of_unread(track, item)
    if decision == "met" and item.k == 1 and clause.quantity == "diameter" and track.reading.ball in ("max", "min"):
        decision = "undecided"
        notes.append("one place of each ball was read, which cannot show its largest or smallest diameter")
    bare = _bare(clause, decision, tuple(dict.fromkeys(notes)))
    return _with_values(bare, clause, item, track, first, scope, variants, context)


@dataclass(frozen=True, slots=True)
class _Verdict:
    """One track, decided."""

    decision: Decision
    chance: float | None
    variant: VariantFinding
    truth: Truth | None
    bound: float | None
    notes: tuple[str, ...]


def _verdict(item: Evidence, index: int, others: Mapping[str, Sequence[float]], context: ClauseContext) -> _Verdict:
    """Decide one track: by the simple rule from raw values, by the guarded rule from the draws."""
    track = item.tracks[index]
    reading, scale = track.reading, factor(track.clause.base_unit, track.clause.unit)
    as_read, outside = _raw(item, track)
    lower, upper = limits_of(reading)
    if context.rule.name == "simple":
        beyond = (
            outside > reading.allowed_outside
            if reading.sample == "each"
            else bool(violates(as_read, lower, upper, reading.strict))
        )
        decision: Decision = "not met" if beyond else "met"
        chance: float | None = 0.0 if beyond else 1.0
        truth, bound, notes = None, None, _NO_NOTES
    else:
        chance = float(track.tally.met.mean())
        decision, notes = _guarded(track, index, chance, others, context.rule)
        statistics = track.tally.statistics
        truth = truth_of(statistics, scale)
        bound = _one_sided(statistics, lower, upper, context.rule.spent) * scale
    variant = VariantFinding(
        reading.text, _limit_value(reading.lower, track.clause.unit, scale),
        _limit_value(reading.upper, track.clause.unit, scale), as_read * scale, outside, truth, chance, decision,
    )  # fmt: skip
    return _Verdict(decision, chance, variant, truth, bound, notes)


def _guarded(
    track: Track, index: int, chance: float, others: Mapping[str, Sequence[float]], rule: Rule
) -> tuple[Decision, tuple[str, ...]]:
    """Decide by the guarded rule, and again under every other assumption."""
    allowed = track.reading.allowed_outside
    decision = decide(chance, rule.spent, track.alone, allowed)
    notes = []
    if decision == "undecided" and chance >= 1.0 - rule.spent and track.alone is not None:
        far = int((track.alone < 1.0 - rule.spent).sum())
        balls = "ball" if far == 1 else "balls"
        notes.append(f"{far} {balls}, judged from the ball's own readings alone, cannot be said to be inside")
    for words, chances in others.items():
        other = float(chances[index])
        if np.isnan(other):
            continue
        there = decide(other, rule.spent, track.alone, allowed)
        if decision not in (there, "undecided"):
            notes.append(f"with {words} it would be {there} (chance {100 * other:.3g} %), so that it is left undecided")
            decision = "undecided"
    return decision, tuple(notes)


def _raw(item: Evidence, track: Track) -> tuple[float, int]:
    """Raw statistic (of the ball nearest to or furthest beyond a limit for ``each``), and raw balls outside."""
    reading = track.reading
    ball, statistic = item.as_read(reading)
    lower, upper = limits_of(reading)
    if statistic is not None:
        return statistic, 0
    q = min(reading.allowed_outside, ball.size - 1)
    ordered = np.sort(ball)
    end = track.tally.end if track.tally.drawn else _nearer_end(ordered[q], ordered[-1 - q], lower, upper)
    value = ordered[q] if end == "low" else ordered[-1 - q]
    return float(value), int(violates(ball, lower, upper, reading.strict).sum())


def _nearer_end(lowest: float, highest: float, lower: float | None, upper: float | None) -> str:
    """Which of two raw values is nearer to, or further beyond, its limit."""
    if lower is None or upper is None:
        return "high" if lower is None else "low"
    return "low" if lowest - lower <= upper - highest else "high"


def _one_sided(statistics: Floats, lower: float | None, upper: float | None, risk: float) -> float:
    """Bound at `risk` toward the nearer limit."""
    median = float(np.median(statistics))
    toward_upper = lower is None or (upper is not None and upper - median <= median - lower)
    return float(np.quantile(statistics, 1.0 - risk if toward_upper else risk))


def _of_unread(track: Track, item: Evidence) -> list[str]:
    """Say that balls which nobody read count in an allowance."""
    if not track.extra:
        return []
    whole = item.n + track.extra
    note = f"{item.n} balls were read and {track.extra} are predicted, to make up the {whole} among which "
    note += f"{track.reading.allowed_outside} may be outside; reading the missing balls would say more"
    return [note]


def _scope(track: Track, item: Evidence, context: ClauseContext) -> str:
    """``as prescribed`` where the rule's own axes were read or places play no part, else ``axes read``."""
    if track.clause.quantity != "diameter":
        return "as prescribed"
    prescribed = context.requirement.axes
    fewest = int((item.prepared.sample.count > 0).sum(axis=1).min())
    return "as prescribed" if prescribed is not None and fewest >= prescribed else "axes read"


def _with_values(
    bare: ClauseFinding,
    clause: Clause,
    item: Evidence,
    track: Track,
    first: _Verdict,
    scope: str,
    variants: tuple[VariantFinding, ...],
    context: ClauseContext,
) -> ClauseFinding:
    """Put the measured values into a bare finding."""
    margin = None
    if first.truth is not None:
        margin = float(margin_of(np.array(first.truth.median), bare.lower, bare.upper))
    each = track.reading.sample == "each"
    detail = context.detail and context.rule.name == "guarded"
    scale = factor(clause.base_unit, clause.unit)
    return replace(
        bare,
        as_read=first.variant.as_read, outside=first.variant.outside, truth=first.truth, bound=first.bound,
        probability_met=first.chance, margin=margin, scope=scope,
        whole_ball=_whole(track, scale), variants=variants,
        balls=_balls(track, item, scale) if detail and each else (),
        population=population_of(track, item, scale) if detail and each and item.n >= 4 else None,
    )  # fmt: skip


def _whole(track: Track, scale: float) -> WholeBall | None:
    """The clause over the whole ball, with the pull of the prior."""
    if not track.whole:
        return None
    chances = [float(tally.met.mean()) for tally in track.whole]
    return WholeBall(chances[0], truth_of(track.whole[0].statistics, scale), min(chances), max(chances))


def _balls(track: Track, item: Evidence, scale: float) -> tuple[BallFinding, ...]:
    """Every ball: raw value, what it is, chance that it is inside."""
    raw, _ = item.as_read(track.reading)
    kept = np.quantile(track.tally.kept, [0.5, 0.025, 0.975], axis=1) * scale
    sample = item.prepared.sample
    return tuple(
        BallFinding(
            sample.balls[i], sample.boxes[i], float(raw[i]) * scale,
            Truth(float(kept[0, i]), float(kept[1, i]), float(kept[2, i])), float(track.tally.inside[i]),
        )
        for i in range(item.n)
    )  # fmt: skip
