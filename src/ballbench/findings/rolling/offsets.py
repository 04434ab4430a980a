"""From turnings to offsets of the mass centre: axis by axis, ball by ball, product by product, and between products."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from ballbench.findings.rolling.results import AxisOffset, BallOffset, RampShape, RollNoise, RollPair, RollProduct
from ballbench.findings.rolling.turnings import Turning
from ballbench.physics.rolling import Ramp, veer_gain
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records.roll_log import AXES
from ballbench.statistics.two_samples import holm, rank_test, welch
from ballbench.statistics.vector_length import cone_of, length_of

__all__ = ["ONE_WAY", "products_of", "roll_pairs"]

ONE_WAY = "it was rolled one way round only, so that the lean of the ramp cannot be told from the ball"
_NO_NOISE = "nothing is known of how runs scatter; roll the axes again, or state u"
_MARK = 1.0
"""Standard uncertainty of where a mark sits or a ball is laid, mm on its surface (own choice)."""
_TOLD = 0.05  # two-sided, all pairs together
_DIRECTED = 6
"""Degrees of freedom of the noise from which on a direction is given: with fewer, told balls are mostly those whose
noise was underrated (own choice, by simulation)."""
_ALIKE = 1.25
"""Largest ratio of the noise of two products' offsets at which their lengths are compared (own choice)."""
_NORMAL = 1.959964  # two-sided 95 % of the normal distribution
_ROUND = 2.447747  # 95 % of a round normal distribution in two dimensions


def products_of(
    turnings: Sequence[Turning], noise: RollNoise, spoiled: Sequence[tuple[str, str]]
) -> tuple[RollProduct, ...]:
    """Give the offsets of each ball.

    Parameters
    ----------
    turnings : sequence of Turning
        Of all balls.
    noise : RollNoise
        Of single runs.
    spoiled : sequence of (str, str)
        Product and reason of each spoiled attempt.

    Returns
    -------
    tuple of RollProduct
        In the order of the file.
    """
    products = []
    by_product: dict[str, dict[str, list[Turning]]] = {}
    for one in turnings:
        by_product.setdefault(one.product, {}).setdefault(one.ball, []).append(one)
    for name, by_ball in by_product.items():
        balls = tuple(_ball(ball, own, noise) for ball, own in by_ball.items())
        whole = [ball for ball in balls if math.isfinite(ball.offset)]
        products.append(
            RollProduct(
                name, balls, len(whole), tuple(ball.ball for ball in whole if ball.told),
                float(np.median([ball.offset for ball in whole])) if whole else math.nan,
                max(whole, key=lambda ball: ball.raw).ball if whole else "",
                sum(product == name for product, _ in spoiled),
            )
        )  # fmt: skip
    return tuple(products)


def _ball(name: str, turnings: Sequence[Turning], noise: RollNoise) -> BallOffset:
    axes = tuple(
        _axis(axis, [one for one in turnings if one.axis == axis], noise)
        for axis in AXES
        if any(one.axis == axis for one in turnings)
    )
    empty = BallOffset(
        name, axes, math.nan, math.nan, math.nan, math.nan, math.nan, False,
        max(one.gain_u for one in turnings), math.nan, (), math.nan, math.nan, math.nan, math.nan, _ramp(turnings),
    )  # fmt: skip
    known = [axis for axis in axes if not axis.reason]
    if len(known) < len(AXES):
        return replace(empty, reason=_not_whole(axes))
    if not noise.dof:
        return replace(empty, raw=math.hypot(*(axis.offset for axis in axes)), reason=_NO_NOISE)
    return _whole(empty, known, turnings, noise)


def _ramp(turnings: Sequence[Turning]) -> RampShape | None:
    shapes = {(one.ramp.slope, one.ramp.run_out, one.ramp.angle) for one in turnings}
    if len(shapes) > 1:
        return None
    slope, run_out, angle = shapes.pop()
    ramp, at_foot = Ramp(slope, math.radians(angle), run_out), Ramp(slope, math.radians(angle))
    return RampShape(slope, run_out, angle, veer_gain(at_foot, 1.0) / veer_gain(ramp, 1.0))


def _whole(ball: BallOffset, axes: Sequence[AxisOffset], turnings: Sequence[Turning], noise: RollNoise) -> BallOffset:
    components, u = [axis.offset for axis in axes], [axis.offset_u for axis in axes]
    found = length_of(components, u, noise.dof)
    tilt = _MARK / (0.5 * min(one.ramp.diameter for one in turnings))
    shares = [one / found.raw for one in components] if found.raw > 0.0 else [0.0]
    marks_u = tilt * math.sqrt(math.fsum(one**2 * (1.0 - one**2) for one in shares))
    low, high = _scaled(found.length, found.low, found.high, math.hypot(ball.scale_u, marks_u))
    told = found.low > 0.0
    cone = math.nan
    if told and noise.dof >= _DIRECTED:
        cone = math.degrees(math.hypot(cone_of(found, max(u), noise.dof, chosen=True), _ROUND * tilt))
    heavy = () if math.isnan(cone) else tuple(math.degrees(math.acos(one)) for one in shares)
    on_ramp = _scaled(found.length, found.low, found.high, marks_u)  # a veer is read, so the ramp does not scale it
    gains = {one.gain for one in turnings}
    gain = gains.pop() if len(gains) == 1 else math.nan
    return replace(
        ball, raw=found.raw, offset=found.length, low=low, high=high, p=found.p, told=told, heavy=heavy, cone=cone,
        worst=gain * found.length, worst_low=gain * on_ramp[0], worst_high=gain * on_ramp[1], marks_u=marks_u,
        axes=tuple(_as_marked(axis, found.raw, tilt) for axis in axes),
    )  # fmt: skip


