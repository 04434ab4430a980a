"""Tables and figures of a report: every picture comes with its words and its numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from ballbench.findings.results import ClauseFinding, Outlier, ProductFinding, QuantityFinding, Truth
from ballbench.presentation.charts.chart_data import RowChart
from ballbench.presentation.charts.clause_pictures import clause_strip, every_ball
from ballbench.presentation.charts.product_pictures import decision_marks, product_variations, variation_chart
from ballbench.presentation.document import Figure, Table
from ballbench.presentation.numbers import (
    as_read_number,
    interval,
    measured,
    number,
    percent,
    truth_decimals,
    with_unit,
)
from ballbench.presentation.wording import (
    INVENTED,
    as_read_text,
    clause_title,
    decision_word,
    duration_words,
    limits_words,
    plural,
    quantity_words,
    seen_short,
    settle_chance,
    simulated_share,
    thresholds,
)

__all__ = [
    "caption",
    "every_ball_figure",
    "influence_table",
    "marks_figure",
    "outlier_table",
    "quantity_table",
    "settle_table",
    "strip_figure",
    "variant_table",
    "variation_figure",
    "variation_figures",
]


def caption(text: str, *, invented: bool) -> str:
    """End a caption with the word that the data are invented, where they are."""
    return f"{text} {INVENTED}." if invented else text


def _heads(*names: str, unit: str) -> tuple[str, ...]:
    return tuple(with_unit(name, f"({unit})" if unit not in {"", "1"} else "") for name in names)


def strip_figure(clause: ClauseFinding, balls: int, risk: float, *, invented: bool) -> Figure | None:
    """Give the strip of a clause with its words and numbers; None where there is nothing to draw."""
    chart = clause_strip(clause, balls)
    truth = clause.truth
    if chart is None or truth is None:
        return None
    decimals = truth_decimals(truth, (clause.lower, clause.upper))
    rows = [("what the balls are", number(truth.median, decimals), interval(truth, decimals))]
    if clause.whole_ball is not None:
        whole = clause.whole_ball.truth
        digits = truth_decimals(whole, (clause.lower, clause.upper))
        rows.append(("over the whole ball", number(whole.median, digits), interval(whole, digits)))
    if clause.as_read is not None:
        rows.append(("as read", as_read_text(clause), ""))
    rows.append(("allowed", limits_words(clause), ""))
    title = clause_title(clause)
    table = Table(
        f"{title}: numbers of the picture", ("", *_heads("value", "95 %", unit=clause.unit)), tuple(rows), (1, 2)
    )
    says = f"{title}: {measured(truth, clause.unit, (clause.lower, clause.upper))}, allowed {limits_words(clause)}; "
    says += f"{decision_word(clause)}, {plural(balls, 'ball')}."
    if clause.probability_met is not None:
        says += f" Inside with {percent(clause.probability_met, thresholds(risk))}."
    return Figure(chart, caption("Band: allowed. Bar and ball: the balls, 95 %.", invented=invented), says, table)


def every_ball_figure(clause: ClauseFinding, risk: float, *, invented: bool) -> Figure | None:
    """Give every ball of an each-ball clause against the limits; None for other clauses."""
    chart = every_ball(clause, risk)
    if chart is None:
        return None
    limits = (clause.lower, clause.upper)
    rows = []
    for ball in clause.balls:
        decimals = truth_decimals(ball.truth, limits)
        raw = as_read_number(ball.as_read, decimals)
        chance = percent(ball.probability_inside, thresholds(risk))
        rows.append(
            (ball.ball, ball.box, raw, number(ball.truth.median, decimals), interval(ball.truth, decimals), chance)
        )
    title = clause_title(clause)
    heads = ("ball", "box", *_heads("as read", "is", "95 %", unit=clause.unit), "inside with")
    doubt = [ball.ball for ball in clause.balls if ball.probability_inside < 1.0 - risk]
    says = f"{title}, {plural(len(clause.balls), 'ball')}, allowed {limits_words(clause)}. "
    says += f"Not surely inside: {_names(doubt)}." if doubt else "Every ball by itself is surely inside."
    text = f"{title}. {chart.n_text}. Ball and bar: what it is, 95 %. Hollow ball below: as read. "
    text += f"Number on a filled ball: inside with less than {percent(1.0 - risk)}."
    doubtful = seen_short(clause.seen)
    text += f" {doubtful[:1].upper()}{doubtful[1:]}." if doubtful else ""
    return Figure(
        chart, caption(text, invented=invented), says, Table(f"{title}: every ball", heads, tuple(rows), (2, 3, 4, 5))
    )


def _names(names: Sequence[str], most: int = 24) -> str:
    text = ", ".join(f"ball {name}" if i == 0 else name for i, name in enumerate(names[:most]))
    return text + (f" and {len(names) - most} more" if len(names) > most else "")


def variation_figures(products: Sequence[ProductFinding], *, invented: bool) -> tuple[Figure, ...]:
    """Give the variation within a ball by product, raw and freed of noise, a figure a quantity that has form."""
    names = dict.fromkeys(q.quantity for p in products for q in p.quantities if q.variation is not None)
    figures = []
    for name in names:
        variations, unit = product_variations(products, name)
        chart = variation_chart(variations, name, unit)
        if chart is not None:
            rows = [(v.product, v.balls, v.truth, v.raw) for v in variations]
            figures.append(variation_figure(chart, rows, name, unit, invented=invented))
    return tuple(figures)


def variation_figure(
    chart: RowChart,
    entries: Iterable[tuple[str, int, Truth, float | None]],
    quantity: str,
    unit: str,
    *,
    invented: bool,
) -> Figure:
    """Give a figure of variation within a ball from product, balls, truth and raw value."""
    rows, says = [], []
    for name, balls, truth, raw in entries:
        decimals = truth_decimals(truth)
        as_read = "" if raw is None else as_read_number(raw, decimals)
        rows.append((name, str(balls), as_read, number(truth.median, decimals), interval(truth, decimals)))
        says.append(f"{name} {measured(truth, unit)}" + (f", as read {as_read}" if as_read else ""))
    words = quantity_words(quantity)
    heads = ("product", "balls", *_heads("as read", "is", "95 %", unit=unit))
    text = (
        f"Mean {words} variation within a ball, by product: largest minus smallest of the places read. Bar and ball: "
    )
    text += f"freed of the instrument's noise, 95 %. Hollow ball: as read. {chart.n_text}."
    table = Table(f"{words} variation within a ball, by product", heads, tuple(rows), (1, 2, 3, 4))
    return Figure(chart, caption(text, invented=invented), f"Mean {words} variation: " + "; ".join(says) + ".", table)


def marks_figure(products: Sequence[ProductFinding], *, invented: bool, part: str = "") -> Figure | None:
    """Give the decision marks of products and clauses, in words in its table; None without clauses."""
    chart = decision_marks(products)
    if chart is None:
        return None
    clauses = {clause.id: clause for product in products for clause in product.clauses}
    rows = []
    for i, clause in enumerate(clauses.values()):
        own = [{c.id: decision_word(c) for c in product.clauses}.get(clause.id, "not tested") for product in products]
        rows.append((f"{i + 1}. {clause_title(clause)}", *own))
    heads = ("clause", *(product.product for product in products))
    table = Table(f"Decision by clause and product{part}", heads, tuple(rows))
    says = "; ".join(f"{product.product}: {_deciding_words(product)}" for product in products) + "."
    text = f"Which clause decides{part}. A ball inside the line: met; on it: undecided; beyond it: not met; hollow and "
    text += f"dashed: not tested. Numbers: the clauses in the requirement's order. {chart.n_text}."
    return Figure(chart, caption(text, invented=invented), says, table)


def _deciding_words(product: ProductFinding) -> str:
    counts = {
        word: sum(c.decision == word for c in product.clauses) for word in ("met", "undecided", "not met", "not tested")
    }
    parts = [f"{count} {word}" for word, count in counts.items() if count]
    return f"{product.decision} ({', '.join(parts)})"


def quantity_table(quantities: Sequence[QuantityFinding]) -> Table:
    """Give what was read of a product, and how it spreads, a row a quantity."""
    heads = (
        "quantity",
        "balls",
        "readings",
        "mean (95 %)",
        "SD between balls (95 %)",
        "SD of a reading",
        "shared error, SD",
    )
    rows = tuple(
        (
            quantity_words(q.quantity),
            str(q.balls),
            f"{q.readings} on {plural(q.axes, 'axis', 'axes')}" if q.axes > 1 else str(q.readings),
            measured(q.mean, q.unit),
            measured(q.ball_sd, q.unit),
            with_unit(f"{q.noise_sd:.2g}", q.unit),
            with_unit(f"{q.shared_sd:.2g}", q.unit),
        )
        for q in quantities
    )
    return Table("What was read, freed of the instrument where it says 95 %", heads, rows, (1, 2, 3, 4, 5, 6))


def settle_table(clause: ClauseFinding) -> Table:
    """Give every change that was tried out in simulation to settle a clause."""
    rows = tuple(
        (
            s.change,
            settle_chance(s),
            "\u2013" if math.isnan(s.probability_met) else simulated_share(s.probability_met),
            "\u2013" if math.isnan(s.probability_not_met) else simulated_share(s.probability_not_met),
            duration_words(s.minutes) or "not known",
        )
        for s in clause.settle
    )
    heads = ("change", "decided", "then met", "then not met", "time at the bench")
    return Table("What would settle it, by simulation", heads, rows, (1, 2, 3))


def variant_table(clause: ClauseFinding, risk: float) -> Table:
    """Give the readings of an ambiguous text side by side."""
    rows = []
    for variant in clause.variants:
        limits = (variant.lower, variant.upper)
        value = measured(variant.truth, clause.unit, limits) if variant.truth else "not known"
        sides = [
            f"{word} {with_unit(f'{limit:.10g}', clause.unit)}"
            for word, limit in zip(("from", "to"), limits, strict=True)
            if limit is not None
        ]
        chance = percent(variant.probability_met, thresholds(risk))
        rows.append((variant.text, " ".join(sides), value, chance, variant.decision))
    heads = ("the text read as", "allowed", "value (95 %)", "chance met", "decision")
    return Table("The text can be read in several ways", heads, tuple(rows), (3,))


def outlier_table(outliers: Sequence[Outlier]) -> Table:
    """Give the balls far from their fellows."""
    rows = tuple(
        (
            quantity_words(o.quantity),
            o.ball,
            with_unit(f"{o.value:.6g}", o.unit),
            f"{o.statistic:.2f}",
            f"{o.critical:.2f}",
        )
        for o in outliers
    )
    heads = ("quantity", "ball", "value", "distance (SD)", "stands out from")
    return Table("Balls far from their fellows; shown, never dropped", heads, rows, (2, 3, 4))


def influence_table(product: ProductFinding, risk: float) -> Table:
    """Give the single readings that move a clause most."""
    titles = {clause.id: (clause_title(clause), clause.unit) for clause in product.clauses}
    rows = []
    for one in product.influence:
        title, unit = titles.get(one.clause, (one.clause, ""))
        place = f"ball {one.ball}" + (f", {one.axis}" if one.axis else "") + f", repeat {one.repeat}"
        chance = percent(one.probability_without, thresholds(risk))
        rows.append((title, place, with_unit(f"{one.value:.6g}", unit), one.decision_without, chance))
    heads = ("clause", "reading", "value", "decision without it", "chance met without it")
    return Table("Single readings that move a clause most; shown, never dropped", heads, tuple(rows), (2, 4))
