"""The drops of one ball put together: mean restitution and rebound, and how restitution goes with impact speed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from ballbench.findings.bouncing.draws import named_rng, spread_of
from ballbench.findings.bouncing.drops import DropDraws
from ballbench.findings.bouncing.results import BallBounce, BounceTrend, ProductBounce, Spread

__all__ = ["BallDraws", "HeardDrop", "MeanU", "ball_bounces", "mean_u", "products_of", "trend_of"]

Array = NDArray[np.float64]

_FEWEST = 4
"""Impacts that a change with speed needs: two more than a line takes (own choice)."""
_NORMAL = float(stats.norm.ppf(0.975))
_LEAST_RANGE = 0.1
"""Speeds must differ by this share of the fastest (own choice)."""


@dataclass(frozen=True, slots=True)
class HeardDrop:
    """One drop that counts: drawn with its own errors, and with the shared ones alone."""

    drawn: DropDraws
    shared: DropDraws


@dataclass(frozen=True, slots=True)
class MeanU:
    """Standard uncertainty of a mean over drops: what all balls have alike, and s/sqrt(k) of its own drops.

    It is that of JCGM 100:2008, 4.2.3, and not the SD of the draws: those of the t distribution with one or two degrees
    of freedom have none.
    """

    shared: float
    own: float

    @property
    def whole(self) -> float:
        """Both, added in squares."""
        return math.hypot(self.shared, self.own)


@dataclass(frozen=True, slots=True)
class BallDraws:
    """What a clause needs of one ball.

    Parameters
    ----------
    product, ball : str
        Which.
    drops : int
        That count.
    rebound, restitution : (M,) array or None
        Means over the drops, estimates first: rebound in m from the drop height, restitution at the first impact;
        None where the drop height is not known. What differs from drop to drop is in them.
    scatter_known : bool
        False where neither this ball nor a fellow was dropped twice: then it is not.
    rebound_u, restitution_u : MeanU or None
        Their standard uncertainties, in m, and in 1; None: the SD of the draws.
    """

    product: str
    ball: str
    drops: int
    rebound: Array | None
    restitution: Array | None
    scatter_known: bool
    rebound_u: MeanU | None = None
    restitution_u: MeanU | None = None


@dataclass(frozen=True, slots=True)
class _Scatter:
    """SD from drop to drop and its degrees of freedom; 0 degrees: not known."""

    sd: float
    dof: int


def ball_bounces(
    balls: Mapping[tuple[str, str], Sequence[HeardDrop]], left_out: Mapping[tuple[str, str], int], seed: int
) -> tuple[tuple[BallBounce, ...], tuple[BallDraws, ...]]:
    """Put the drops of every ball together.

    Parameters
    ----------
    balls : mapping of (str, str) to sequence of HeardDrop
        The drops that count, by product and ball; a ball without any is left out of the result.
    left_out : mapping of (str, str) to int
        Drops that do not count.
    seed : int
        Of what differs from drop to drop.

    Returns
    -------
    tuple of BallBounce, tuple of BallDraws
        In the order given.

    Notes
    -----
    The mean over k drops has the shared errors whole, and s/sqrt(k) of what differs from drop to drop, by the t
    distribution. s is the SD between drops, pooled over the balls of a product (JCGM 100:2008, H.5 in its sense; one
    spread for the balls of one product is assumed), and never less than what the errors of single times make of it.
    """
    pools = {product: _pools(product, balls) for product in dict.fromkeys(product for product, _ in balls)}
    found, draws = [], []
    for (product, ball), drops in balls.items():
        if not drops:
            continue
        rebound, rebound_u = _mean("rebound", drops, pools[product]["rebound"], seed, product, ball)
        first, first_u = _mean("first", drops, pools[product]["first"], seed, product, ball)
        own = [] if rebound is None else [_rebounds(drops, own=True)[0]]
        scatter = float(np.std(own[0], ddof=1)) * 1e3 if own and own[0].size > 1 else math.nan
        found.append(
            BallBounce(
                product, ball, len(drops), left_out.get((product, ball), 0),
                None if first is None else replace(spread_of(first), u=first_u.whole),
                _later(drops, seed, product, ball),
                None if rebound is None else replace(spread_of(rebound, 1e3), u=1e3 * rebound_u.whole), scatter,
                trend_of(drops),
                _shared_u("first", drops), 1e3 * _shared_u("rebound", drops),
            )
        )  # fmt: skip
        known = pools[product]["rebound"].dof > 0
        draws.append(BallDraws(product, ball, len(drops), rebound, first, known, rebound_u, first_u))
    return tuple(found), tuple(draws)


def products_of(balls: Sequence[BallDraws]) -> tuple[ProductBounce, ...]:
    """Put the balls of each product together; products of one ball, or of unknown drop height, are left out."""
    found = []
    for product in dict.fromkeys(ball.product for ball in balls):
        own = [ball for ball in balls if ball.product == product]
        rebounds = [ball.rebound for ball in own if ball.rebound is not None]
        if len(own) < 2 or len(rebounds) < len(own):
            continue
        heights = [(ball.ball, 1e3 * float(values[0])) for ball, values in zip(own, rebounds, strict=True)]
        lowest, highest = (pick(heights, key=lambda pair: pair[1]) for pick in (min, max))
        mean = spread_of(np.mean(rebounds, axis=0), 1e3)
        u = mean_u([ball.rebound_u for ball in own])
        mean = mean if u is None else replace(mean, u=1e3 * u)
        found.append(ProductBounce(product, len(own), sum(ball.drops for ball in own), mean, lowest, highest))
    return tuple(found)


def mean_u(balls: Sequence[MeanU | None]) -> float | None:
    """Give the standard uncertainty of a mean over balls, whose shared errors do not average out; None: not known."""
    known = [one for one in balls if one is not None]
    if len(known) < len(balls) or not known:
        return None
    own = math.sqrt(sum(one.own**2 for one in known)) / len(known)
    return math.hypot(sum(one.shared for one in known) / len(known), own)


def _shared_u(name: str, drops: Sequence[HeardDrop]) -> float:
    values = _values(name, drops, own=False)
    return math.nan if values is None else float(np.std(values[1:].mean(axis=1)))


def _rebounds(drops: Sequence[HeardDrop], *, own: bool) -> Array:
    kept = [drop.drawn.rebound if own else drop.shared.rebound for drop in drops]
    return np.column_stack([values for values in kept if values is not None])


def _firsts(drops: Sequence[HeardDrop], *, own: bool) -> Array:
    return np.column_stack([(drop.drawn if own else drop.shared).restitution[:, 0] for drop in drops])


def _values(name: str, drops: Sequence[HeardDrop], *, own: bool) -> Array | None:
    """Give (M, drops) values; None where the drop height is not known."""
    if any(drop.drawn.rebound is None for drop in drops):
        return None
    return _rebounds(drops, own=own) if name == "rebound" else _firsts(drops, own=own)


def _pools(product: str, balls: Mapping[tuple[str, str], Sequence[HeardDrop]]) -> dict[str, _Scatter]:
    """Pool what differs from drop to drop over the balls of a product, no less than the errors of the times."""
    pools = {}
    for name in ("rebound", "first"):
        squares, dof, own = 0.0, 0, []
        for (whose, _), drops in balls.items():
            values = _values(name, drops, own=True) if whose == product and drops else None
            if values is None:
                continue
            base = _values(name, drops, own=False)
            own.append(float(np.mean(np.var(values - (0.0 if base is None else base), axis=0))))
            squares += float(np.sum((values[0] - values[0].mean()) ** 2))
            dof += values.shape[1] - 1
        least = math.sqrt(float(np.mean(own))) if own else 0.0
        pools[name] = _Scatter(max(math.sqrt(squares / dof) if dof else 0.0, least), dof)
    return pools


def _mean(
    name: str, drops: Sequence[HeardDrop], scatter: _Scatter, seed: int, product: str, ball: str
) -> tuple[Array | None, MeanU]:
    """Give the mean over the drops with its draws, (M,), and its standard uncertainty."""
    values = _values(name, drops, own=False)
    if values is None:
        return None, MeanU(math.nan, math.nan)
    mean: Array = values.mean(axis=1)
    rng = named_rng(seed, "drop to drop", name, product, ball)
    size = mean.size - 1
    steps = rng.standard_t(scatter.dof, size) if scatter.dof else rng.standard_normal(size)
    u = MeanU(float(np.std(mean[1:])), scatter.sd / math.sqrt(values.shape[1]))
    mean[1:] += u.own * steps
    return mean, u


def _later(drops: Sequence[HeardDrop], seed: int, product: str, ball: str) -> Spread | None:
    """Give the mean restitution of all impacts after the first."""
    taken = [drop.drawn.restitution[:, 1 - drop.drawn.first :] for drop in drops]
    values = np.hstack(taken)
    if not values.shape[1]:
        return None
    mean = values.mean(axis=1)
    count = values.shape[1]
    u = MeanU(float(np.std(mean[1:])), 0.0)
    if count > 1:
        beyond = float(np.var(values[0], ddof=1)) - float(np.mean(np.var(values[1:] - values[0], axis=1, ddof=1)))
        steps = named_rng(seed, "later", product, ball).standard_t(count - 1, mean.size - 1)
        u = replace(u, own=math.sqrt(max(beyond, 0.0) / count))
        mean[1:] += u.own * steps
    return replace(spread_of(mean), u=u.whole)


def trend_of(drops: Sequence[HeardDrop]) -> BounceTrend | None:
    """Say how restitution goes with impact speed.

    Parameters
    ----------
    drops : sequence of HeardDrop
        Of one ball.

    Returns
    -------
    BounceTrend or None
        None for fewer than four impacts, or speeds that differ by less than a tenth.

    Notes
    -----
    A straight line by generalised least squares, weighted by what is each impact's own: the errors of its times, with
    the covariance of neighbours that share a flight, and one further variance that makes the weighted squares equal
    their degrees of freedom (Paule and Mandel, from memory). Errors that all share, such as drag, are not in the
    weights: an error of drag bends restitution over speed, and a fit that knew its shape would take it off by trusting
    the line to be straight. They are in the uncertainty of the slope. Its interval is that of the t distribution with
    two degrees of freedom fewer than impacts for the own part, of the normal one for the shared part.
    """
    values = np.hstack([drop.drawn.restitution for drop in drops])
    shared = np.hstack([drop.shared.restitution for drop in drops])
    speeds = np.concatenate([drop.drawn.speed[0] for drop in drops])
    count = speeds.size
    if count < _FEWEST or np.ptp(speeds) < _LEAST_RANGE * speeds.max():
        return None
    own = np.atleast_2d(np.cov(values[1:] - shared[1:], rowvar=False))
    design = np.column_stack([np.ones(count), speeds - speeds.mean()])

    def fitted(extra: float) -> tuple[Array, float]:
        weight = np.linalg.inv(own + (extra + 1e-12) * np.eye(count))
        gain = np.linalg.solve(design.T @ weight @ design, design.T @ weight)
        left = values[0] - design @ (gain @ values[0])
        return gain[1], float(left @ weight @ left)

    dof, extra = count - 2, 0.0
    if fitted(0.0)[1] > dof:
        most = float(np.var(values[0], ddof=1)) * count + 1e-9
        extra = float(optimize.brentq(lambda size: fitted(size)[1] - dof, 0.0, most)) if fitted(most)[1] < dof else most
    gain = fitted(extra)[0]
    slope = float(gain @ values[0])
    by_own = float(gain @ (own + extra * np.eye(count)) @ gain)
    by_shared = float(np.var(shared[1:] @ gain))
    factor = float(stats.t.ppf(0.975, dof)) if extra > 0.0 else _NORMAL
    half = math.hypot(factor * math.sqrt(by_own), _NORMAL * math.sqrt(by_shared))
    spread = Spread(slope, math.sqrt(by_own + by_shared), slope - half, slope + half)
    return BounceTrend(spread, float(speeds.min()), float(speeds.max()), count, abs(slope) > half)