def _as_marked(axis: AxisOffset, raw: float, tilt: float) -> AxisOffset:
    """Widen the interval of one part by what a mark that is a little off takes from the parts across it."""
    more = _NORMAL * tilt * math.sqrt(max(raw**2 - axis.offset**2, 0.0))
    low = axis.offset - math.hypot(axis.offset - axis.low, more)
    return replace(axis, low=low, high=axis.offset + math.hypot(axis.high - axis.offset, more))


def _not_whole(axes: Sequence[AxisOffset]) -> str:
    """Say which axes are missing; one axis alone never gives the whole offset."""
    missing = [axis for axis in AXES if axis not in {one.axis for one in axes}]
    one_way = [one.axis for one in axes if one.reason]
    words = [f"axis {axis} was not rolled" for axis in missing]
    words += [f"axis {axis} was rolled one way round only" for axis in one_way]
    return f"{', '.join(words)}; the offset has a part along each of three axes"


def _axis(axis: str, turnings: Sequence[Turning], noise: RollNoise) -> AxisOffset:
    """Put the turnings of one axis together, each weighted by how well it tells the offset."""
    placed, turned = (sum(len(runs) for runs in way) for way in
                      ([one.placed for one in turnings], [one.turned for one in turnings]))  # fmt: skip
    both = [one for one in turnings if one.both]
    none = math.nan
    if not both:
        return AxisOffset(axis, placed, turned, none, none, none, none, none, none, none, ONE_WAY)
    weights = np.array([(one.gain / one.per_run) ** 2 for one in both])
    offset = float(weights @ np.array([one.veer / one.gain for one in both]) / weights.sum())
    offset_u = noise.sd / math.sqrt(float(weights.sum()))
    veer, half_sum = (both[0].veer, both[0].lean) if len(both) == 1 else (math.nan, math.nan)
    veer_u = noise.sd * both[0].per_run if len(both) == 1 else math.nan
    if not noise.dof:
        return AxisOffset(axis, placed, turned, veer, math.nan, half_sum, offset, math.nan, math.nan, math.nan)
    half = coverage_factor(noise.dof) * offset_u
    low, high = _scaled(offset, offset - half, offset + half, max(one.gain_u for one in both))
    return AxisOffset(axis, placed, turned, veer, veer_u, half_sum, offset, offset_u, low, high)


def _scaled(value: float, low: float, high: float, scale_u: float) -> tuple[float, float]:
    """Widen an interval by a relative uncertainty that noise is independent of: half widths add in squares.

    An end on the other side of 0 than the value stays there: a scale changes the size of an offset, never whether there
    is one. Zou and Donner (2008), intervals of functions of independent estimates, from memory; held by simulation.
    """
    more = _NORMAL * scale_u * abs(value)
    wider_low, wider_high = value - math.hypot(value - low, more), value + math.hypot(high - value, more)
    if low >= 0.0:
        wider_low = low if value == 0.0 else max(wider_low, low * math.exp(-_NORMAL * scale_u))
    if high <= 0.0:
        wider_high = high if value == 0.0 else min(wider_high, high * math.exp(-_NORMAL * scale_u))
    return wider_low, wider_high


def roll_pairs(products: Sequence[RollProduct]) -> tuple[RollPair, ...]:
    """Hold products against each other, pair by pair.

    Parameters
    ----------
    products : sequence of RollProduct
        Rolled on the same ramps.

    Returns
    -------
    tuple of RollPair
        Empty where no two products have a ball rolled about three axes. Told apart after Holm over all of them.
    """
    pairs = [_pair(a, b) for a, b in combinations(products, 2) if a.whole and b.whole]
    open_ones = [pair for pair in pairs if not pair.reason]
    adjusted = iter(holm([pair.p for pair in open_ones]).tolist() if open_ones else [])
    return tuple(pair if pair.reason else _adjusted(pair, next(adjusted)) for pair in pairs)


def _adjusted(pair: RollPair, p: float) -> RollPair:
    return replace(pair, p_adjusted=p, told_apart=bool(p < _TOLD))


def _pair(a: RollProduct, b: RollProduct) -> RollPair:
    """Compare the raw lengths: noise makes both too long alike, and the more the shorter they are.

    So the difference of the means is rather too small than too large, and the test keeps its risk.
    """
    none = math.nan
    one, other = ([ball.raw for ball in _wholes(product)] for product in (a, b))
    empty = RollPair(a.product, b.product, a.whole, b.whole, none, none, none, none, none, none, False)
    if min(len(one), len(other)) < 2:
        return replace(empty, reason="one ball of a product says nothing of its scatter; roll two at least")
    noises = [float(np.median(list(_noises(product)))) for product in (a, b)]
    if max(noises) > _ALIKE * min(noises):
        return replace(
            empty, reason="they were not rolled alike: noise makes the offsets of one longer than the other's"
        )
    if all(max(own) == min(own) for own in (one, other)):
        return replace(empty, reason="no ball of either differs from its fellows")
    test, ranks = welch(one, other), rank_test(one, other)
    return replace(empty, difference=test.difference, low=test.low, high=test.high, p=test.p, p_ranks=ranks.p)


def _wholes(product: RollProduct) -> list[BallOffset]:
    return [ball for ball in product.balls if math.isfinite(ball.offset)]


def _noises(product: RollProduct) -> Iterator[float]:
    for ball in _wholes(product):
        yield math.sqrt(sum(axis.offset_u**2 for axis in ball.axes))
