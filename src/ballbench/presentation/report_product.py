"""One product in a report: its answer, its clauses, and what else is known of its data."""

from __future__ import annotations

from ballbench.findings.results import ClauseFinding, Findings, ProductFinding, WithoutCorrections
from ballbench.presentation.budget_tables import product_budget_fold
from ballbench.presentation.document import Block, DecisionBlock, Facts, Fold, Heading, Listing, Paragraph
from ballbench.presentation.numbers import number, percent, share, truth_decimals, with_unit
from ballbench.presentation.report_tables import (
    every_ball_figure,
    influence_table,
    outlier_table,
    quantity_table,
    settle_table,
    strip_figure,
    variant_table,
)
from ballbench.presentation.wording import (
    as_read_sentence,
    as_sentence,
    balls_behind,
    clause_title,
    decision_word,
    limits_words,
    plural,
    seen_short,
    seen_words,
    settle_sentence,
    thresholds,
    value_sentence,
    variants_sentence,
    whole_ball_sentence,
)
from ballbench.quantities.rounding import decimals_for

__all__ = ["anchor", "clause_block", "product_blocks"]


def anchor(position: int) -> str:
    """Give the anchor of the product at a position of the findings, from 0."""
    return f"product-{position + 1}"


def product_blocks(findings: Findings, position: int) -> tuple[Block, ...]:
    """Give the blocks of one product.

    Parameters
    ----------
    findings : Findings
        The whole judgement.
    position : int
        Of the product, from 0.

    Returns
    -------
    tuple of Block
        Heading, answer, clause by clause, then what the data themselves show.
    """
    product = findings.products[position]
    blocks: list[Block] = [Heading(product.product, 2, anchor(position))]
    for i, text in enumerate(product.headline):
        blocks.append(Paragraph(text, "lead", product.decision) if i == 0 else Paragraph(text))
    blocks.append(Paragraph(_counts(product), "quiet"))
    blocks += [clause_block(clause, product, findings) for clause in product.clauses]
    blocks += _data_blocks(product, findings.deciding_risk)
    made_of = product_budget_fold(product, invented=findings.footing.invented)
    blocks += [made_of] if made_of is not None else []
    return tuple(blocks)


def _counts(product: ProductFinding) -> str:
    parts = [plural(product.balls, "ball"), plural(product.readings, "reading")]
    parts += [
        f"{count} {word}"
        for count, word in (
            (product.excluded, "excluded"),
            (product.corrected, "corrected"),
            (product.spoiled, "spoiled"),
        )
        if count
    ]
    tested = f"{product.tested} of {plural(product.clauses_in_all, 'clause')} tested"
    return f"{', '.join(parts)}; {tested}."


def clause_block(clause: ClauseFinding, product: ProductFinding, findings: Findings) -> DecisionBlock:
    """Give one clause: decision, value with interval, one next step, the strip, and the rest to fold away."""
    risk = findings.deciding_risk
    allowed = limits_words(clause)
    value = value_sentence(clause, risk)
    sentences = [f"Allowed: {allowed}."] if allowed else []
    sentences += [value] if value else []
    asides = [as_read_sentence(clause), whole_ball_sentence(clause, risk), variants_sentence(clause)]
    asides += [as_sentence(note) for note in clause.notes]
    return DecisionBlock(
        decision=clause.decision,
        title=clause_title(clause),
        word=decision_word(clause),
        text=clause.text,
        sentences=tuple(sentences),
        asides=tuple(aside for aside in asides if aside),
        next_step=settle_sentence(clause.settle),
        figure=strip_figure(clause, balls_behind(product, clause), risk, invented=findings.footing.invented),
        fold=tuple(_clause_fold(clause, findings)),
    )


