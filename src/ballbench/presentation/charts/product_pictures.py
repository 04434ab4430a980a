"""Several products side by side as chart data: variation within a ball, and which clause decides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ballbench.findings.results import ProductFinding, Truth
from ballbench.presentation.charts.chart_data import Bar, MarkChart, MarkRow, Raw, Row, RowChart
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.numbers import as_read_number, measured, truth_decimals
from ballbench.presentation.wording import plural, quantity_words

__all__ = ["Variation", "decision_marks", "product_variations", "variation_chart"]


@dataclass(frozen=True, slots=True)
class Variation:
    """Mean variation within a ball of one product: freed of the instrument's noise, and as read (None: not known)."""

    product: str
    balls: int
    truth: Truth
    raw: float | None


def product_variations(products: Sequence[ProductFinding], quantity: str) -> tuple[tuple[Variation, ...], str]:
    """Collect the variation of one quantity from the products that had more than one place of a ball read.

    Returns
    -------
    tuple
        The variations and their unit; empty ones where no product had.
    """
    found = [(p.product, q) for p in products for q in p.quantities if q.quantity == quantity and q.variation]
    variations = tuple(Variation(name, q.balls, q.variation, q.variation_raw) for name, q in found if q.variation)
    return variations, found[0][1].unit if found else ""


def variation_chart(variations: Sequence[Variation], quantity: str, unit: str) -> RowChart | None:
    """Draw up the mean variation within a ball, raw and freed of noise, product by product.

    Parameters
    ----------
    variations : sequence of Variation
        In `unit`, in the order of the report.
    quantity, unit : str
        What varies.

    Returns
    -------
    RowChart or None
        None without variations.
    """
    rows, values = [], []
    for one in variations:
        truth, raw = one.truth, None
        if one.raw is not None:
            raw = Raw(one.raw, f"as read {as_read_number(one.raw, truth_decimals(truth))}")
            values.append(one.raw)
        values += [truth.low, truth.high]
        bar = Bar(truth.low, truth.median, truth.high, measured(truth, unit))
        rows.append(Row(one.product, note=f"n = {one.balls}", bars=(bar,), raw=raw))
    if not rows:
        return None
    axis = span_axis(f"{quantity_words(quantity)} variation within a ball", unit, values, floor=0.0, ticked=True)
    return RowChart("products", axis, tuple(rows), f"n = {plural(sum(v.balls for v in variations), 'ball')} in all")


def decision_marks(products: Sequence[ProductFinding]) -> MarkChart | None:
    """Draw up the decision marks, a row a product and a column a clause, numbered in the requirement's order.

    Parameters
    ----------
    products : sequence of ProductFinding
        Judged by one requirement.

    Returns
    -------
    MarkChart or None
        None without clauses. A clause that a product lacks counts as not tested.
    """
    ids = list(dict.fromkeys(clause.id for product in products for clause in product.clauses))
    if not ids:
        return None
    rows = []
    for product in products:
        decisions = {clause.id: clause.decision for clause in product.clauses}
        marks = tuple(decisions.get(name, "not tested") for name in ids)
        rows.append(MarkRow(product.product, product.decision, marks))
    heads = tuple(str(i + 1) for i in range(len(ids)))
    balls = sum(product.balls for product in products)
    return MarkChart(heads, tuple(rows), f"n = {plural(balls, 'ball')} in all")
