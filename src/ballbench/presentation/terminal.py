"""Findings and comparisons as terminal text: the answer first, a mark and a word for every decision, no boxes.

Nothing is said by colour alone; bold and dim only help the eye.
"""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from ballbench.findings.comparisons import Comparison, Pair
from ballbench.findings.results import ClauseFinding, Findings, ProductFinding
from ballbench.presentation.charts.clause_pictures import clause_strip
from ballbench.presentation.marks import mark_characters
from ballbench.presentation.numbers import measured
from ballbench.presentation.pair_wording import TIE, TOLD, pair_sentences
from ballbench.presentation.terminal_strip import strip_legend, strip_lines
from ballbench.presentation.typography import knit
from ballbench.presentation.wording import (
    INVENTED,
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


_GLUE = "\ue000"  # stands for a blank that must not break while rich wraps; a private letter, never in the data


class _Page:
    """A console with one left edge; text is taken literally, never as markup."""

    def __init__(self, console: Console) -> None:
        self.console = console
        self.plain = console.options.ascii_only

    def line(self, text: str, indent: int = 0, style: str = "", lead: str = "") -> None:
        """Print wrapped text at an indent, `lead` standing in the indent of its first line."""
        words = knit(_ascii(text) if self.plain else text).replace("\N{NO-BREAK SPACE}", _GLUE)
        room = max(self.console.width - indent, 20)
        for i, part in enumerate(Text(words, overflow="fold").wrap(self.console, room)):
            left = lead.ljust(indent) if i == 0 else " " * indent
            self.drawn(left, part.plain.rstrip().replace(_GLUE, " "), style)

    def drawn(self, left: str, text: str, style: str = "") -> None:
        """Print one line as it is."""
        self.console.print(Text.assemble((left, "bold"), (text, style)), no_wrap=True, crop=True, overflow="ignore")

    def blank(self) -> None:
        """Print an empty line."""
        self.console.print()

    def listed(self, title: str, items: tuple[str, ...]) -> None:
        """Print a titled list; nothing when it is empty."""
        if not items:
            return
        self.blank()
        self.line(title, style="bold")
        for item in items:
            self.line(as_sentence(item), 2, lead="- " if self.plain else "· ")


def _ascii(text: str) -> str:
    for sign, plain in (("−", "-"), ("–", "-"), ("…", "..."), ("°", " deg "), ("µ", "u"), ("∞", "inf")):
        text = text.replace(sign, plain)
    return text.encode("ascii", "replace").decode("ascii")


def print_findings(findings: Findings, console: Console) -> None:
    """Print a judgement.

    Parameters
    ----------
    findings : Findings
        The judgement.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = _Page(console)
    if findings.invented:
        page.line(f"{INVENTED}.", style="bold")
    page.line(f"{findings.spec_title}, {edition_words(findings.spec_edition)}", style="bold")
    page.line(f"{findings.spec_source or 'no source'}. {decision_rule_sentences(findings)[0]}", style="dim")
    page.line(strip_legend(plain=page.plain), style="dim")
    brief = len(findings.products) > MANY_PRODUCTS
    for product in findings.products:
        _print_product(page, product, findings, brief=brief)
    if brief:
        page.blank()
        page.line("With so many products only clauses undecided or not met are written out; the rest is in the report.")
    page.listed("Readings to look at again", findings.questions)
    page.listed("Corrections and exclusions", findings.amendments)
    page.listed("Taken for granted", findings.assumptions)
    page.listed("Notes", findings.notes)
    page.listed("Beware", findings.cautions)


def _print_product(page: _Page, product: ProductFinding, findings: Findings, *, brief: bool) -> None:
    page.blank()
    lead = mark_characters(product.decision, plain=page.plain)
    headline = product.headline or (f"{product.product}: {product.decision}.",)
    page.line(headline[0], _INDENT, style="bold", lead=lead)
    for sentence in headline[1:]:
        page.line(sentence, _INDENT)
    for clause in product.clauses:
        if not brief or clause.decision in {"undecided", "not met"}:
            _print_clause(page, clause, balls_behind(product, clause), findings.deciding_risk)
    for note in product.notes if not brief else ():
        page.line(as_sentence(note), _INDENT, style="dim")


def _print_clause(page: _Page, clause: ClauseFinding, balls: int, risk: float) -> None:
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
    page = _Page(console)
    if comparison.invented:
        page.line(f"{INVENTED}.", style="bold")
    page.line(f"{quantity_words(comparison.quantity).capitalize()} compared", style="bold")
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
    page.listed("Taken for granted", comparison.assumptions)
    page.listed("Notes", comparison.notes)
    page.listed("Beware", comparison.cautions)


def _print_pair(page: _Page, pair: Pair, comparison: Comparison) -> None:
    page.blank()
    page.line(f"{pair.a} and {pair.b}: {TOLD if pair.told_apart else TIE}", style="bold")
    for sentence in pair_sentences(pair, comparison.quantity, comparison.unit):
        page.line(sentence, 2)
    for note in pair.notes:
        page.line(as_sentence(note), 2, style="dim")
