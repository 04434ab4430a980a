"""From trials to counts: which spot of a ball is up more often than chance, and how long a ball takes to rest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ballbench.findings.rolling.results import SpotBall, SpotCount
from ballbench.records.spot_log import SpotRow
from ballbench.statistics.counts import share_bounds
from ballbench.statistics.same_spot import spot_tests, trials_up_to_tell
from ballbench.statistics.two_samples import holm

__all__ = ["spot_balls"]

_TOLD = 0.05
_REST = ""
"""The sectors of a ball that were never up, or whose share nobody stated, as one."""


def spot_balls(rows: Sequence[SpotRow]) -> tuple[SpotBall, ...]:
    """Count the spots of each ball.

    Parameters
    ----------
    rows : sequence of SpotRow
        All trials.

    Returns
    -------
    tuple of SpotBall
        In the order of the file; told from chance after Holm over all of them.
    """
    keys = dict.fromkeys((row.product, row.ball, row.test) for row in rows)
    balls = [_ball([row for row in rows if (row.product, row.ball, row.test) == key]) for key in keys]
    open_ones = [ball for ball in balls if math.isfinite(ball.p)]
    adjusted = iter(holm([ball.p for ball in open_ones]).tolist() if open_ones else [])
    return tuple(_adjusted(ball, next(adjusted)) if math.isfinite(ball.p) else ball for ball in balls)


def _ball(rows: Sequence[SpotRow]) -> SpotBall:
    rested = [row for row in rows if row.spot]
    names = list(dict.fromkeys(row.spot for row in rested))
    shares = [next(row.share for row in rested if row.spot == name) for name in names]
    counts = [sum(row.spot == name for row in rested) for name in names]
    sectors = max((row.of for row in rested), default=0)
    spots: tuple[SpotCount, ...] = ()
    p, least = math.nan, 0
    if rested:
        counts, shares = _filled(counts, shares, sectors)
        spots, p = _spots(names, counts, shares, len(rested))
        first = names.index(spots[0].spot)
        least = trials_up_to_tell(len(rested), shares, shares[first]) if len(shares) > 1 else 0
    seconds = [row.seconds for row in rows if math.isfinite(row.seconds)]
    median, fastest, slowest = (float(np.median(seconds)), min(seconds), max(seconds)) if seconds else (math.nan,) * 3
    return SpotBall(
        rows[0].product, rows[0].ball, rows[0].test, len(rested), len(rows) - len(rested), spots, sectors, p, math.nan,
        False, least, median, fastest, slowest, len(seconds),
    )  # fmt: skip


def _filled(counts: list[int], shares: list[float], sectors: int) -> tuple[list[int], list[float]]:
    """Add the sectors that were never up: equal ones each by itself, else what is left of the sphere as one."""
    if sectors and all(share == 1.0 / sectors for share in shares):
        more = sectors - len(shares)
        return [*counts, *[0] * more], [*shares, *[1.0 / sectors] * more]
    left = 1.0 - math.fsum(shares)
    if left > 1e-9:
        return [*counts, 0], [*shares, left]
    total = math.fsum(shares)  # 1 to the figures that were written
    return counts, [share / total for share in shares]


def _spots(
    names: Sequence[str], counts: Sequence[int], shares: Sequence[float], trials: int
) -> tuple[tuple[SpotCount, ...], float]:
    """Give each spot that was up, most telling first; `more` is settled when all balls are known."""
    if len(counts) < 2:
        return (SpotCount(names[0], counts[0], 1.0, 1.0, math.nan, math.nan, math.nan, False),), math.nan
    tests = spot_tests(counts, shares, until=_TOLD)
    chance = {test.spot: test.p for test in tests}
    order = [test.spot for test in tests if test.spot < len(names)]
    order += [k for k in range(len(names)) if k not in order]
    found = []
    for k in order:
        bounds = share_bounds(counts[k], trials, 1.0 - 0.05 / len(counts))  # Bonferroni over the spots
        found.append(
            SpotCount(
                names[k], counts[k], shares[k], counts[k] / trials, bounds.low, bounds.high, chance.get(k, math.nan),
                False,
            )
        )  # fmt: skip
    return tuple(found), tests[0].p


def _adjusted(ball: SpotBall, p: float) -> SpotBall:
    """Settle which spots are up more often than chance: in order, as long as each is told."""
    told = p < _TOLD
    spots: list[SpotCount] = []
    going = told
    for spot in ball.spots:
        first = not spots
        going = going and (first or spot.p < _TOLD)
        spots.append(replace(spot, more=bool(going and spot.share > spot.chance)))
    return replace(ball, spots=tuple(spots), p_adjusted=p, told=bool(told))
