"""A qualification as terminal text: the answer and its ruler first, no boxes, nothing by colour alone."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.qualification import CheckFound, Qualification
from ballbench.findings.qualifying.round_balls import SHOWN_AXES
from ballbench.presentation.charts.qualification_pictures import ruler
from ballbench.presentation.charts.qualify_data import RulerChart
from ballbench.presentation.marks import mark_characters
from ballbench.presentation.numbers import with_unit
from ballbench.presentation.qualification_figures import round_ball_table
from ballbench.presentation.qualification_report import ROUND_BALL_NOTES, entry_pairs
from ballbench.presentation.qualification_wording import moments, signed, two_figures
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.wording import quantity_words

__all__ = ["print_qualification", "ruler_lines"]

_WIDEST = 72
_LEAST = 30


def print_qualification(found: Qualification, console: Console) -> None:
    """Print a qualification.

    Parameters
    ----------
    found : Qualification
        The qualification.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    title = f"What this {found.instrument.name} can tell: {quantity_words(found.quantity)}"
    page.opened(title, invented=found.footing.invented)
    page.line(found.sentence)
    chart = ruler(found)
    if chart is not None:
        page.blank()
        for line in ruler_lines(chart, min(console.width - 4, _WIDEST), plain=page.plain):
            page.drawn("  ", line)
        page.blank()
    for sentence in found.sentences:
        page.line(sentence, 2, lead="- " if page.plain else "· ")
    _print_failed(page, found)
    _print_round_ball(page, found)
    page.blank()
    page.line("Its entry for the bench", style="bold")
    for name, value in entry_pairs(found):
        page.line(f"{name}: {value}.", 2)
    page.closed(found.footing)


def _print_round_ball(page: TerminalPage, found: Qualification) -> None:
    """Print what a perfectly round ball shows on those numbers of axes that no sentence has."""
    table = round_ball_table(found)
    if table is None:
        return
    page.blank()
    page.line("A perfectly round ball on other numbers of axes", style="bold")
    for axes, mean, high in table.rows:
        if axes != f"{SHOWN_AXES} axes":
            usual, most = (with_unit(text, found.unit) for text in (mean, high))
            page.line(f"{axes}: {usual} on average, {most} or less for 95 %.", 2, lead="- " if page.plain else "· ")
    page.line(" ".join(ROUND_BALL_NOTES), style="dim")


def _print_failed(page: TerminalPage, found: Qualification) -> None:
    """Print each check that failed, with the mark of a ball beyond its limit."""
    whens = moments([check.time for check in found.checks])
    errors = signed([check.error for check in found.checks])
    failed = [row for row in zip(found.checks, whens, errors, strict=True) if not row[0].passed]
    if not failed:
        return
    page.blank()
    page.line("Checks that failed", style="bold")
    for check, when, error in failed:
        page.line(_failed_words(check, when, error, found.unit), 7, lead=mark_characters("not met", plain=page.plain))


def _failed_words(check: CheckFound, when: str, error: str, unit: str) -> str:
    return f"{check.piece}, {when}: off by {error} {unit}, {two_figures(check.allowed)} allowed."


def ruler_lines(chart: RulerChart, width: int, *, plain: bool = False) -> tuple[str, ...]:
    """Draw the ruler of what can be told in characters.

    Parameters
    ----------
    chart : RulerChart
        Ruler and marks.
    width : int
        Cells across, at least 30.
    plain : bool
        Only ASCII.

    Returns
    -------
    tuple of str
        Words, two balls that draw apart, the ruler with its line, and its numbers; no line is wider than `width`.
    """
    width = max(width, _LEAST)
    hollow, filled, stroke, limit, thick = ("o", "@", "-", "|", "=") if plain else ("○", "●", "─", "│", "━")
    at = min(max(round(chart.told / chart.end * width), 12), width - 10)
    words = list(" " * width)
    for text, low, high in (("cannot tell", 0, at), ("can tell", at + 1, width)):
        start = low + max((high - low - len(text)) // 2, 0)
        words[start : start + len(text)] = text
    words[at] = limit
    one, other = _pairs(at, width, hollow, filled)
    one[at] = other[at] = limit
    beam = [stroke] * at + [limit] + [thick] * (width - at - 1)
    return (*("".join(line).rstrip() for line in (words, one, other, beam)), _numbers(chart, at, width))


def _pairs(at: int, width: int, hollow: str, filled: str) -> tuple[list[str], list[str]]:
    """Hollow balls over each other up to the line, two filled ones beyond it, the second a cell further each time."""
    one, other = list(" " * width), list(" " * width)
    for cell in range(1, at - 1, 3):
        one[cell] = hollow
    for k, cell in enumerate(range(at + 2, width - 1, 5)):
        one[cell] = filled
        second = cell + min(1 + k // 2, 3)
        if second < width:
            other[second] = filled
    return one, other


def _numbers(chart: RulerChart, at: int, width: int) -> str:
    """Print 0, what one reading tells, and the end of the ruler below it."""
    told = chart.marks[0].text.partition(" (")[0]
    end = f"{two_figures(chart.end)}"
    start = min(max(at - len(told) // 2, 3), width - len(told) - len(end) - 2)
    line = "0".ljust(start) + told
    return line + end.rjust(width - len(line))
