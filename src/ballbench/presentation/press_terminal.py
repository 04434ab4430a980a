"""What a press tells as terminal text: the answer, then group by group, each line for this rig only."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.pressing.results import PressFindings
from ballbench.findings.pressing.words import group_sentence, return_sentence
from ballbench.presentation.terminal_page import TerminalPage

__all__ = ["print_press"]


def print_press(found: PressFindings, console: Console) -> None:
    """Print what a press tells.

    Parameters
    ----------
    found : PressFindings
        As found.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened(f"Read on a press: {found.label}", invented=found.footing.invented)
    told = len(found.sentences) - len(found.clauses)
    for sentence in found.sentences[:told]:
        page.line(sentence)
    for clause, sentence in zip(found.clauses, found.sentences[told:], strict=True):
        page.decided(clause.decision, sentence)
    for product in found.products if found.pairs else ():
        page.blank()
        page.line(product.product, style="bold")
        for group in product.groups:
            page.line(group_sentence(group), 2)
        for back in product.returns:
            page.line(return_sentence(back), 2)
    for product in found.products if not found.pairs else ():
        for back in product.returns:
            page.line(f"{product.product}: {return_sentence(back)}")
    page.closed(found.footing)
