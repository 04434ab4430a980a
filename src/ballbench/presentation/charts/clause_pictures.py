"""One clause as chart data: the strip beside its decision, and every ball against the limits."""

from __future__ import annotations

from itertools import chain

from ballbench.findings.results import BallFinding, ClauseFinding
from ballbench.presentation.charts.chart_data import Bar, LimitLine, Raw, Row, RowChart
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.numbers import as_read_number, interval, measured, number, truth_decimals, with_unit
from ballbench.presentation.wording import as_read_text, clause_title, limit_words, plural, seen_short

__all__ = ["MOST_BALLS", "clause_strip", "every_ball"]

MOST_BALLS = 48
"""A picture of every ball shows so many rows and says when there are more."""

_FROM_ZERO = {"sd", "range"}


def _limit(clause: ClauseFinding, side: str) -> LimitLine | None:
    value = clause.lower if side == "lower" else clause.upper
    if value is None:
        return None
    both = clause.lower is not None and clause.upper is not None
    text = clause.lower_text if side == "lower" else clause.upper_text
    plain = text or with_unit(f"{value:.10g}", clause.unit)
    return LimitLine(value, plain if both and not clause.strict else limit_words(clause, side))


def _floor(clause: ClauseFinding) -> float | None:
    spread = clause.sample in _FROM_ZERO or clause.ball == "range"
    return 0.0 if spread and clause.lower is None else None


def clause_strip(clause: ClauseFinding, balls: int, *, whole_ball: bool = True) -> RowChart | None:
    """Draw up one clause: the band it allows, what the balls are, what was read.

    Parameters
    ----------
    clause : ClauseFinding
        The clause.
    balls : int
        How many balls stand behind it.
    whole_ball : bool
        Whether to show the whole ball, where the clause has it.

    Returns
    -------
    RowChart or None
        None where there is no limit to stand against or nothing could be said.
    """
    truth = clause.truth
    lower, upper = _limit(clause, "lower"), _limit(clause, "upper")
    if truth is None or (lower is None and upper is None):
        return None
    limits = (clause.lower, clause.upper)
    bars = [Bar(truth.low, truth.median, truth.high, measured(truth, clause.unit, limits))]
    values = [truth.low, truth.high, *(line.value for line in (lower, upper) if line)]
    if clause.whole_ball is not None and whole_ball:
        whole = clause.whole_ball.truth
        text = f"whole ball {interval(whole, truth_decimals(whole, limits))}"
        bars.append(Bar(whole.low, whole.median, whole.high, text, kind="whole ball"))
        values += [whole.low, whole.high]
    raw = None
    if clause.as_read is not None:
        raw = Raw(clause.as_read, f"as read {as_read_text(clause)}")
        values.append(clause.as_read)
    axis = span_axis(clause.quantity, clause.unit, values, floor=_floor(clause))
    row = Row(clause.id, bars=tuple(bars), raw=raw)
    n_text = f"n = {plural(balls, 'ball')}"
    return RowChart("strip", axis, (row,), n_text, lower, upper, remark=seen_short(clause.seen))


def every_ball(clause: ClauseFinding, risk: float, most: int = MOST_BALLS) -> RowChart | None:
    """Draw up every ball of an each-ball clause against the limits, in the order of the file.

    Parameters
    ----------
    clause : ClauseFinding
        The clause with its balls.
    risk : float
        A ball inside with less than ``1 - risk`` is stressed.
    most : int
        With more balls than this, those least surely inside are shown, and the picture says so.

    Returns
    -------
    RowChart or None
        None where the clause looks at the sample as a whole or holds no balls.
    """
    if clause.sample != "each" or not clause.balls:
        return None
    shown = _least_sure(clause.balls, most)
    lower, upper = _limit(clause, "lower"), _limit(clause, "upper")
    limits = [line.value for line in (lower, upper) if line]
    values = chain(limits, *((ball.truth.low, ball.truth.high, ball.as_read) for ball in shown))
    axis = span_axis(clause_title(clause), clause.unit, values, floor=_floor(clause), margin=0.08)
    decimals = max(truth_decimals(ball.truth, limits) for ball in shown)
    boxes = {ball.box for ball in shown}
    rows = tuple(
        Row(
            ball.ball,
            note=number(ball.truth.median, decimals),
            bars=(Bar(ball.truth.low, ball.truth.median, ball.truth.high, interval(ball.truth, decimals)),),
            raw=Raw(ball.as_read, as_read_number(ball.as_read, decimals)),
            group=f"box {ball.box}" if len(boxes) > 1 and ball.box else "",
            stressed=ball.probability_inside < 1.0 - risk,
        )
        for ball in shown
    )
    n_text = f"n = {plural(len(clause.balls), 'ball')}"
    if len(shown) < len(clause.balls):
        n_text += f", the {len(shown)} least surely inside shown"
    return RowChart("balls", axis, rows, n_text, lower, upper, remark=seen_short(clause.seen))


def _least_sure(balls: tuple[BallFinding, ...], most: int) -> tuple[BallFinding, ...]:
    if len(balls) <= most:
        return balls
    order = sorted(range(len(balls)), key=lambda i: (balls[i].probability_inside, i))[:most]
    return tuple(balls[i] for i in sorted(order))
