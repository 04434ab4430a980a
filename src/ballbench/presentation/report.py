"""Findings and comparisons become documents: the order in which a report speaks.

The answer comes first, then how sure it is, then what to do; everything else follows or is folded away.
"""

from __future__ import annotations

from collections import Counter

import ballbench
from ballbench.findings.results import Findings, ProductFinding
from ballbench.presentation.comparison_report import comparison_document
from ballbench.presentation.document import (
    Answer,
    Answers,
    Block,
    Caution,
    Document,
    Facts,
    Fold,
    Heading,
    Listing,
    Paragraph,
)
from ballbench.presentation.numbers import percent
from ballbench.presentation.report_product import anchor, product_blocks
from ballbench.presentation.report_standing import judgement_limits, judgement_methods, judgement_rebuild
from ballbench.presentation.report_tables import marks_figure, variation_figures
from ballbench.presentation.wording import (
    INVENTED,
    as_sentence,
    clause_title,
    decision_rule_sentences,
    edition_words,
    plural,
    seen_words,
    thresholds,
)

__all__ = ["MANY_PRODUCTS", "MOST_IN_DETAIL", "comparison_document", "findings_document"]

MANY_PRODUCTS = 12
"""Above so many products only those undecided or not met are shown in detail."""

MOST_IN_DETAIL = 12
"""And of those at most so many."""

_MARKS_PER_FIGURE = 24


def findings_document(findings: Findings) -> Document:
    """Build the report of a judgement.

    Parameters
    ----------
    findings : Findings
        The judgement.

    Returns
    -------
    Document
        Answers, requirement, product by product, across products, then what the numbers rest on.
    """
    detailed = _in_detail(findings)
    blocks: list[Block] = [_answers(findings, detailed), *_head_blocks(findings)]
    if len(findings.products) > MANY_PRODUCTS:
        blocks += _overview_blocks(findings, detailed)
    blocks.append(_legend(findings.deciding_risk))
    for position in detailed:
        blocks += product_blocks(findings, position)
    if len(findings.products) > 1:
        blocks += _across_blocks(findings)
    blocks += _standing_blocks(findings)
    rule = findings.requirement
    return Document(
        title=rule.title,
        subtitle=f"{edition_words(rule.edition, start=True)}. {_products_words(findings)}.",
        banner=INVENTED if findings.footing.invented else "",
        blocks=tuple(blocks),
        foot=f"ballbench {ballbench.__version__}, {rule.id} {rule.edition}, seed {findings.seed}",
    )


def _products_words(findings: Findings) -> str:
    balls = plural(sum(product.balls for product in findings.products), "ball")
    return f"{plural(len(findings.products), 'product')}, {balls}"


def _in_detail(findings: Findings) -> tuple[int, ...]:
    everyone = range(len(findings.products))
    if len(findings.products) <= MANY_PRODUCTS:
        return tuple(everyone)
    open_ones = [i for i in everyone if findings.products[i].decision in {"not met", "undecided"}]
    return tuple(open_ones[:MOST_IN_DETAIL])


def _head_blocks(findings: Findings) -> list[Block]:
    rule = findings.requirement
    pairs = [
        ("Requirement", f"{rule.title} ({rule.id}), {edition_words(rule.edition)}"),
        ("Source", rule.source.place or "none"),
        ("How sure of its limits", _seen_summary(findings)),
        ("Decision rule", decision_rule_sentences(findings)[0]),
    ]
    blocks: list[Block] = [Facts(tuple(pairs))]
    if findings.footing.assumptions:
        first = findings.footing.assumptions[:2]
        more = len(findings.footing.assumptions) - len(first)
        text = "Taken for granted: " + " ".join(first)
        blocks.append(Paragraph(text + (f" And {more} more, listed below." if more else ""), "quiet"))
    return blocks


def _seen_summary(findings: Findings) -> str:
    seen = {clause.id: clause.seen for product in findings.products for clause in product.clauses}
    counts = Counter(seen.values())
    parts = [f"{plural(count, 'clause')}: {seen_words(name)}" for name, count in counts.most_common()]
    return "; ".join(parts) or "no clause"


def _answers(findings: Findings, detailed: tuple[int, ...]) -> Answers:
    """Give the answers of the products shown in detail; with many products the overview holds the others."""
    return Answers(
        tuple(
            Answer(
                decision=findings.products[i].decision,
                name=findings.products[i].product,
                word=findings.products[i].decision,
                detail=_chance(findings.products[i], findings.deciding_risk),
                anchor=anchor(i),
            )
            for i in detailed
        )
    )


