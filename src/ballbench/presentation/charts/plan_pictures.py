"""A plan as chart data: trays of growing size, how tests end, changes, the grid of chances, makes told apart."""

from __future__ import annotations

import math

from ballbench.findings.planning import SettingChances, Share, Surface
from ballbench.findings.plans import BoxPlan, Plan
from ballbench.presentation.charts.chart_data import Bar, LimitLine, Row, RowChart, Tick, ValueAxis
from ballbench.presentation.charts.plan_data import (
    Ending,
    EndingChart,
    EndingRow,
    GridChart,
    GridLimit,
    Tray,
    TrayChart,
)
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.plan_wording import (
    balls_words,
    chance_only,
    reading_plan,
    share_words,
    span_only,
    tests_words,
    time_words,
    verdict,
)
from ballbench.presentation.wording import plural, quantity_words

__all__ = [
    "MOST_DESIGNS",
    "MOST_DRAWN",
    "box_trays",
    "changes",
    "designs_shown",
    "endings",
    "grid_of_chances",
    "told_apart",
    "trays",
    "worst_points",
]

MOST_DESIGNS = 12
"""Designs that a picture shows (own choice); the table has all."""
MOST_DRAWN = 240
"""Balls of a box that are drawn one by one (own choice)."""
_PERCENT_TICKS = tuple(Tick(float(value), f"{value} %") for value in (0, 25, 50, 75, 100))


def designs_shown(plan: Plan) -> tuple[SettingChances, ...]:
    """Give the designs that a picture shows: all, or evenly picked from the least work to the most, chosen included."""
    count = len(plan.settings)
    if count <= MOST_DESIGNS:
        return plan.settings
    picked = {round(k * (count - 1) / (MOST_DESIGNS - 1)) for k in range(MOST_DESIGNS)}
    if plan.how_many.chosen is not None:
        picked.add(plan.settings.index(plan.how_many.chosen))
    return tuple(plan.settings[k] for k in sorted(picked))


def _counted(plan: Plan) -> str:
    left = len(plan.settings) - len(designs_shown(plan))
    return f"{tests_words(plan)}, {left} designs left to the table" if left else tests_words(plan)


def trays(plan: Plan) -> TrayChart:
    """Draw up a tray for each design, filled as far as its tests give the right answer.

    Only a design whose tests were all right is full: elsewhere at least one ball stays hollow.
    """
    shown = []
    for one in designs_shown(plan):
        word = verdict(one, plan)
        lines = (
            reading_plan(one.design),
            f"{time_words(one.minutes)} at the bench",
            f"right in {share_words(one.right)}",
        )
        filled = filled_of(one.right.value, one.design.balls)
        shown.append(
            Tray(balls_words(one.design), lines, one.design.balls, filled, word, chosen=one is plan.how_many.chosen)
        )
    wanted = f"{100.0 * plan.how_many.wanted:.3g} %"
    return TrayChart(tuple(shown), _counted(plan), f"filled: share of tests that end right; {wanted} wanted")


def filled_of(share: float, balls: int) -> int:
    """Give how many balls stand for a share; all of them only for all, none only for none."""
    if share <= 0.0 or share >= 1.0 or balls == 1:
        return balls if share >= 0.5 else 0
    return min(max(round(share * balls), 1), balls - 1)


def box_trays(plan: Plan) -> TrayChart | None:
    """Draw up the boxes of which some balls are looked at, these filled.

    Returns
    -------
    TrayChart or None
        None where no box is small enough to be drawn ball by ball.
    """
    shown = [_box_tray(one) for one in plan.boxes if one.lot is not None and one.lot <= MOST_DRAWN]
    if not shown:
        return None
    sure = f"{100.0 * plan.boxes[0].confidence:.3g} %"
    return TrayChart(tuple(shown), f"{sure} sure", "filled: balls to look at; none of them may be bad")


def _box_tray(one: BoxPlan) -> Tray:
    lot = one.lot or 0
    lines = (f"look at {one.balls}, find none bad", f"notices {plural(one.bad_in_lot or 0, 'bad ball')} or more")
    return Tray(f"{plural(lot, 'ball')} in it", lines, lot, min(one.balls, lot))


def endings(plan: Plan) -> EndingChart:
    """Draw up how tests of each design end."""
    rows = tuple(
        EndingRow(
            f"{balls_words(one.design)}, {reading_plan(one.design)}", time_words(one.minutes), _ending(one.met, "met"),
            _ending(one.undecided, "undecided"), _ending(one.not_met, "not met"),
            stressed=one is plan.how_many.chosen,
        )
        for one in designs_shown(plan)
    )  # fmt: skip
    return EndingChart(rows, _counted(plan))


