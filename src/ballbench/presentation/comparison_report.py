"""A comparison becomes a document: the sentences first, then the pictures, pair by pair, and what it rests on."""

from __future__ import annotations

import math

import ballbench
from ballbench.findings.comparisons import Comparison, Pair
from ballbench.presentation.budget_tables import pair_budget_blocks
from ballbench.presentation.charts.comparison_pictures import balls_by_product, differences, form_by_product
from ballbench.presentation.document import (
    Block,
    Document,
    Facts,
    Figure,
    Fold,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from ballbench.presentation.numbers import interval, measured, number, truth_decimals, with_unit
from ballbench.presentation.pair_wording import TIE, TOLD, pair_sentences, value_and_span
from ballbench.presentation.report_frame import standing_blocks
from ballbench.presentation.report_standing import comparison_methods, comparison_rebuild, standing_limits
from ballbench.presentation.report_tables import caption, variation_figure
from ballbench.presentation.wording import INVENTED, as_sentence, plural, quantity_words

__all__ = ["MOST_PAIRS", "comparison_document"]

MOST_PAIRS = 45
"""So many pairs are written out; the picture and the table hold them all."""


def comparison_document(comparison: Comparison) -> Document:
    """Build the report of a comparison.

    Parameters
    ----------
    comparison : Comparison
        The comparison.

    Returns
    -------
    Document
        Answer, pictures, pair by pair, then what the numbers rest on.
    """
    words = quantity_words(comparison.quantity)
    names = [product.product for product in comparison.products]
    blocks: list[Block] = []
    for i, sentence in enumerate(comparison.sentences):
        blocks.append(Paragraph(sentence, "lead" if i == 0 else "body"))
    blocks += _figures(comparison)
    blocks.append(_product_table(comparison))
    if comparison.pairs:
        blocks.append(Heading("Pair by pair", 2, "pairs"))
    for pair in comparison.pairs[:MOST_PAIRS]:
        blocks += _pair_blocks(pair, comparison)
    if len(comparison.pairs) > MOST_PAIRS:
        left = len(comparison.pairs) - MOST_PAIRS
        blocks.append(Paragraph(f"{left} more pairs stand in the picture above and in the comparison file (JSON)."))
    blocks += _standing(comparison)
    return Document(
        title=f"{words[:1].upper()}{words[1:]} compared",
        subtitle=f"{', '.join(names[:6])}{' and others' if len(names) > 6 else ''}.",
        banner=INVENTED if comparison.footing.invented else "",
        blocks=tuple(blocks),
        foot=f"ballbench {ballbench.__version__}, {comparison.quantity}, seed {comparison.seed}",
    )


def _figures(comparison: Comparison) -> list[Block]:
    figures: list[Block] = []
    unit, words = comparison.unit, quantity_words(comparison.quantity)
    chart = differences(comparison)
    if chart is not None:
        rows = tuple(
            (f"{pair.a} minus {pair.b}", *value_and_span(pair.difference, (0.0,)), TOLD if pair.told_apart else TIE)
            for pair in comparison.pairs
        )
        table = Table(
            f"Differences of mean {words}", ("pair", with_unit("difference", f"({unit})"), "95 %", ""), rows, (1, 2)
        )
        says = "; ".join(f"{row[0]}: {row[1]} {unit} ({row[2]}), {row[3]}" for row in rows) + "."
        text = (
            "Differences of the means of balls like these. Bar and ball: the difference, 95 %; a bar on the line at 0 "
        )
        text += f"is a tie. {chart.n_text}."
        figures.append(Figure(chart, caption(text, invented=comparison.footing.invented), says, table))
    chart = balls_by_product(comparison)
    if chart is not None:
        figures.append(_balls_figure(comparison))
    chart = form_by_product(comparison)
    if chart is not None:
        entries = [(p.product, p.balls, p.form, p.form_raw) for p in comparison.products if p.form is not None]
        figures.append(
            variation_figure(chart, entries, comparison.quantity, unit, invented=comparison.footing.invented)
        )
    return figures


def _balls_figure(comparison: Comparison) -> Figure:
    chart = balls_by_product(comparison)
    if chart is None:
        raise ValueError("a picture of balls needs a product; compare at least one")
    rows = []
    for product in comparison.products:
        for ball in product.balls_found:
            decimals = truth_decimals(ball.truth)
            rows.append(
                (product.product, ball.ball, number(ball.truth.median, decimals), interval(ball.truth, decimals))
            )
    unit = comparison.unit
    heads = ("product", "ball", with_unit("is", f"({unit})"), "95 %")
    says = "; ".join(
        f"{p.product}: {plural(p.balls, 'ball')}, mean {measured(p.mean, unit)}" for p in comparison.products
    )
    text = f"Every ball is a dot. Bar and ball below: the mean of balls like these, 95 %. {chart.n_text}."
    table = Table("Every ball", heads, tuple(rows), (2, 3))
    return Figure(chart, caption(text, invented=comparison.footing.invented), says + ".", table)


def _product_table(comparison: Comparison) -> Table:
    rows = []
    for product in comparison.products:
        form = measured(product.form, comparison.unit) if product.form else "one place read"
        mean, sd = measured(product.mean, comparison.unit), measured(product.sd, comparison.unit)
        rows.append((product.product, str(product.balls), str(product.readings), mean, sd, form))
    heads = ("product", "balls", "readings", "mean (95 %)", "SD between balls (95 %)", "variation within a ball (95 %)")
    return Table("Products", heads, tuple(rows), (1, 2, 3, 4, 5))


def _pair_blocks(pair: Pair, comparison: Comparison) -> list[Block]:
    unit = comparison.unit
    word = TOLD if pair.told_apart else TIE
    opinions = (
        ("Tail share of the draws", f"{_p(pair.p)} alone, {_p(pair.p_adjusted)} adjusted for the number of pairs"),
        ("Welch's t on the ball averages", _p(pair.welch_p)),
        ("Rank test on the ball averages", _p(pair.rank_p)),
        ("Spread of the ball averages (Brown-Forsythe)", _p(pair.spread_p)),
        ("Smallest difference told apart four times in five", with_unit(f"{pair.smallest_told:.2g}", unit)),
    )
    inner: list[Block] = [Facts(opinions)]
    if pair.notes:
        inner.append(Listing(tuple(map(as_sentence, pair.notes))))
    balls = sum(product.balls for product in comparison.products if product.product in {pair.a, pair.b})
    made_of = pair_budget_blocks(pair, quantity_words(comparison.quantity), balls, invented=comparison.footing.invented)
    return [
        Heading(f"{pair.a} and {pair.b}: {word}", 3),
        *(Paragraph(sentence) for sentence in pair_sentences(pair, comparison.quantity, unit)),
        Fold("Second opinions", tuple(inner)),
        *([Fold("What its uncertainty is made of", tuple(made_of))] if made_of else []),
    ]


def _p(p: float) -> str:
    if math.isnan(p):  # the test could not be made
        return "not known"
    return "p under 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def _standing(comparison: Comparison) -> list[Block]:
    notes = ("How the files were read", comparison.footing.notes)
    return standing_blocks(
        comparison.footing, comparison_rebuild(comparison), methods=comparison_methods(comparison),
        limits=standing_limits({comparison.quantity}), notes=notes,
    )  # fmt: skip
