"""Words and numbers of a plan that pictures, tables and terminal share."""

from __future__ import annotations

import math

from ballbench.findings.plan_words import design_words, share_words, time_words
from ballbench.findings.planning import Design, SettingChances, Share
from ballbench.findings.plans import Plan
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.wording import plural, quantity_words

__all__ = [
    "ENOUGH",
    "ENOUGH_TOO",
    "NOT_ENOUGH",
    "balls_words",
    "chance_only",
    "design_words",
    "limits_of_plan",
    "make_words",
    "reading_plan",
    "share_words",
    "short_design",
    "span_only",
    "tests_words",
    "time_words",
    "verdict",
]

ENOUGH, ENOUGH_TOO, NOT_ENOUGH = "enough", "enough too", "not enough"


def balls_words(design: Design) -> str:
    """Write ``"12 balls"``."""
    return plural(design.balls, "ball")


def reading_plan(design: Design) -> str:
    """Write how each ball is read, ``"3 places each, read once"``."""
    return design_words(design).partition(", ")[2]


def short_design(design: Design) -> str:
    """Write a design in few letters, ``"12 balls, 3 places, once"``."""
    times = {1: "once", 2: "twice"}.get(design.repeats, f"{design.repeats} times")
    return f"{balls_words(design)}, {plural(design.axes, 'place')}, {times}"


def chance_only(share: Share) -> str:
    """Print a chance without its interval, no finer than that."""
    return share_words(share).partition(" (")[0]


def span_only(share: Share) -> str:
    """Print the interval of a chance, ``"83 to 90"``."""
    return share_words(share).partition("(")[2].removesuffix(")")


def verdict(one: SettingChances, plan: Plan) -> str:
    """Say whether a design is enough: the chosen one, one that would be too, or not; and if it reads only a part."""
    if one.right.value < plan.how_many.wanted:
        return NOT_ENOUGH
    word = ENOUGH if plan.how_many.chosen is one else ENOUGH_TOO
    return f"{word}, {plan.sample_size} asked for" if plan.is_part(one) else word


def tests_words(plan: Plan) -> str:
    """Say what stands behind the chances, ``"n = 400 simulated tests a design"``."""
    return f"n = {plan.tests} simulated tests a design"


def make_words(plan: Plan) -> str:
    """Describe the make that the tests are taken to meet, as a table does."""
    truth, unit = plan.truth, plan.unit
    parts = [f"mean {quantity_words(plan.quantity)} {with_unit(f'{truth.mean:.6g}', unit)}",
             f"SD between balls {with_unit(f'{truth.sd:.3g}', unit)}"]  # fmt: skip
    if truth.form_sd > 0.0:
        parts.append(f"SD between the places of a ball {with_unit(f'{truth.form_sd:.3g}', unit)}")
    if truth.form_spread > 0.0:
        parts.append(f"form unlike from ball to ball, SD of its logarithm {number(truth.form_spread, 2)}")
    return "; ".join(parts)


def limits_of_plan(plan: Plan) -> str:
    """Print what the requirement allows a single ball; empty where it sets no such limit."""
    words = [
        f"{word} {with_unit(f'{value:.6g}', plan.unit)}"
        for word, value in (("at least", plan.lower), ("at most", plan.upper))
        if value is not None and math.isfinite(value)
    ]
    return " and ".join(words)
