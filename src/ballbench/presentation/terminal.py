"""Findings and comparisons as terminal text: the answer first, a mark and a word for every decision, no boxes.

Nothing is said by colour alone; bold and dim only help the eye.
"""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.comparisons import Comparison, Pair
from ballbench.findings.results import ClauseFinding, Findings, ProductFinding
from ballbench.presentation.budget_wording import dominance_line
from ballbench.presentation.charts.clause_pictures import clause_strip
from ballbench.presentation.marks import mark_characters
from ballbench.presentation.numbers import measured
from ballbench.presentation.pair_wording import TIE, TOLD, pair_sentences
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.terminal_strip import strip_legend, strip_lines
from ballbench.presentation.wording import (
    as_read_sentence,
    as_sentence,
    balls_behind,
    clause_title,
    decision_rule_sentences,
    decision_word,
    edition_words,
    limits_words,
    plural,
    quantity_words,
    settle_sentence,
    value_sentence,
    variants_sentence,
    whole_ball_sentence,
)

__all__ = ["MANY_PRODUCTS", "print_comparison", "print_findings"]

MANY_PRODUCTS = 12
"""Above so many products only the clauses undecided or not met are written out."""

_INDENT = 7
_STRIP = 64


def print_findings(findings: Findings, console: Console) -> None:
    """Print a judgement.

    Parameters
    ----------
    findings : Findings
        The judgement.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    rule = findings.requirement
    page.opened(f"{rule.title}, {edition_words(rule.edition)}", invented=findings.footing.invented)
    page.line(f"{rule.source.place or 'no source'}. {decision_rule_sentences(findings)[0]}", style="dim")
    page.line(strip_legend(plain=page.plain), style="dim")
    brief = len(findings.products) > MANY_PRODUCTS
    for product in findings.products:
        _print_product(page, product, findings, brief=brief)
    if brief:
        page.blank()
        page.line("With so many products only clauses undecided or not met are written out; the rest is in the report.")
    page.listed("Readings to look at again", findings.questions)
    page.listed("Corrections and exclusions", findings.amendments)
    page.closed(findings.footing)


def _print_product(page: TerminalPage, product: ProductFinding, findings: Findings, *, brief: bool) -> None:
    page.blank()
    lead = mark_characters(product.decision, plain=page.plain)
    headline = product.headline or (f"{product.product}: {product.decision}.",)
    page.line(headline[0], _INDENT, style="bold", lead=lead)
    for sentence in headline[1:]:
        page.line(sentence, _INDENT)
    for clause in product.clauses:
        if not brief or clause.decision in {"undecided", "not met"}:
            _print_clause(page, clause, balls_behind(product, clause), findings.deciding_risk)
    known = "" if brief else dominance_line(product)
    if known:
        page.blank()
        page.line(known, _INDENT)
    for note in product.notes if not brief else ():
        page.line(as_sentence(note), _INDENT, style="dim")


def _print_clause(page: TerminalPage, clause: ClauseFinding, balls: int, risk: float) -> None:
    page.blank()
    lead = mark_characters(clause.decision, plain=page.plain)
    page.line(f"{clause_title(clause)}: {decision_word(clause)}", _INDENT, style="bold", lead=lead)
    allowed, value = limits_words(clause), value_sentence(clause, risk)
    page.line(
        " ".join(([f"Allowed: {allowed}."] if allowed else []) + ([value] if value else [])) or clause.text, _INDENT
    )
    chart = clause_strip(clause, balls, whole_ball=False)
    if chart is not None:
        width = min(page.console.width - _INDENT - 1, _STRIP)
        for line in strip_lines(chart, width, plain=page.plain):
            page.drawn(" " * _INDENT, line)
    elif as_read_sentence(clause):
        page.line(as_read_sentence(clause), _INDENT)
    for text in (whole_ball_sentence(clause, risk), variants_sentence(clause), *map(as_sentence, clause.notes)):
        if text:
            page.line(text, _INDENT, style="dim")
    if clause.settle:
        page.line(settle_sentence(clause.settle), _INDENT)


def print_comparison(comparison: Comparison, console: Console) -> None:
    """Print a comparison.

    Parameters
    ----------
    comparison : Comparison
        The comparison.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened(f"{quantity_words(comparison.quantity).capitalize()} compared", invented=comparison.footing.invented)
    for i, sentence in enumerate(comparison.sentences):
        page.line(sentence, style="bold" if i == 0 else "")
    page.blank()
    for product in comparison.products:
        counts = f"{plural(product.balls, 'ball')}, {plural(product.readings, 'reading')}"
        page.line(f"{product.product}: mean {measured(product.mean, comparison.unit)}; {counts}.")
        if product.form is not None:
            page.line(f"Variation within a ball {measured(product.form, comparison.unit)}.", 2, style="dim")
    for pair in comparison.pairs:
        _print_pair(page, pair, comparison)
    page.closed(comparison.footing)


def _print_pair(page: TerminalPage, pair: Pair, comparison: Comparison) -> None:
    page.blank()
    page.line(f"{pair.a} and {pair.b}: {TOLD if pair.told_apart else TIE}", style="bold")
    for sentence in pair_sentences(pair, comparison.quantity, comparison.unit):
        page.line(sentence, 2)
    for note in pair.notes:
        page.line(as_sentence(note), 2, style="dim")
    if pair.budget is not None:
        page.line(pair.budget.sentence, 2, style="dim")
