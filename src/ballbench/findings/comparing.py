"""Products held against each other for one quantity (methods page "comparison").

"Told apart" is about the means of balls like these: joint draws in which a shared instrument error has the same value
for both, so that it cancels; squeeze belongs to the make and does not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy import stats

from ballbench.findings.budgets import Sampling
from ballbench.findings.comparisons import ComparedProduct, Consequence, Pair
from ballbench.findings.difference_budget import Side, difference_budget
from ballbench.findings.evidence import truth_of
from ballbench.findings.judging import product_rng
from ballbench.findings.results import BallFinding, Truth
from ballbench.records import Bench, Sample
from ballbench.statistics.posterior import Truths
from ballbench.statistics.prediction import predict
from ballbench.statistics.preparation import Prepared, Shared, engine, prepare, shared_draws
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats
from ballbench.statistics.two_samples import brown_forsythe, holm, rank_test, smallest_difference, welch

__all__ = ["ALPHA", "compare_samples", "not_common"]

ALPHA = 0.05
POWER_FACTOR = 2.8
"""Normal quantiles 1.96 + 0.84: a difference of so many standard uncertainties is told apart four times in five."""
FEW = 20
"""Draws beyond 0 below which their share is too coarse to be multiplied by the number of pairs."""
DRAWS = 20_000
ROUNDER_DRAWS = 2_000


@dataclass(slots=True)
class _Drawn:
    """One product, drawn: shared errors still in, so that they can cancel."""

    prepared: Prepared
    mean: Floats
    sb: Floats
    variation: Floats | None
    like: Floats | None
    balls: Floats
    raw_balls: Floats
    side: Side


def compare_samples(
    samples: Mapping[str, Sample], bench: Bench, seed: int, draws: int = DRAWS
) -> tuple[tuple[ComparedProduct, ...], tuple[Pair, ...]]:
    """Compare every product with every other.

    Parameters
    ----------
    samples : mapping of str to Sample
        One sample a product, all of one quantity; two products at least, two balls of each at least.
    bench : Bench
        Complete for the instruments that the samples name.
    seed : int
        Of everything random.
    draws : int
        Of the posterior of each product.

    Returns
    -------
    products, pairs
        In the order of `samples`; pairs hold the first against the second. Base unit of the quantity.
    """
    drawn = {name: _draw(name, sample, bench, seed, draws) for name, sample in samples.items()}
    products = tuple(_product(name, item, seed, draws) for name, item in drawn.items())
    pairs = [_pair(a, drawn[a], b, drawn[b], seed, draws) for a, b in combinations(drawn, 2)]
    adjusted = holm([pair.p for pair in pairs])
    return products, tuple(
        replace(pair, p_adjusted=float(p), told_apart=bool(p <= ALPHA)) for pair, p in zip(pairs, adjusted, strict=True)
    )


def _draw(name: str, sample: Sample, bench: Bench, seed: int, draws: int) -> _Drawn:
    """Draw one product without taking the shared errors off."""
    prepared = prepare(sample, bench)
    rng = product_rng(seed, name, sample.quantity)
    read = None if (prepared.study.counts > 0).all() else (prepared.study.counts > 0).T
    parts: dict[str, list[Floats]] = {"mean": [], "sb": [], "variation": [], "like": [], "balls": [], "places": []}
    form = prepared.study.has_form
    for truths in engine(prepared, rng).sample(rng, draws):
        values = BallValues(truths.values, read)
        parts["mean"].append(truths.mean)
        parts["sb"].append(truths.sb)
        parts["balls"].append(values("mean"))
        if form:
            parts["places"].append(np.sqrt((truths.sf**2).mean(axis=0)))
            parts["variation"].append(values("range").mean(axis=0))
            if sum(p.size for p in parts["like"]) < ROUNDER_DRAWS:
                parts["like"].append(_one_like_these(truths, rng))
    joined = {key: np.concatenate(rows, axis=-1) if rows else None for key, rows in parts.items()}
    mean, sb, balls = joined["mean"], joined["sb"], joined["balls"]
    if mean is None or sb is None or balls is None:
        raise ValueError("no draws")
    places = joined["places"]
    sampling = Sampling(float(np.median(sb)), 0.0 if places is None else float(np.median(places)))
    raw_balls = np.nanmean(sample.mean, axis=1)
    side = Side(name, prepared, bench, sampling)
    return _Drawn(prepared, mean, sb, joined["variation"], joined["like"], balls, raw_balls, side)


def _one_like_these(truths: Truths, rng: np.random.Generator) -> Floats:
    """Diameter variation of one new ball in each draw."""
    variation: Floats = BallValues(predict(truths, 1, rng))("range")[0]
    return variation


def _product(name: str, item: _Drawn, seed: int, draws: int) -> ComparedProduct:
    sample = item.prepared.sample
    shared = shared_draws(item.prepared.shared, seed, 0, draws)
    levels = np.quantile(item.balls - shared, [0.5, 0.025, 0.975], axis=1)
    raw = None
    if item.variation is not None:
        raw = float(np.mean(np.nanmax(sample.mean, axis=1) - np.nanmin(sample.mean, axis=1)))
    balls = tuple(
        BallFinding(
            sample.balls[i], sample.boxes[i], float(item.raw_balls[i]),
            Truth(float(levels[0, i]), float(levels[1, i]), float(levels[2, i])), float("nan"),
        )
        for i in range(len(sample.balls))
    )  # fmt: skip
    return ComparedProduct(
        name, len(sample.balls), int(sample.count.sum()), truth_of(item.mean - shared), truth_of(item.sb),
        truth_of(item.variation) if item.variation is not None else None, raw, balls,
    )  # fmt: skip


def _pair(name_a: str, a: _Drawn, name_b: str, b: _Drawn, seed: int, draws: int) -> Pair:
    """Hold one product against another."""
    own_a, own_b = not_common(a.prepared.shared, b.prepared.shared)
    mean_a = a.mean - shared_draws(own_a, seed, 0, draws)
    mean_b = b.mean - shared_draws(own_b, seed, 0, draws)
    difference = mean_a - mean_b
    p = _two_sided(difference)
    form = a.variation / b.variation if a.variation is not None and b.variation is not None else None
    rounder = float((a.like[:ROUNDER_DRAWS, None] < b.like[None, :ROUNDER_DRAWS]).mean()) if (
        a.like is not None and b.like is not None
    ) else None  # fmt: skip
    raw_a, raw_b = a.raw_balls, b.raw_balls
    spread_a, spread_b = float(raw_a.std(ddof=1)), float(raw_b.std(ddof=1))
    told = smallest_difference(max(spread_a, 1e-12), max(spread_b, 1e-12), raw_a.size, raw_b.size)
    shared = float(np.sqrt(sum((r.sd * r.weight) ** 2 for r in (*own_a, *own_b))))
    return Pair(
        name_a, name_b, truth_of(difference), truth_of(a.sb / b.sb), truth_of(form) if form is not None else None,
        rounder, told_apart=False, p=p, p_adjusted=p, welch_p=_welch(raw_a, raw_b), rank_p=_rank(raw_a, raw_b),
        spread_p=_spread(raw_a, raw_b),
        smallest_told=float(np.hypot(told, POWER_FACTOR * shared)),
        consequences=_consequences(a, mean_a, mean_b), notes=_notes(own_a, own_b, float(difference.std())),
        budget=difference_budget(a.side, b.side, (own_a, own_b), difference),
    )  # fmt: skip


def _two_sided(difference: Floats) -> float:
    """Two-sided tail share of draws (N,) about 0; of the normal with their mean and SD where too few lie beyond."""
    beyond = min(int((difference > 0).sum()), int((difference < 0).sum()))
    if beyond >= FEW:
        return min(2.0 * beyond / difference.size, 1.0)
    normal = 2.0 * float(stats.norm.sf(abs(difference.mean()) / difference.std()))
    return min(normal, 2.0 * (beyond + 1.0) / difference.size)


def _constant(*samples: Floats) -> bool:
    return all(float(np.ptp(sample)) == 0.0 for sample in samples)


def _welch(a: Floats, b: Floats) -> float:
    return float("nan") if _constant(a, b) else float(welch(a, b).p)


def _rank(a: Floats, b: Floats) -> float:
    return float("nan") if _constant(a, b) else float(rank_test(a, b).p)


def _spread(a: Floats, b: Floats) -> float:
    return float("nan") if _constant(a, b) or min(a.size, b.size) < 3 else float(brown_forsythe(a, b).p)


def not_common(a: Sequence[Shared], b: Sequence[Shared]) -> tuple[tuple[Shared, ...], tuple[Shared, ...]]:
    """Shared errors of a difference: of an error that both have, what is left of it; and what only one has."""
    in_b = {(row.kind, row.key): row.sd * row.weight for row in b}
    in_a = {(row.kind, row.key) for row in a}
    left = tuple(replace(r, sd=r.sd * r.weight - in_b.get((r.kind, r.key), 0.0), weight=1.0) for r in a)
    return left, tuple(r for r in b if (r.kind, r.key) not in in_a)


def _notes(a: Sequence[Shared], b: Sequence[Shared], width: float) -> tuple[str, ...]:
    """Say which shared errors matter to the difference: those of a tenth of its standard uncertainty or more."""
    kinds = dict.fromkeys(row.kind for row in (*a, *b) if abs(row.sd * row.weight) >= 0.1 * width)
    if not kinds:
        return ("the instrument's own error is the same for both and cancels",)
    return (f"does not cancel, and is in the interval: {', '.join(kinds)}",)


def _consequences(a: _Drawn, mean_a: Floats, mean_b: Floats) -> tuple[Consequence, ...]:
    """Per cent by which the first is larger in circumference, surface and volume: ratio, its square and its cube."""
    if a.prepared.sample.quantity != "diameter":
        return ()
    ratio = mean_a / mean_b
    names = (("circumference", 1), ("surface", 2), ("volume", 3))
    return tuple(Consequence(name, truth_of(100.0 * (ratio**power - 1.0))) for name, power in names)
