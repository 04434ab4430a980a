"""The numbers of a budget in print: sizes to two figures, shares in per cent, and the sentences around them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.results import CANCELS, BudgetFinding, BudgetLine, ProductFinding, QuantityFinding
from ballbench.presentation.numbers import number, percent, with_unit
from ballbench.presentation.wording import quantity_words
from ballbench.quantities.rounding import decimals_for

__all__ = [
    "check_sentence",
    "dof_text",
    "dominance_line",
    "drawn_sentence",
    "expanded_text",
    "leading_budget",
    "ordered",
    "share_text",
    "two_figures",
]


_MANY = 1000
"""So many degrees of freedom are as good as known."""


def two_figures(value: float) -> str:
    """Print a number to two figures, never as a power of ten; NaN is ``not known``.

    JCGM 100:2008, 7.2.6, asks for at most two figures of an uncertainty.
    """
    if value == 0.0 or not math.isfinite(value):
        return number(value, 0)
    exponent = int(f"{abs(value):.1e}".split("e")[1])
    return number(value, 1 - exponent)


def expanded_text(budget: BudgetFinding) -> str:
    """Print the expanded uncertainty with its unit, ``"± 0.024 mm"``."""
    return _plus_minus(budget.expanded, budget.unit)


def _plus_minus(value: float, unit: str) -> str:
    return f"±\N{NO-BREAK SPACE}{with_unit(two_figures(value), unit)}"


def dof_text(dof: float) -> str:
    """Print degrees of freedom, cut to a whole number as the coverage factor takes them, above 1000 as a bound."""
    if _MANY < dof < math.inf:
        return f"over {_MANY}"
    return number(math.floor(dof), 0) if math.isfinite(dof) and dof >= 1.0 else number(dof, 1)


def share_text(line: BudgetLine) -> str:
    """Print a line's share of the variance; ``cancels`` where it does."""
    return "cancels" if line.note == CANCELS else percent(line.share)


def leading_budget(quantity: QuantityFinding) -> BudgetFinding | None:
    """Give the budget that a clause on the mean rests on: of these balls, else of the last there is."""
    return next((one for one in quantity.budgets if one.of == "mean of these balls"), (*quantity.budgets, None)[-1])


def dominance_line(product: ProductFinding) -> str:
    """Say in one line how well the means of a product are known and what makes most of that; empty without budgets."""
    parts = []
    for quantity in product.quantities:
        budget = leading_budget(quantity)
        if budget is not None and budget.lines:
            first = budget.lines[0]
            words = f"{quantity_words(quantity.quantity)} {expanded_text(budget)}"
            parts.append(f"{words}, {first.words} {share_text(first)}")
    lead = "How well the mean of these balls is known (95 %), and the largest share of that: "
    return f"{lead}{'; '.join(parts)}." if parts else ""


def check_sentence(budget: BudgetFinding) -> str:
    """Say whether a simulation of the same equation bears the budget out; empty where none was made."""
    check = budget.check
    if check is None:
        return ""
    method = f"A simulation of the same equation ({check.draws:,} draws, JCGM 101:2008) gives "
    decimals = decimals_for(check.low, check.high)
    span = f"{number(check.low, decimals)} to {with_unit(number(check.high, decimals), budget.unit)} (95 %)"
    off = with_unit(two_figures(max(check.d_low, check.d_high)), budget.unit)
    allowed = with_unit(two_figures(check.delta), budget.unit)
    if check.validated:
        verdict = f"the budget's interval is at most {off} off, within the {allowed} allowed: it is borne out"
    else:
        verdict = f"the budget's interval is {off} off, more than the {allowed} allowed: take the simulated one"
    still = "" if check.settled else "; the simulation had not settled, so this is provisional"
    return f"{method}{span}; {verdict}{still}."


def drawn_sentence(budget: BudgetFinding) -> str:
    """Hold the draws that decided against the budget; empty where there are none of this mean."""
    if budget.drawn_expanded is None:
        return ""
    drawn = _plus_minus(budget.drawn_expanded, budget.unit)
    return f"The draws that the decisions rest on give {drawn} for the same mean."


def ordered(lines: Sequence[BudgetLine]) -> tuple[BudgetLine, ...]:
    """Lines from the core outwards: the instrument's own, the conditions, the readings, the places, the balls."""
    order = ["offset", "scale", "zero", "ball_temperature", "expansion", "squeeze", "reading", "places", "balls"]
    return tuple(sorted(lines, key=lambda line: order.index(line.name.partition(" ")[0])))
