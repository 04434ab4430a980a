"""What filmed drops tell, in sentences that say no more than they can bear."""

from __future__ import annotations

import math

from ballbench.findings.bouncing.results import BallBounce, BounceSettings
from ballbench.findings.bouncing.words import clause_sentence, spread_text
from ballbench.findings.watching.checks import BY_BALL, agreeing, clock_open
from ballbench.findings.watching.results import DropFindings, FilmedClip, SizeCheck
from ballbench.quantities.rounding import format_value

__all__ = ["METHOD_WORDS", "budget_words", "check_sentence", "clip_sentence", "drop_sentences", "impacts_sentence",
           "refused_sentence"]  # fmt: skip

METHOD_WORDS = (
    (
        "Gravity is the ruler: the scale of the picture, the impacts and the speeds are those of flights through air "
        "that fit the ball's places best, each at the picture's own time"
    ),
    (
        "The clip's clock is taken as right, and no part of the uncertainty: one that is 1 % slow makes the rebound "
        "2 % too high. How far the ball's own breadth leaves it open is said with each clip; a fall that is not the "
        "drop height that was said may show a smaller error; carried to a drop height, the rebound is free of it"
    ),
    (
        "The ball's underside is its centre less its radius, and the plate is where the flights meet; that the ball "
        "gives way while it touches is in the contact time"
    ),
)


def drop_sentences(found: DropFindings) -> tuple[str, ...]:
    """Give one sentence a ball, then one a clause, then what was refused."""
    balls = [_ball_sentence(ball, found) for ball in found.balls]
    if not balls:
        seen = any(not one.refused for one in found.clips)
        balls = ["No clip counts for its ball; why stands with each." if seen else "No clip tells how a ball rebounds."]
    clauses = [clause_sentence(clause) for clause in found.clauses]
    refused = [refused_sentence(one) for one in found.clips if one.refused]
    return (*balls, *clauses, *refused)


def _ball_sentence(ball: BallBounce, found: DropFindings) -> str:
    name = f"{ball.product}, ball {ball.ball}"
    drops = "one drop" if ball.drops == 1 else f"mean of {ball.drops} drops"
    if ball.rebound is None or ball.first is None:
        return f"{name}: nothing is said of its rebound."
    height = found.settings.drop_height
    if height is not None:
        whence = f"from a drop of {_height(found.settings)} mm"
    else:
        own = (ball.product, ball.ball)
        fell = [one.fell.value for one in found.clips if one.fell and (one.product, one.ball) == own]
        low, high = (format_value(value, 0) for value in (min(fell), max(fell)))
        whence = f"from a fall of {low} mm" if low == high else f"from falls of {low} to {high} mm"
    said = (
        f"{name}: rebound {spread_text(ball.rebound, 'mm')} {whence}, restitution {spread_text(ball.first)} at the "
        f"first impact; {drops}."
    )
    if ball.drops == 1:
        said += " What differs from drop to drop is not in it."
    if ball.left_out:
        clips = "1 clip" if ball.left_out == 1 else f"{ball.left_out} clips"
        said += f" {clips} left out, with the reason below."
    return said


def _height(settings: BounceSettings) -> str:
    height = settings.drop_height
    value = math.nan if height is None else height.value
    return format_value(value, 0 if value >= 100.0 else 1)


def clip_sentence(one: FilmedClip) -> str:
    """Say what one clip told: rebound, fall, scale."""
    if one.rebound is None or one.fell is None or one.scale is None:
        return "nothing is said"
    said = f"rebound {spread_text(one.rebound, 'mm')} after a fall of {spread_text(one.fell, 'mm')}"
    if one.at_height is not None:
        said += f"; carried to the drop height {spread_text(one.at_height, 'mm')}"
    return said + f"; a pixel is {spread_text(one.scale, 'mm')} by gravity"


def impacts_sentence(one: FilmedClip) -> str:
    """Say the restitution of each impact with its speed."""
    parts = [f"{spread_text(hit.restitution)} at {format_value(hit.speed, 2)} m/s" for hit in one.impacts]
    return f"restitution {'; '.join(parts)}"


def check_sentence(check: SizeCheck) -> str:
    """Say how a check of the scale came out, and what error of the clock it leaves open."""
    away = 100.0 * (check.ratio.value - 1.0)
    way = "larger" if away > 0.0 else "smaller"
    most = f"{100.0 * agreeing(check):.1f} %"
    said = (
        f"scale by {check.by}: by gravity a pixel is {format_value(abs(away), 1)} % {way} (u "
        f"{100 * check.ratio.u:.1f} %), which "
    )
    if not check.agrees:
        return f"{said}does not agree: at most {most} would"
    said += f"agrees, as up to {most} does"
    return f"{said}; {_clock_words(check)}" if check.by == BY_BALL else said


def _clock_words(check: SizeCheck) -> str:
    low, high = (100.0 * share for share in clock_open(check))
    if low < 0.0 < high:
        return f"the clip's clock may still be between {-low:.1f} % fast and {high:.1f} % slow (95 %)"
    ends, way = ((low, high), "slow") if low >= 0.0 else ((-high, -low), "fast")
    return (
        f"by that the clip's clock is {ends[0]:.1f} to {ends[1]:.1f} % {way} (95 %), or the ball not as large as said"
    )


def budget_words(one: FilmedClip, most: int = 3) -> str:
    """Say what brings the uncertainty of the rebound, the largest first."""
    parts = [f"{words} {format_value(u, 2)} mm" for words, u in one.budget[:most] if u >= 0.005]
    return f"what is not known of the rebound: {', '.join(parts)}" if parts else ""


def refused_sentence(one: FilmedClip) -> str:
    """Say that a clip was refused, and why."""
    return f"{one.file}: not used: {one.refused.rstrip('.')}."
