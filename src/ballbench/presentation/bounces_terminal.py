"""What recordings of drops tell as terminal text: the answer, then recording by recording, drop by drop."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.bouncing.results import BounceFindings
from ballbench.findings.bouncing.words import (
    MANY_BALLS,
    ball_sentence,
    clause_sentence,
    drop_sentence,
    recording_sentence,
)
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.wording import as_sentence

__all__ = ["print_bounces"]


def print_bounces(found: BounceFindings, console: Console) -> None:
    """Print what recordings of drops tell.

    Parameters
    ----------
    found : BounceFindings
        As found.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened("How the balls bounce, by the sound of their drops (95 %)", invented=found.footing.invented)
    refused = sum(bool(one.refused) for one in found.recordings)
    told = len(found.sentences) - len(found.clauses) - refused
    for sentence in found.sentences[:told]:
        page.line(sentence)
    for clause in found.clauses:
        page.decided(clause.decision, clause_sentence(clause))
    if len(found.balls) > MANY_BALLS and found.products:
        page.blank()
        for ball in found.balls:
            page.line(ball_sentence(ball, found.settings), 2)
    for one in found.recordings:
        page.blank()
        if one.refused:
            page.line(recording_sentence(one), style="bold")
            continue
        by_hand = ", impacts put by hand" if one.by_hand else ""
        page.line(f"{one.file} ({one.product}, ball {one.ball}{by_hand})", style="bold")
        for drop in one.drops:
            page.line(f"{drop_sentence(drop)}.", 2)
            for note in drop.notes:
                page.line(as_sentence(note), 4, style="dim")
        for note in one.notes:
            page.line(as_sentence(note), 2, style="dim")
    page.closed(found.footing)
