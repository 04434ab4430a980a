"""What a ramp, or floats and spins, tell of balance as terminal text: the answer, then ball by ball."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.rolling.results import RollFindings
from ballbench.findings.rolling.spot_words import spot_sentence
from ballbench.findings.rolling.words import axis_sentence, ball_sentence
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.wording import as_sentence

__all__ = ["TITLES", "print_rolls"]

TITLES = ("Balance from a ramp, offset of the mass centre (95 %)", "Same spot up, more often than chance?")
_MOST = 40
"""Balls that are written out (own choice); the rest is in the report and the JSON."""


def print_rolls(found: RollFindings, console: Console) -> None:
    """Print what a ramp, or floats and spins, tell.

    Parameters
    ----------
    found : RollFindings
        As found.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened(TITLES[bool(found.spots)], invented=found.footing.invented)
    told = len(found.sentences) - len(found.clauses)
    for sentence in found.sentences[:told]:
        page.line(sentence)
    for clause, sentence in zip(found.clauses, found.sentences[told:], strict=True):
        page.decided(clause.decision, sentence)
    left = _MOST - _products(found, page) - _spots(found, page)
    if left < 0:
        page.line("With so many balls the rest is in the report and in the JSON.")
    page.closed(found.footing)


def _products(found: RollFindings, page: TerminalPage) -> int:
    """Print the balls of a ramp; give how many there are."""
    left = _MOST
    for product in found.products:
        page.blank()
        page.line(product.product, style="bold")
        for ball in product.balls[: max(left, 0)]:
            page.line(as_sentence(ball_sentence(ball)), 2)
            page.line("; ".join(axis_sentence(axis) for axis in ball.axes), 4, style="dim")
        left -= len(product.balls)
    return _MOST - left


def _spots(found: RollFindings, page: TerminalPage) -> int:
    """Print the balls that came to rest; give how many there are."""
    for product in dict.fromkeys(ball.product for ball in found.spots):
        own = [ball for ball in found.spots if ball.product == product]
        if len(own) == len({ball.test for ball in own}):
            continue  # said above already, one ball a test
        page.blank()
        page.line(product, style="bold")
        for ball in own[:_MOST]:
            page.line(as_sentence(spot_sentence(ball)), 2)
    return len(found.spots)