def _clause_fold(clause: ClauseFinding, findings: Findings) -> list[Block]:
    blocks: list[Block] = []
    if clause.settle:
        blocks.append(settle_table(clause))
    if clause.variants:
        blocks.append(variant_table(clause, findings.deciding_risk))
    if clause.population is not None:
        blocks.append(Paragraph(_population_words(clause)))
    figure = every_ball_figure(clause, findings.deciding_risk, invented=findings.footing.invented)
    if figure is not None:
        blocks.append(figure)
    blocks.append(_source_facts(clause, findings.deciding_risk))
    return blocks


def _population_words(clause: ClauseFinding) -> str:
    found = clause.population
    if found is None:
        return ""
    decimals = decimals_for(found.low, found.high)
    span = f"{number(found.low, decimals)} to {with_unit(number(found.high, decimals), clause.unit)}"
    return (
        f"Balls like these, beyond the sample: {share(found.share_outside)} lie outside. Counting alone, the share "
        f"outside is at most {percent(found.share_bound)} (95 %). The range {span} holds 95 % of such balls with 95 % "
        "confidence."
    )


def _source_facts(clause: ClauseFinding, risk: float) -> Facts:
    pairs = [("Source", clause.source or "none")]
    pairs.append(("How its numbers were seen", seen_words(clause.seen)))
    doubt = seen_short(clause.seen)
    if doubt:
        pairs.append(("Beware", f"{doubt}; check it before anything rests on it"))
    if clause.scope != "not applicable":
        pairs.append(("Scope", clause.scope))
    if clause.bound is not None and clause.truth is not None:
        limits = (clause.lower, clause.upper)
        bound = number(clause.bound, truth_decimals(clause.truth, limits) + 1)
        pairs.append((f"One-sided bound at {percent(1.0 - risk)}", with_unit(bound, clause.unit)))
    if clause.margin is not None and clause.truth is not None:
        decimals = decimals_for(clause.truth.low, clause.truth.high)
        beyond = "inside the nearer limit" if clause.margin >= 0 else "beyond the nearer limit"
        pairs.append(("Margin", f"{with_unit(number(abs(clause.margin), decimals), clause.unit)} {beyond}"))
    return Facts(tuple(pairs))


def _data_blocks(product: ProductFinding, risk: float) -> list[Block]:
    inner: list[Block] = []
    if product.quantities:
        inner.append(quantity_table(product.quantities))
    if product.outliers:
        inner.append(outlier_table(product.outliers))
    if product.influence:
        inner.append(influence_table(product, risk))
    if product.notes:
        inner.append(Listing(tuple(as_sentence(note) for note in product.notes)))
    blocks: list[Block] = []
    if product.outliers:
        names = ", ".join(dict.fromkeys(f"ball {one.ball}" for one in product.outliers))
        blocks.append(Paragraph(f"Far from their fellows: {names}. Shown, not dropped."))
    flips = [one for one in product.influence if _flips(product, one.clause, one.decision_without)]
    if flips:
        names = ", ".join(dict.fromkeys(f"ball {one.ball}" for one in flips))
        blocks.append(Paragraph(f"A single reading decides a clause: see {names} below."))
    if product.without_corrections is not None:
        blocks.append(Paragraph(_without_words(product, product.without_corrections, risk)))
    if inner:
        blocks.append(Fold(f"What was read of {product.product}", tuple(inner)))
    return blocks


def _flips(product: ProductFinding, clause_id: str, decision: str) -> bool:
    return any(clause.id == clause_id and clause.decision != decision for clause in product.clauses)


def _without_words(product: ProductFinding, without: WithoutCorrections, risk: float) -> str:
    chance = percent(without.probability_met, thresholds(risk))
    now = percent(product.probability_met, thresholds(risk))
    text = f"Without corrections and exclusions: {without.decision}, all clauses met with {chance}; with them: "
    text += f"{product.decision}, {now}."
    titles = {clause.id: clause_title(clause) for clause in product.clauses}
    changed = []
    for one in without.changed:
        name, _, how = one.partition(": ")
        changed.append(f"{titles.get(name, name)}{f' ({how})' if how else ''}")
    return text + (f" Decided otherwise: {'; '.join(changed)}." if changed else " No clause is decided otherwise.")