def _legend(risk: float) -> Fold:
    sure, unsure = percent(1.0 - risk), percent(risk)
    marks = (
        Answer("met", "Inside the line", "met", f"the chance is {sure} or more", ""),
        Answer("undecided", "On the line", "undecided", "these readings cannot tell", ""),
        Answer("not met", "Beyond the line", "not met", f"the chance is {unsure} or less", ""),
        Answer("not tested", "Hollow and dashed", "not tested", "readings or conditions are missing", ""),
    )
    strips = (
        "In the pictures the band is what is allowed and the upright line is a limit. The bar holds what the balls are "
        "with 95 %, freed of the instrument's noise, and the filled ball is its middle. The outlined bar is the whole "
        "ball, places that were not read included. The small hollow ball is what the instrument read."
    )
    return Fold("How to read the marks and pictures", (Answers(marks), Paragraph(strips)))


def _chance(product: ProductFinding, risk: float) -> str:
    if product.probability_met is None:
        return plural(product.balls, "ball")
    chance = percent(product.probability_met, thresholds(risk))
    return f"{plural(product.balls, 'ball')}; all met with {chance}"


def _overview_blocks(findings: Findings, detailed: tuple[int, ...]) -> list[Block]:
    blocks: list[Block] = [Heading("All products", 2, "all-products")]
    open_ones = sum(product.decision in {"not met", "undecided"} for product in findings.products)
    text = f"{len(findings.products)} products were judged; {open_ones} are not met or undecided. "
    if len(detailed) < open_ones:
        text += f"The first {len(detailed)} of those are shown in detail; "
    else:
        text += "Those are shown in detail; "
    blocks.append(Paragraph(text + "everything else stands in the findings file (JSON)."))
    parts = range(0, len(findings.products), _MARKS_PER_FIGURE)
    for start in parts:
        chunk = findings.products[start : start + _MARKS_PER_FIGURE]
        part = f", products {start + 1} to {start + len(chunk)}" if len(parts) > 1 else ""
        figure = marks_figure(chunk, invented=findings.footing.invented, part=part)
        blocks += [figure] if figure is not None else []
    return blocks


def _across_blocks(findings: Findings) -> list[Block]:
    blocks: list[Block] = [Heading("Across the products", 2, "across")]
    shown = findings.products[:MANY_PRODUCTS]
    sentences = tuple(text for text in (_deciding(product, findings.deciding_risk) for product in shown) if text)
    if sentences:
        blocks.append(Listing(sentences))
    if len(shown) < len(findings.products):
        blocks.append(Paragraph(f"The first {len(shown)} products; the others stand in the findings file.", "quiet"))
    if len(findings.products) <= MANY_PRODUCTS:
        figure = marks_figure(findings.products, invented=findings.footing.invented)
        blocks += [figure] if figure is not None else []
    blocks += variation_figures(shown, invented=findings.footing.invented)
    return blocks if len(blocks) > 1 else []


def _deciding(product: ProductFinding, risk: float) -> str:
    judged = [clause for clause in product.clauses if clause.probability_met is not None]
    if not judged:
        return f"{product.product}: no clause was tested."
    least = min(judged, key=lambda clause: clause.probability_met or 0.0)
    chance = percent(least.probability_met, thresholds(risk))
    verb = {"not met": "is decided by", "undecided": "hangs most on"}.get(product.decision, "is least sure of")
    return f"{product.product} ({product.decision}) {verb}: {clause_title(least)}, met with {chance}."


def _standing_blocks(findings: Findings) -> list[Block]:
    blocks: list[Block] = [Heading("What the numbers rest on", 2, "standing")]
    lists = (
        ("Readings that were asked about", findings.questions, "No reading lay far from its box."),
        ("Corrections and exclusions", findings.amendments, "None: every reading counts as first written."),
        ("How it was done", judgement_methods(findings), ""),
        ("Assumptions", findings.footing.assumptions, "None beyond the methods above."),
        ("How the files were read", findings.footing.notes, ""),
        ("What this does not show", judgement_limits(findings), ""),
    )
    for title, items, otherwise in lists:
        if items or otherwise:
            blocks.append(Heading(title, 3))
            blocks.append(Listing(tuple(map(as_sentence, items))) if items else Paragraph(otherwise))
    blocks += [Caution(text) for text in findings.footing.cautions]
    blocks += [Heading("Decision rule", 3), Listing(decision_rule_sentences(findings))]
    blocks += [Heading("How to rebuild this", 3), Facts(judgement_rebuild(findings))]
    return blocks