def _ending(share: Share, word: str) -> Ending:
    return Ending(share.value, word, chance_only(share), f"({span_only(share)})")


def changes(plan: Plan) -> RowChart | None:
    """Draw up what each change of the plan would do for the chance of a right answer.

    Returns
    -------
    RowChart or None
        None where no change was simulated.
    """
    if not plan.gains:
        return None
    rows = []
    for gain in plan.gains:
        right = gain.chances.right
        label = gain.change.partition(":")[0]
        rows.append(
            Row(label[:1].upper() + label[1:], note=time_words(gain.chances.minutes), bars=(_percent_bar(right),))
        )
    wanted = 100.0 * plan.how_many.wanted
    return RowChart("products", _percent_axis("chance of a right answer"), tuple(rows),
                    f"n = {plan.tests} simulated tests a change",
                    reference=LimitLine(wanted, f"the line: {wanted:.3g} %, as wanted"))  # fmt: skip


def _percent_bar(share: Share) -> Bar:
    return Bar(100.0 * share.low, 100.0 * share.value, 100.0 * share.high, share_words(share))


def _percent_axis(name: str) -> ValueAxis:
    return ValueAxis(name, "", 0.0, 100.0, _PERCENT_TICKS)


def told_apart(plan: Plan) -> RowChart | None:
    """Draw up how often a comparison tells two makes apart, difference by difference.

    Returns
    -------
    RowChart or None
        None where no comparison was planned.
    """
    telling = plan.telling
    if telling is None:
        return None
    rows = tuple(
        Row(with_unit(f"{difference:.2g}", plan.unit), note=share_words(told), bars=(_percent_bar(told),),
            stressed=told.value >= telling.wanted)
        for difference, told in zip(telling.differences, telling.told, strict=True)
    )  # fmt: skip
    wanted = 100.0 * telling.wanted
    axis = _percent_axis("comparisons that tell the makes apart")
    return RowChart("balls", axis, rows, f"n = {telling.tests} simulated comparisons a line",
                    lower=LimitLine(wanted, f"told apart in {wanted:.3g} %"),
                    remark="left: true difference of the means")  # fmt: skip


def grid_of_chances(plan: Plan) -> GridChart | None:
    """Draw up the chance of "met" over true means and spreads.

    Returns
    -------
    GridChart or None
        None where no surface was simulated.
    """
    found = plan.surface
    if found is None:
        return None
    means, chances = found.means, found.chance_met()
    rows = tuple(Tick(spread, _short(spread)) for spread in found.spreads)
    limits = tuple(
        GridLimit(value, with_unit(f"{word} {value:.6g}", plan.unit))
        for word, value in (("at least", plan.lower), ("at most", plan.upper))
        if value is not None and means[0] <= value <= means[-1]
    )
    step = (means[-1] - means[0]) / max(len(means) - 1, 1)
    decimals = max(-math.floor(math.log10(step)), 0) if step > 0.0 else 2
    ticks = tuple(Tick(mean, number(mean, decimals)) for mean in means[:: max((len(means) - 1) // 3, 1)])
    axis = ValueAxis(f"true mean {quantity_words(plan.quantity)}", plan.unit, means[0], means[-1], ticks)
    tests = sorted({one.tests for one in found.settings})
    spread = f"{tests[0]} to {tests[-1]}" if len(tests) > 1 else f"{tests[0]}"
    n_text = f"n = {spread} simulated tests a place"
    across = "SD between balls" if found.across == "sd" else "SD within a ball"
    return GridChart(
        axis, means, rows, with_unit(across, f"({plan.unit})" if plan.unit != "1" else ""),
        tuple(tuple(float(chance) for chance in chances[:, k]) for k in range(len(found.spreads))), limits,
        f"numbers: chance of “met” in %, ± {worst_points(found)} at worst", n_text,
    )  # fmt: skip


def worst_points(found: Surface) -> int:
    """Give how many points in a hundred a chance of the grid may be off, 95 %, where it is least well known."""
    return math.ceil(196.0 * max(one.met.se for one in found.settings))


def _short(value: float) -> str:
    text = f"{value:.2g}"
    return text if "e" not in text else number(value, 1 - math.floor(math.log10(abs(value))))
