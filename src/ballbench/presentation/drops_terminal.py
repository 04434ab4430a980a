"""What filmed drops tell as terminal text: the answer, then clip by clip."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.bouncing.words import clause_sentence
from ballbench.findings.watching.results import DropFindings
from ballbench.findings.watching.words import (
    budget_words,
    check_sentence,
    clip_sentence,
    impacts_sentence,
    refused_sentence,
)
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.wording import as_sentence, plural

__all__ = ["print_drops"]


def print_drops(found: DropFindings, console: Console) -> None:
    """Print what filmed drops tell.

    Parameters
    ----------
    found : DropFindings
        As found.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened("How the balls rebound, by films of their drops (95 %)", invented=found.footing.invented)
    refused = sum(bool(one.refused) for one in found.clips)
    told = len(found.sentences) - len(found.clauses) - refused
    for sentence in found.sentences[:told]:
        page.line(sentence)
    for clause in found.clauses:
        page.decided(clause.decision, clause_sentence(clause))
    for one in found.clips:
        page.blank()
        if one.refused:
            page.line(refused_sentence(one), style="bold")
        else:
            by_hand = f", {plural(one.by_hand, 'place')} put by hand" if one.by_hand else ""
            page.line(f"{one.file} ({one.product}, ball {one.ball}{by_hand})", style="bold")
            page.line(as_sentence(clip_sentence(one)), 2)
            page.line(as_sentence(impacts_sentence(one)), 2)
            for check in one.checks:
                page.line(as_sentence(check_sentence(check)), 2, style="dim")
            if budget := budget_words(one):
                page.line(as_sentence(budget), 2, style="dim")
            frames = f"{one.in_flight} of {one.frames} pictures used, {one.rate:.0f} a second"
            page.line(as_sentence(f"{frames}, places scatter by {one.scatter:.2g} mm"), 2, style="dim")
        for note in one.notes:
            page.line(as_sentence(note), 2, style="dim")
    page.closed(found.footing)
