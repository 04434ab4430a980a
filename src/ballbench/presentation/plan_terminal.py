"""A plan as terminal text: the answer first, then a line a design with its tray, no boxes, nothing by colour alone."""

from __future__ import annotations

import math

from rich.console import Console

from ballbench.findings.plan_form_words import form_sentences
from ballbench.findings.planning import SettingChances
from ballbench.findings.plans import Plan
from ballbench.presentation.charts.plan_pictures import filled_of
from ballbench.presentation.plan_report import FORM_TITLE, right_answer_words
from ballbench.presentation.plan_wording import ENOUGH, NOT_ENOUGH, share_words, short_design, time_words, verdict
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.wording import edition_words, quantity_words

__all__ = ["print_plan", "tray_characters"]

_TRAY = 8
"""Characters of the largest tray."""


def print_plan(plan: Plan, console: Console) -> None:
    """Print a plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    rule = plan.requirement
    page.line(
        f"How many balls: {quantity_words(plan.quantity)}, {rule.title}, {edition_words(rule.edition)}",
        style="bold",
    )
    page.line(plan.sentence)
    page.blank()
    _print_trays(page, plan)
    page.line(_legend(plan), style="dim")
    page.blank()
    for sentence in plan.sentences:
        page.line(sentence, 2, lead="- " if page.plain else "· ")
    if plan.gains:
        _print_changes(page, plan)
    page.blank()
    page.line(right_answer_words(plan), style="dim")
    page.listed(FORM_TITLE, tuple(form_sentences(plan)))
    page.closed(plan.footing)


def _print_trays(page: TerminalPage, plan: Plan) -> None:
    largest = max(one.design.balls for one in plan.settings)
    trays = [tray_characters(one, largest, plain=page.plain) for one in plan.settings]
    indent = max(map(len, trays)) + 2
    words = max(len(short_design(one.design)) for one in plan.settings)
    times = max(len(_time(one)) for one in plan.settings)
    for one, tray in zip(plan.settings, trays, strict=True):
        word = verdict(one, plan)
        line = f"{short_design(one.design).ljust(words)}  {_time(one).rjust(times)}  right {share_words(one.right)}"
        if word != NOT_ENOUGH:
            line += f"  {word}"
        page.line(line, indent, lead=tray, style="bold" if word == ENOUGH else "")


def _time(one: SettingChances) -> str:
    return time_words(one.minutes).removeprefix("about ")


def tray_characters(one: SettingChances, largest: int, *, plain: bool = False) -> str:
    """Draw a tray in characters, filled as far as tests of the design end right.

    Parameters
    ----------
    one : SettingChances
        The design.
    largest : int
        Balls of the largest tray; that one has eight characters, or as many as balls.
    plain : bool
        Only ASCII.
    """
    filled, hollow = ("@", "o") if plain else ("●", "○")
    drawn = max(math.ceil(one.design.balls * min(_TRAY / largest, 1.0) - 1e-9), 1)
    full = filled_of(one.right.value, drawn)
    return filled * full + hollow * (drawn - full)


def _legend(plan: Plan) -> str:
    wanted = f"{100 * plan.how_many.wanted:.3g} %"
    return f"Filled: the share of {plan.tests} simulated tests that end right; {wanted} wanted."


def _print_changes(page: TerminalPage, plan: Plan) -> None:
    page.blank()
    page.line("One change at a time", style="bold")
    for gain in plan.gains:
        chance = f"right in {share_words(gain.chances.right)}, {time_words(gain.chances.minutes)}"
        page.line(f"{chance}: {gain.change.replace(': ', ', ')}.", 2, lead="- " if page.plain else "· ")
