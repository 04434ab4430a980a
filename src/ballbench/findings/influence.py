"""Balls far from their fellows, and single readings that move a decision: shown, never dropped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ballbench.findings.alone import alone_chances
from ballbench.findings.deciding import Rule, agree, decide
from ballbench.findings.evidence import Evidence
from ballbench.findings.results import ClauseFinding, Decision, Influence, Outlier
from ballbench.findings.tally import Tally
from ballbench.statistics.latent import Latent
from ballbench.statistics.outliers import generalized_esd
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.prediction import predict
from ballbench.statistics.preparation import shared_draws
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats, Study

__all__ = ["influence_of", "outliers_of"]

FEWEST = 10
DRAWS = 4096
ALONE = 1024
CANDIDATES = 3
MOVED = 0.10
"""A reading is listed when its leaving moves the chance by a tenth or changes the decision."""


def outliers_of(item: Evidence) -> tuple[Outlier, ...]:
    """Test the ball means of ten balls or more by the generalized ESD test at 5 % (Rosner 1983)."""
    sample = item.prepared.sample
    means = np.nanmean(sample.mean, axis=1)
    if item.n < FEWEST or float(np.ptp(means)) == 0.0:
        return ()
    test = generalized_esd(means, most=max(item.n // 6, 1))
    steps = {step.index: step for step in test.steps}
    return tuple(
        Outlier(
            sample.quantity, item.unit, sample.balls[i], float(means[i]) * item.scale,
            steps[i].statistic, steps[i].critical,
        )
        for i in test.outliers
    )  # fmt: skip


def influence_of(evidence: Mapping[str, Evidence], clauses: list[ClauseFinding], rule: Rule) -> tuple[Influence, ...]:
    """Judge each quantity again without each of its most extreme readings.

    Only quantities drawn from grids are judged again; for readings known to an interval no single one is extreme.
    """
    rows: list[Influence] = []
    for quantity, item in evidence.items():
        if isinstance(item.engine, Latent) or item.n < 3:
            continue
        own = {c.id: c for c in clauses if c.quantity == quantity and c.probability_met is not None}
        for place in _candidates(item):
            rows += _without(item, place, own, rule)
    return tuple(rows)


def _candidates(item: Evidence) -> list[int]:
    """Places, in the sample's list of readings, of the readings furthest from ball and box."""
    sample = item.prepared.sample
    ball, axis = np.divmod(sample.cell, len(sample.axes))
    level = np.nanmean(sample.mean, axis=1)
    within = abs(sample.values - level[ball])
    order = [int(within.argmax()), int(sample.values.argmax()), int(sample.values.argmin())]
    del axis
    return list(dict.fromkeys(order))[:CANDIDATES]


def _without(item: Evidence, place: int, own: Mapping[str, ClauseFinding], rule: Rule) -> list[Influence]:
    """Judge without one reading; a ball that had no other is left out whole."""
    sample = item.prepared.sample
    cell = int(sample.cell[place])
    i, j = divmod(cell, len(sample.axes))
    study = _less_one(item.prepared.study, i, j, float(sample.values[place]) + item.prepared.correction)
    if study.shape[1] < 2:
        return []
    chances, alone = _judged(item, study, place)
    repeat = int((sample.cell[: place + 1] == cell).sum())
    rows = []
    for identity, clause in own.items():
        at = [n for n, track in enumerate(item.tracks) if track.clause.id == identity]
        decision = agree([decide(chances[n], rule.spent, alone[n], item.tracks[n].reading.allowed_outside) for n in at])
        before = agree([_as_it_stands(item, n, rule) for n in at])
        chance = chances[at[0]]
        if decision != before or abs(chance - (clause.probability_met or 0.0)) >= MOVED:
            value = float(sample.values[place]) * item.scale
            rows.append(Influence(identity, sample.balls[i], sample.axes[j], repeat, value, decision, chance))
    return rows


def _as_it_stands(item: Evidence, n: int, rule: Rule) -> Decision:
    """Decide a track with all readings in, by its chance alone, so that other assumptions are no part of a change."""
    track = item.tracks[n]
    return decide(float(track.tally.met.mean()), rule.spent, track.alone, track.reading.allowed_outside)


def _judged(item: Evidence, study: Study, place: int) -> tuple[list[float], list[Floats | None]]:
    """Chance of every track on another study of the same product, and of its balls judged alone."""
    rng = np.random.Generator(np.random.PCG64([item.seed, place]))
    read = None if (study.counts > 0).all() else (study.counts > 0).T
    tallies = [Tally(track.reading, study.shape[1]) for track in item.tracks]
    shared = shared_draws(item.prepared.shared, item.seed, 0, DRAWS)
    for truths in Posterior(study).sample(rng, DRAWS, shared):
        values = BallValues(truths.values, read)
        for tally, track in zip(tallies, item.tracks, strict=True):
            tally.add(values, BallValues(predict(truths, track.extra, rng)) if track.extra else None)
    alone = alone_chances(study, shared[None, :ALONE], [track.reading for track in item.tracks], rng)
    chances = [float(tally.met.mean()) for tally in tallies]
    return chances, [None if chance is None else chance[:, 0] for chance in alone]


def _less_one(study: Study, i: int, j: int, value: float) -> Study:
    """Leave one reading of cell (i, j) out of a study, and the ball with it when it had no other."""
    means, counts = study.means.copy(), study.counts.copy()
    one = 1.0 if counts[i, j] >= 1.0 else float(counts[i, j])
    rest = counts[i, j] - one
    if rest > 1e-9:
        means[0, i, j] = (counts[i, j] * means[0, i, j] - one * value) / rest
        counts[i, j] = rest
    else:
        means[0, i, j], counts[i, j] = np.nan, 0.0
    keep = (counts > 0).any(axis=1)
    kinds = tuple(replace(kind, shares=kind.shares[keep]) for kind in study.kinds)
    axis_effects = study.axis_effects and bool((counts[keep] > 0).all())
    return replace(study, means=means[:, keep], counts=counts[keep], kinds=kinds, axis_effects=axis_effects)
