"""Budgets in a report: the picture with its numbers, the table of lines, and what bears them out."""

from __future__ import annotations

from collections.abc import Sequence

from ballbench.findings.comparisons import Pair
from ballbench.findings.results import BudgetFinding, ProductFinding, QuantityFinding
from ballbench.presentation.budget_wording import (
    check_sentence,
    dof_text,
    drawn_sentence,
    expanded_text,
    leading_budget,
    share_text,
    two_figures,
)
from ballbench.presentation.charts.budget_picture import budget_chart
from ballbench.presentation.document import Block, Figure, Fold, Heading, Paragraph, Table
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import as_sentence, quantity_words

__all__ = ["budget_figure", "budget_table", "pair_budget_blocks", "product_budget_fold"]


def product_budget_fold(product: ProductFinding, *, invented: bool) -> Fold | None:
    """Give the budgets of a product, quantity by quantity, to fold away; None where there are none."""
    blocks: list[Block] = []
    for quantity in product.quantities:
        blocks += _quantity_blocks(quantity, invented=invented)
    return Fold(f"What the uncertainty of {product.product} is made of", tuple(blocks)) if blocks else None


def _quantity_blocks(quantity: QuantityFinding, *, invented: bool) -> list[Block]:
    budget = leading_budget(quantity)
    if budget is None:
        return []
    words = quantity_words(quantity.quantity)
    blocks: list[Block] = [Heading(words[:1].upper() + words[1:], 3), Paragraph(budget.sentence)]
    figure = budget_figure(quantity.budgets, words, quantity.balls, invented=invented)
    blocks += [figure] if figure is not None else []
    blocks += [budget_table(budget, words), *_borne_out(budget)]
    return blocks


def _borne_out(budget: BudgetFinding) -> list[Block]:
    """Say what the draws, the simulation and the notes say of a budget."""
    said = " ".join(text for text in (drawn_sentence(budget), check_sentence(budget)) if text)
    notes = " ".join(as_sentence(note) for note in budget.notes)
    return [Paragraph(text, "quiet") for text in (said, notes) if text]


def budget_figure(budgets: Sequence[BudgetFinding], words: str, balls: int, *, invented: bool) -> Figure | None:
    """Give the picture of some budgets of one quantity; None where nothing is uncertain."""
    chart = budget_chart(budgets, balls)
    if chart is None:
        return None
    unit = f" ({budgets[0].unit})" if budgets[0].unit not in {"", "1"} else ""
    rows = tuple(
        (budget.of, line.words, two_figures(line.contribution), share_text(line))
        for budget in budgets
        for line in budget.lines
    )
    table = Table(f"{words}: numbers of the picture", ("result", "part", f"adds{unit}", "share"),
                  rows, (2, 3))  # fmt: skip
    says = "; ".join(f"{one.of} {expanded_text(one)} (95 %), {_largest(one)}" for one in budgets) + "."
    text = f"What the uncertainty of the {words} is made of. A ball a result, a skin a part: areas are shares of the "
    text += f"variance, and all balls have one scale. Numbers: standard uncertainty{unit} and share. {chart.n_text}."
    if any(part.cancels for row in chart.rows for part in row.parts):
        text += " Dashed: what the mean of each make bears too, but the same for both, so that it cancels."
    return Figure(chart, caption(text, invented=invented), f"{words}: {says}", table)


def _largest(budget: BudgetFinding) -> str:
    return f"most of it {budget.lines[0].words}, {share_text(budget.lines[0])}" if budget.lines else "nothing uncertain"


def budget_table(budget: BudgetFinding, words: str) -> Table:
    """Give every line of a budget, and the whole below them (layout after JCGM 100:2008, Table H.1, from memory)."""
    unit = f" ({budget.unit})" if budget.unit not in {"", "1"} else ""
    rows = [
        (
            line.words + (f" ({line.note})" if line.note else ""), line.kind,
            with_unit(two_figures(line.u), line.u_unit), two_figures(line.sensitivity), two_figures(line.contribution),
            dof_text(line.dof), share_text(line),
        )
        for line in budget.lines
    ]  # fmt: skip
    rows.append(("together", "", "", "", two_figures(budget.u), dof_text(budget.dof), ""))
    factor = f"U = {number(budget.factor, 2)} u, 95 %"
    rows.append((factor, "", "", "", two_figures(budget.expanded), "", ""))
    heads = (
        "part", "type", "standard uncertainty", "sensitivity", f"adds{unit}", "degrees of freedom",
        "share of variance",
    )  # fmt: skip
    return Table(f"{words}, {budget.of}: the budget, line by line", heads, tuple(rows), (2, 3, 4, 5, 6))


def pair_budget_blocks(pair: Pair, words: str, balls: int, *, invented: bool) -> list[Block]:
    """Give what the uncertainty of a difference is made of; empty where it was not worked out."""
    budget = pair.budget
    if budget is None:
        return []
    blocks: list[Block] = [Paragraph(budget.sentence)]
    figure = budget_figure((budget,), f"{words} difference", balls, invented=invented)
    blocks += [figure] if figure is not None else []
    return [*blocks, budget_table(budget, words), *_borne_out(budget)]
