"""The pictures of a plan, each with its words and the numbers behind it."""

from __future__ import annotations

import math

from ballbench.findings.plan_form_words import NOTHING, shape_words, share_caught_words
from ballbench.findings.planning import SettingChances, Share
from ballbench.findings.plans import Plan
from ballbench.presentation.charts.plan_pictures import (
    box_trays,
    changes,
    endings,
    grid_of_chances,
    told_apart,
    trays,
    worst_points,
)
from ballbench.presentation.document import Figure, Table
from ballbench.presentation.numbers import with_unit
from ballbench.presentation.plan_wording import (
    balls_words,
    chance_only,
    reading_plan,
    share_words,
    time_words,
    verdict,
)
from ballbench.presentation.wording import plural

__all__ = [
    "box_figure",
    "box_table",
    "caught_table",
    "change_figure",
    "clause_table",
    "ending_figure",
    "grid_figure",
    "telling_figure",
    "tray_figure",
]

_MC = "In brackets, where so many simulated tests leave the chance, 95 %."


def _design(one: SettingChances) -> str:
    return f"{balls_words(one.design)}, {reading_plan(one.design)}"


def tray_figure(plan: Plan) -> Figure:
    """Give the designs as trays of growing size."""
    chart = trays(plan)
    rows = tuple(
        (_design(one), str(one.design.readings), time_words(one.minutes), share_words(one.right), verdict(one, plan))
        for one in plan.settings
    )
    heads = ("design", "readings", "at the bench", "right answer", "")
    table = Table("Every design", heads, rows, (1, 2, 3))
    wanted = f"{100.0 * plan.how_many.wanted:.3g} %"
    text = "A tray a design, the least work first, all balls of one size. It is filled as far as its tests give the "
    text += (
        f"right answer; enough is {wanted} of them. The tray to take has a double rim, and a ball inside a limit line "
    )
    text += f"beside its word. {_MC} {chart.n_text}."
    says = "; ".join(
        f"{_design(one)}: right in {share_words(one.right)}, {verdict(one, plan)}" for one in plan.settings
    )
    return Figure(chart, text, f"Designs: {says}.", table)


def ending_figure(plan: Plan) -> Figure:
    """Give how tests of each design end."""
    chart = endings(plan)
    rows = tuple(
        (_design(one), *map(share_words, (one.met, one.undecided, one.not_met, one.false_met, one.false_not_met)))
        for one in plan.settings
    )
    heads = ("design", "met", "undecided", "not met", "wrongly met", "wrongly not met")
    table = Table("How tests of each design end", heads, rows, (1, 2, 3, 4, 5))
    text = "How tests of each design end: a ball inside the limit line is met, on it undecided, beyond it not met; its "
    text += f"area is the chance. {_MC} {chart.n_text}."
    says = "; ".join(
        f"{_design(one)}: met {chance_only(one.met)}, undecided {chance_only(one.undecided)}, not met "
        f"{chance_only(one.not_met)}"
        for one in plan.settings
    )
    return Figure(chart, text, f"How tests end: {says}.", table)


def change_figure(plan: Plan) -> Figure | None:
    """Give what changes of the plan would buy; None where none were simulated."""
    chart = changes(plan)
    if chart is None:
        return None
    rows = tuple(
        (gain.change, time_words(gain.chances.minutes),
         *map(share_words, (gain.chances.right, gain.chances.met, gain.chances.undecided, gain.chances.not_met)))
        for gain in plan.gains
    )  # fmt: skip
    heads = ("change", "at the bench", "right answer", "met", "undecided", "not met")
    table = Table("One change at a time", heads, rows, (1, 2, 3, 4, 5))
    text = f"One change at a time, from {_design(plan.chosen)}. Bar and ball: the chance of a right answer, 95 % of "
    text += f"where so many simulated tests leave it. {chart.n_text}."
    says = "; ".join(f"{gain.change}: {share_words(gain.chances.right)}" for gain in plan.gains)
    return Figure(chart, text, f"Chance of a right answer with one change: {says}.", table)


