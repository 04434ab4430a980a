"""How well a planned comparison tells two makes apart: the chance at true differences, and the smallest one told.

Both makes are read with one kit in one sitting, as comparisons are meant to be: what their readings share is drawn once
for both, and cancels as `findings.comparing` has it; the squeeze of a make does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.findings.comparing import ALPHA, compare_samples, not_common
from ballbench.findings.planning.blocks import Block, Place, Progress, Run, block_sizes, running
from ballbench.findings.planning.chances import Share, check_tests, share_of
from ballbench.findings.planning.designs import Design, Kit, TruthAt
from ballbench.findings.planning.simulating import draw_balls, draw_shared, read_balls, sample_from
from ballbench.records import Sample
from ballbench.statistics.grids import COARSE
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.preparation import Prepared, prepare
from ballbench.statistics.study import Floats

__all__ = ["TellingApart", "Two", "simulated_pairs", "tell_apart", "told_of"]

DRAWS = 1024
FULL_DRAWS = 4096
Z = 1.959964


@dataclass(frozen=True, slots=True)
class Two:
    """Two makes to be compared.

    Parameters
    ----------
    kit : Kit
        Reads both.
    design : Design
        Of each make.
    truth, other : TruthAt
        The first make and the second; the first's mean is that of the second plus `difference`, whatever it says.
    difference : float
        First minus second, base unit.
    products : pair of str
        Their names where the bench states a squeeze.
    """

    kit: Kit
    design: Design
    truth: TruthAt
    other: TruthAt
    difference: float = 0.0
    products: tuple[str, str] = ("first", "second")


@dataclass(frozen=True, slots=True)
class TellingApart:
    """What a comparison can tell.

    Parameters
    ----------
    design : Design
        Of each make.
    minutes : float
        At the bench, both makes together.
    tests : int
        Simulated comparisons.
    differences : tuple of float
        True differences, base unit.
    told : tuple of Share
        Share of comparisons that tell the makes apart at each.
    wanted : float
        Chance behind `smallest`.
    smallest, low, high : float
        Smallest true difference told apart with that chance, and where its Monte Carlo error (95 %) leaves it; NaN
        where no difference asked for reaches it.
    in_full : int
        Comparisons that the full engine judged one by one.
    """

    design: Design
    minutes: float
    tests: int
    differences: tuple[float, ...]
    told: tuple[Share, ...]
    wanted: float
    smallest: float
    low: float
    high: float
    in_full: int


@dataclass(frozen=True, slots=True)
class _Told:
    """Of T comparisons: 95 % interval of the difference, whether it told them apart, and whether judged in full."""

    low: Floats
    high: Floats
    told: NDArray[np.bool_]
    full: NDArray[np.bool_]


def tell_apart(
    two: Two, differences: Sequence[float], wanted: float = 0.8, tests: int = 400, seed: int = 1,
    place: Place | None = None, progress: Progress | None = None,
) -> TellingApart:  # fmt: skip
    """Simulate comparisons and say what they tell apart.

    Parameters
    ----------
    two : Two
        Kit, design and the two makes; its own difference is not used.
    differences : sequence of float
        True differences to look at, 0 or more, base unit; 0 gives the chance of telling equal makes apart.
    wanted : float
        Chance behind the smallest difference, between 0 and 1.
    tests, seed, place, progress
        As for `chances.chances`.

    Returns
    -------
    TellingApart
        Comparisons are simulated once: moving one make moves its posterior as far, so that every difference is seen
        with the same comparisons. On a display coarser than twice the noise that does not hold: there every difference
        is simulated by itself, and the smallest is found between those asked for.

    Raises
    ------
    BadRequest
        Fewer than two balls of a make, no difference, a negative one, or numbers out of their range.
    """
    asked = sorted(float(difference) for difference in differences)
    _check(two, asked, wanted, tests)
    tool = two.kit.tool
    with running(place or Place(), progress) as run:
        if tool.sd >= 0.5 * tool.resolution:
            first = _simulated(replace(two, difference=0.0), tests, (seed, 0), run)
            told = [_told_at(first, difference) for difference in asked]
            error = Z * float(np.sqrt(wanted * (1.0 - wanted) / tests))
            smallest, low, high = (_reached(first.low, wanted + shift) for shift in (0.0, -error, error))
            in_full = int(first.full.sum())
        else:
            rows = [_simulated(replace(two, difference=d), tests, (seed, 1 + i), run) for i, d in enumerate(asked)]
            told = [row.told for row in rows]
            smallest, low, high = _between(asked, told, wanted, tests)
            in_full = sum(int(row.full.sum()) for row in rows)
    shares = tuple(share_of(int(row.sum()), tests) for row in told)
    return TellingApart(
        two.design, 2.0 * two.design.minutes, tests, tuple(asked), shares, wanted, smallest, low, high, in_full
    )


def _check(two: Two, differences: Sequence[float], wanted: float, tests: int) -> None:
    """Say all that is wrong with a planned comparison."""
    check_tests(tests)
    faults = []
    if two.design.balls < 2:
        faults.append(Fault("design, balls", str(two.design.balls), "two balls of each make, or more", "plan for more"))
    if not differences or not all(np.isfinite(differences)) or differences[0] < 0.0:
        faults.append(Fault("differences", str(list(differences)), "finite numbers from 0", "give one at least"))
    if not 0.0 < wanted < 1.0:
        faults.append(Fault("wanted chance", str(wanted), "a number between 0 and 1", "give 0.8 for 80 %"))
    if faults:
        raise BadRequest(faults)


def _simulated(two: Two, tests: int, key: tuple[int, int], run: Run) -> _Told:
    """Simulate comparisons in blocks."""
    sizes = block_sizes(tests, two.design.balls)
    parts: list[_Told] = run([Block(told_of, two, size, (*key, number)) for number, size in enumerate(sizes)])
    return _Told(*(np.concatenate([getattr(part, name) for part in parts]) for name in ("low", "high", "told", "full")))


def simulated_pairs(two: Two, tests: int, rng: np.random.Generator) -> list[tuple[Sample, Sample]]:
    """Simulate the readings of both makes, errors of kit and sitting shared between them."""
    design, shared = two.design, draw_shared(two.kit, tests, rng)
    first = replace(two.truth, mean=two.other.mean + two.difference)
    readings = [
        read_balls(two.kit, name, draw_balls(truth, design.balls, design.axes, tests, rng), design.repeats, shared, rng)
        for name, truth in zip(two.products, (first, two.other), strict=True)
    ]
    return [
        (
            sample_from(two.kit, two.products[0], design, readings[0][t]),
            sample_from(two.kit, two.products[1], design, readings[1][t]),
        )
        for t in range(tests)
    ]


def told_of(two: Two, tests: int, rng: np.random.Generator) -> _Told:
    """Simulate comparisons at one true difference and judge them, together where that can be done."""
    pairs = simulated_pairs(two, tests, rng)
    prepared = [tuple(prepare(sample, two.kit.bench) for sample in pair) for pair in pairs]
    together = np.array([all(item.bounds is None and not item.study.kinds for item in pair) for pair in prepared])
    low, high = np.full(tests, np.nan), np.full(tests, np.nan)
    told = np.zeros(tests, bool)
    places = np.flatnonzero(together)
    if places.size:
        means = [_means([prepared[t][side] for t in places], rng) for side in (0, 1)]
        own = not_common(prepared[places[0]][0].shared, prepared[places[0]][1].shared)
        sd = float(np.sqrt(sum((row.sd * row.weight) ** 2 for rows in own for row in rows)))
        difference = means[0] - means[1] + sd * rng.standard_normal(means[0].shape)
        low[places], high[places] = np.quantile(difference, [ALPHA / 2.0, 1.0 - ALPHA / 2.0], axis=1)
        told[places] = (low[places] >= 0.0) | (high[places] <= 0.0)
    for t in np.flatnonzero(~together).tolist():
        samples = dict(zip(two.products, pairs[t], strict=True))
        _, found = compare_samples(samples, two.kit.bench, int(rng.integers(2**31)), FULL_DRAWS)
        told[t], low[t], high[t] = found[0].told_apart, found[0].difference.low, found[0].difference.high
    return _Told(low, high, told, ~together)


def _means(prepared: Sequence[Prepared], rng: np.random.Generator) -> Floats:
    """Draws of the mean of balls like these for every test, (T, D), shared errors left in."""
    study = replace(
        prepared[0].study,
        means=np.concatenate([item.study.means for item in prepared]),
        sse=np.concatenate([item.study.sse for item in prepared]),
        prior_scale=float(np.median([item.study.prior_scale for item in prepared])),
    )
    parts = [truths.mean for truths in Posterior(study, COARSE).sample(rng, DRAWS)]
    return np.concatenate(parts).reshape(len(prepared), DRAWS)


def _told_at(found: _Told, difference: float) -> NDArray[np.bool_]:
    """Which comparisons tell makes apart that differ by so much: 0 lies outside the interval, moved as far."""
    return np.asarray((found.low + difference >= 0.0) | (found.high + difference <= 0.0))


def _reached(low: Floats, share: float) -> float:
    """Difference from which a share of the comparisons have the lower end of their interval above 0."""
    return max(float(np.quantile(-low, min(share, 1.0), method="higher")), 0.0)


def _between(
    asked: Sequence[float], told: Sequence[NDArray[np.bool_]], wanted: float, tests: int
) -> tuple[float, float, float]:
    """Smallest difference by straight lines between those asked for, with what its Monte Carlo error leaves."""
    shares = np.maximum.accumulate([float(row.mean()) for row in told])
    error = Z * float(np.sqrt(wanted * (1.0 - wanted) / tests))

    def crossing(level: float) -> float:
        at = int(np.searchsorted(shares, level))
        if at == len(asked):
            return float("nan")
        if at == 0:
            return asked[0]
        rise = (level - shares[at - 1]) / (shares[at] - shares[at - 1])
        return float(asked[at - 1] + rise * (asked[at] - asked[at - 1]))

    return crossing(wanted), crossing(wanted - error), crossing(wanted + error)
