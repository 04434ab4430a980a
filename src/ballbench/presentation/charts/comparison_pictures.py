"""A comparison as chart data: the differences with their intervals, and every ball by product."""

from __future__ import annotations

from ballbench.findings.comparisons import Comparison
from ballbench.presentation.charts.chart_data import Bar, LimitLine, Row, RowChart
from ballbench.presentation.charts.product_pictures import Variation, variation_chart
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.numbers import measured
from ballbench.presentation.pair_wording import TIE, TOLD
from ballbench.presentation.wording import plural, quantity_words

__all__ = ["balls_by_product", "differences", "form_by_product"]


def differences(comparison: Comparison) -> RowChart | None:
    """Draw up the differences of the means, pair by pair, against the line of no difference.

    Returns
    -------
    RowChart or None
        None for a single product.
    """
    rows, values = [], [0.0]
    for pair in comparison.pairs:
        truth = pair.difference
        values += [truth.low, truth.high]
        text = measured(truth, comparison.unit, (0.0,))
        rows.append(
            Row(
                f"{pair.a} minus {pair.b}",
                note=TOLD if pair.told_apart else TIE,
                bars=(Bar(truth.low, truth.median, truth.high, text),),
                stressed=pair.told_apart,
            )
        )
    if not rows:
        return None
    axis = span_axis(f"difference of mean {quantity_words(comparison.quantity)}", comparison.unit, values, ticked=True)
    balls = sum(product.balls for product in comparison.products)
    n_text = f"n = {plural(balls, 'ball')} in all"
    return RowChart("products", axis, tuple(rows), n_text, reference=LimitLine(0.0, "the line at 0: no difference"))


def balls_by_product(comparison: Comparison) -> RowChart | None:
    """Draw up every ball of every product, each a dot, with the mean of balls like these below.

    Returns
    -------
    RowChart or None
        None without products.
    """
    rows, values = [], []
    for product in comparison.products:
        specks = tuple(ball.truth.median for ball in product.balls_found)
        mean = product.mean
        values += [*specks, mean.low, mean.high]
        bar = Bar(mean.low, mean.median, mean.high, "mean " + measured(mean, comparison.unit))
        rows.append(Row(product.product, note=f"n = {product.balls}", bars=(bar,), specks=specks))
    if not rows:
        return None
    axis = span_axis(quantity_words(comparison.quantity), comparison.unit, values, ticked=True)
    balls = sum(product.balls for product in comparison.products)
    return RowChart("products", axis, tuple(rows), f"n = {plural(balls, 'ball')} in all")


def form_by_product(comparison: Comparison) -> RowChart | None:
    """Draw up the mean variation within a ball, raw and freed of noise, product by product.

    Returns
    -------
    RowChart or None
        None where no product had more than one place of a ball read.
    """
    variations = [Variation(p.product, p.balls, p.form, p.form_raw) for p in comparison.products if p.form]
    return variation_chart(variations, comparison.quantity, comparison.unit)