def grid_figure(plan: Plan) -> Figure | None:
    """Give the chance of "met" over true means and spreads; None where it was not simulated."""
    chart, found = grid_of_chances(plan), plan.surface
    if chart is None or found is None:
        return None
    rows = []
    for k, one in enumerate(found.settings):
        spread = found.spreads[k % len(found.spreads)]
        rows.append((f"{one.truth.mean:.6g}", f"{spread:.3g}", share_words(one.met), str(one.tests)))
    unit = f"({plan.unit})" if plan.unit != "1" else ""
    heads = (with_unit("true mean", unit), chart.row_name, "met", "tests")
    table = Table("Chance of “met” over true mean and spread", heads, tuple(rows), (0, 1, 2, 3))
    text = f"The chance that a test of {_design(plan.chosen)} ends met, over the make that it may meet: means across, "
    text += "spreads down. The area of a ball is the chance, the number below it says it in per cent; the upright line "
    text += f"is the limit of a single ball. So many simulated tests leave a number at worst {worst_points(found)} "
    text += f"points off (95 %). {chart.n_text}."
    highest = max(found.settings, key=lambda one: one.met.value)
    says = f"Chance of met over {len(found.means)} means and {len(found.spreads)} spreads, at most "
    says += f"{share_words(highest.met)} at a mean of {with_unit(f'{highest.truth.mean:.6g}', plan.unit)}."
    return Figure(chart, text, says, table)


def telling_figure(plan: Plan) -> Figure | None:
    """Give how often two makes are told apart, difference by difference; None where no comparison was planned."""
    chart, telling = told_apart(plan), plan.telling
    if chart is None or telling is None:
        return None
    rows = tuple(
        (f"{difference:.3g}", share_words(told)) for difference, told in
        zip(telling.differences, telling.told, strict=True)
    )  # fmt: skip
    heads = (with_unit("true difference", f"({plan.unit})" if plan.unit != "1" else ""), "told apart")
    table = Table("Chance of telling two makes apart", heads, rows, (0, 1))
    wanted = f"{100.0 * telling.wanted:.3g} %"
    text = (
        "Two makes whose means differ so much, compared: bar and ball are how often the comparison tells them apart, "
    )
    text += f"and the band begins at {wanted}. At no difference that is a false alarm. Brackets: 95 % of where so many "
    text += f"simulated comparisons leave it. {chart.n_text}."
    says = "; ".join(f"{row[0]} {plan.unit}: {row[1]}" for row in rows)
    return Figure(chart, text, f"Told apart: {says}.", table)


def box_figure(plan: Plan) -> Figure | None:
    """Give the boxes with the balls to look at; None where none is small enough to be drawn."""
    chart = box_trays(plan)
    if chart is None:
        return None
    text = f"A tray a box: filled balls are those to look at. If none of them is bad, {chart.n_text}: a box with more "
    text += "bad balls than it says would have shown one."
    says = "; ".join(f"{tray.label}: {tray.lines[0]}" for tray in chart.trays)
    return Figure(chart, text, f"Boxes: {says}.", box_table(plan))


def box_table(plan: Plan) -> Table:
    """Give how many balls of a box to look at, by counting and by reading values."""
    rows = []
    for one in plan.boxes:
        lot = "very many" if one.lot is None else str(one.lot)
        bad = f"{100 * one.share:.3g} %" if one.bad_in_lot is None else plural(one.bad_in_lot, "ball")
        values = "more than a bench can read" if one.measured is None else str(one.measured)
        factor = "" if math.isnan(one.factor) else f"{one.factor:.2f}"
        rows.append((lot, bad, str(one.balls), values, factor, one.letter))
    heads = ("balls in it", "bad, to be noticed", "look at, none bad", "or read values of", "SDs inside one limit",
             "ISO 2859-1 letter, size")  # fmt: skip
    return Table("How many balls of a box", heads, tuple(rows), (0, 1, 2, 3, 4))


def clause_table(plan: Plan) -> Table:
    """Give how each clause is decided in tests of the design that the plan goes on with."""
    texts = dict(plan.clauses)

    def of(share: Share) -> str:
        return share_words(share)

    rows = tuple(
        (texts.get(one.clause, one.clause), *map(of, (one.met, one.undecided, one.not_met, one.right)))
        for one in plan.chosen.clauses
    )
    heads = ("clause", "met", "undecided", "not met", "right answer")
    return Table(f"Clause by clause: {_design(plan.chosen)}", heads, rows, (1, 2, 3, 4))


def caught_table(plan: Plan) -> Table | None:
    """Give what the axes catch of each shape's variation; None where the plan is not about diameters."""
    if not plan.caught:
        return None
    axes = list(dict.fromkeys(one.axes for one in plan.caught))
    shapes: dict[str, list[str]] = {}
    for one in plan.caught:
        mean = share_caught_words(one.mean)
        least = "" if mean == NOTHING else f" ({100.0 * one.twentieth:.0f} %)"
        shapes.setdefault(shape_words(one), []).append(mean + least)
    rows = tuple((shape.partition(" ")[2].capitalize(), *cells) for shape, cells in shapes.items())
    heads = ("shape", *(plural(k, "axis", "axes") for k in axes))
    caption = "Caught of the full diameter variation on average (in brackets: one ball in twenty shows less)"
    return Table(caption, heads, rows, tuple(range(1, len(axes) + 1)))
