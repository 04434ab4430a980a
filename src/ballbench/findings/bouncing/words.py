"""What the times between impacts tell, in sentences that say no more than they can bear."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ballbench.findings.bouncing.results import (
    BallBounce,
    BounceClause,
    BounceDrop,
    BounceFindings,
    BounceRecording,
    BounceSettings,
    BounceTrend,
    ProductBounce,
    Spread,
)
from ballbench.findings.limit_words import allowed_words
from ballbench.quantities.printed import plural
from ballbench.quantities.rounding import decimals_for, format_value
from ballbench.quantities.units import factor

__all__ = [
    "MANY_BALLS",
    "ball_sentence",
    "bounce_sentences",
    "clause_sentence",
    "drop_sentence",
    "product_sentence",
    "recording_sentence",
    "settings_words",
    "spread_text",
    "trend_sentence",
]


MANY_BALLS = 6
"""Above so many balls only products are spoken of first (own choice)."""
_DOUBT = {"memory": "limit from memory", "practice": "limit: common practice, no source"}


def bounce_sentences(found: BounceFindings) -> tuple[str, ...]:
    """Give one sentence a product of several balls, one a ball, one on speed, then clauses, then what was refused.

    Of more than six balls none is spoken of by itself; tables and lists have them.
    """
    balls = [product_sentence(product, found.settings) for product in found.products]
    if len(found.balls) <= MANY_BALLS or not balls:
        balls += [sentence for ball in found.balls for sentence in _ball(ball, found.settings)]
    clauses = [clause_sentence(clause) for clause in found.clauses]
    refused = [recording_sentence(one) for one in found.recordings if one.refused]
    if not balls:
        balls = ["Nothing was heard that tells how a ball bounces."]
    return (*balls, *clauses, *refused)


def _ball(ball: BallBounce, settings: BounceSettings) -> Iterator[str]:
    yield ball_sentence(ball, settings)
    if ball.trend is not None:
        yield trend_sentence(ball)


def product_sentence(product: ProductBounce, settings: BounceSettings) -> str:
    """Say what the balls of one product do together."""
    low, high = product.lowest, product.highest
    decimals = max(decimals_for(product.rebound.low, product.rebound.high, 2), 0)
    return (
        f"{product.product}, {product.balls} balls, {product.drops} drops: mean rebound of these balls "
        f"{spread_text(product.rebound, 'mm')} from a drop of {_height_words(settings)}; lowest ball {low[0]}, "
        f"{format_value(low[1], decimals)} mm, highest ball {high[0]}, {format_value(high[1], decimals)} mm."
    )


def _height_words(settings: BounceSettings) -> str:
    height = settings.drop_height
    return "unknown height" if height is None else f"{height.value:.4g} mm"


def ball_sentence(ball: BallBounce, settings: BounceSettings) -> str:
    """Say what one ball does, over its drops."""
    drops = "one drop" if ball.drops == 1 else f"mean of {ball.drops} drops"
    name = f"{ball.product}, ball {ball.ball}"
    if ball.rebound is not None and ball.first is not None and settings.drop_height is not None:
        said = (
            f"{name}: rebound {spread_text(ball.rebound, 'mm')} from a drop of {_height_words(settings)}, restitution "
            f"{spread_text(ball.first)} at the first impact; {drops}."
        )
    elif ball.later is not None:
        said = (
            f"{name}: restitution {spread_text(ball.later)} from impact to impact; {drops}. No rebound is given, for "
            "the drop height is not known, and without it nothing here tells a ball from knocks that get faster or "
            "from something that settles: take it as this ball's only if you heard the ball."
        )
    else:
        said = f"{name}: flights were timed, but no restitution follows from them; {drops}."
    if ball.drops == 1:
        said += " What differs from drop to drop is not in it."
    if ball.left_out:
        said += f" {plural(ball.left_out, 'drop')} left out, with the reason below."
    return said


def trend_sentence(ball: BallBounce) -> str:
    """Say whether restitution changes with impact speed beyond what noise, drag and shared errors make of it."""
    trend = ball.trend
    if trend is None or not math.isfinite(trend.per_speed.u):
        return ""
    name, where = f"{ball.product}, ball {ball.ball}", _between(trend)
    slope = trend.per_speed
    if trend.told:
        way = "falls" if slope.value < 0.0 else "rises"
        ends = sorted((abs(slope.low), abs(slope.high)))
        size = Spread(abs(slope.value), slope.u, ends[0], ends[1])
        return f"{name}: restitution {way} with impact speed, by {spread_text(size)} a m/s, {where}."
    return (
        f"{name}: no change of restitution with impact speed is told, {where}: it may be {spread_text(slope)} a m/s, "
        "which includes none."
    )


def _between(trend: BounceTrend) -> str:
    return f"{trend.slowest:.1f} to {trend.fastest:.1f} m/s, {trend.impacts} impacts"


def drop_sentence(drop: BounceDrop) -> str:
    """Say what one drop told: impacts, first restitution, rebound."""
    said = f"Drop {drop.number}: {plural(len(drop.impacts), 'impact')}"
    if drop.bounces:
        values = [format_value(one.restitution.value, 3) for one in drop.bounces[:8]]
        more = ", ..." if len(drop.bounces) > 8 else ""
        said += f"; restitution {', '.join(values)}{more}"
    if drop.rebound is not None:
        said += f"; rebound {spread_text(drop.rebound, 'mm')}"
    return said + ("" if drop.counted else "; not counted")


def recording_sentence(one: BounceRecording) -> str:
    """Say that a recording was refused, and why."""
    return f"{one.file}: not used: {one.refused.rstrip('.')}."


def clause_sentence(clause: BounceClause) -> str:
    """Say what is told of a clause, or why it is not tested."""
    limits = allowed_words(clause.lower, clause.upper)
    limits += f" ({_DOUBT[clause.seen]})" if limits and clause.seen in _DOUBT else ""
    head = f"{clause.product}, {clause.clause}" + (f", {limits}" if limits else "")
    if clause.decision == "not tested" or clause.value is None:
        # Other commands know a surface from the bench file alone; those of a drop have an option for it.
        reason = clause.reason.replace("put surface under", "say what they fell on (--surface), or put surface under")
        return f"{head}: not tested: {reason}."
    value = _in_words_of_the_limit(clause)
    chance = _chance(clause.probability)
    return f"{head}: {clause.decision}: {value}; inside with {chance}; {plural(clause.balls, 'ball')}."


def _in_words_of_the_limit(clause: BounceClause) -> str:
    """Print the value in the unit in which the limit is written."""
    known = [limit for limit in (clause.lower, clause.upper) if limit is not None]
    one = clause.value
    if one is None:
        return ""
    if clause.unit == "1":
        return spread_text(one, "", tuple(limit.value for limit in known))
    unit = known[0].unit
    scale = factor(clause.unit, unit)
    scaled = Spread(one.value * scale, one.u * scale, one.low * scale, one.high * scale)
    return spread_text(scaled, unit, tuple(limit.value * scale for limit in known))


def _chance(probability: float) -> str:
    if probability >= 0.9995:
        return "over 99.9 %"
    if probability <= 0.0005:
        return "under 0.1 %"
    return f"{format_value(100.0 * probability, 1 if probability < 0.01 or probability > 0.99 else 0)} %"


def spread_text(spread: Spread, unit: str = "", limits: tuple[float, ...] = ()) -> str:
    """Print a value with its interval, ``"241.2 mm (239.0 to 243.5)"``, no finer than that, never across a limit."""
    behind = f" {unit}" if unit else ""
    if not math.isfinite(spread.low):
        return f"{format_value(spread.value, 3)}{behind}"
    decimals = max(decimals_for(spread.low, spread.high, 5), 0)
    for more in range(decimals, decimals + 3):
        if all(_keeps(spread, limit, more) for limit in limits):
            decimals = more
            break
    value, low, high = (format_value(number, decimals) for number in (spread.value, spread.low, spread.high))
    return f"{value}{behind} ({low} to {high})".replace("-", "−")


def _keeps(spread: Spread, limit: float, decimals: int) -> bool:
    shown = [float(format_value(number, decimals)) for number in (spread.value, spread.low, spread.high)]
    return all(
        (was - limit) * (now - limit) > 0.0 or was == limit
        for was, now in zip((spread.value, spread.low, spread.high), shown, strict=True)
    )


def settings_words(settings: BounceSettings) -> tuple[str, ...]:
    """Say what the flights were worked out with: the mass and how it was taken, the air's part, drag."""
    words = []
    if settings.weighed is not None:
        words.append(
            f"The mass is taken as what a balance shows in air: {settings.weighed.value:.4g} g weighed is "
            f"{format_value(settings.mass.value, 3)} g of true mass; --true-mass takes it as the true mass itself"
        )
    else:
        words.append(f"The mass is taken as the true mass, {settings.mass.value:.4g} g, not as what a balance shows")
    share = 100.0 * settings.displaced
    if settings.displaced > 0.002:
        words.append(
            f"The ball displaces {share:.2g} % of its mass of air: it is lifted by that and carries half of it "
            f"along, so that it starts to fall with {format_value(settings.effective_gravity, 3)} m/s2 instead of "
            f"{format_value(settings.gravity.value, 3)}"
        )
    else:
        words.append(
            f"The ball displaces {share:.1g} % of its mass of air: buoyancy and carried air are reckoned in, and are "
            "negligible"
        )
    words.append(
        f"Air of {format_value(settings.air_density.value, 3)} kg/m3 (u {settings.air_density.u:.1g}); drag "
        f"coefficient {format_value(settings.drag_seen, 3)} at the fastest flight (u {100.0 * settings.drag_u:.2g} %), "
        "the same on the way up and down"
    )
    return tuple(words)
