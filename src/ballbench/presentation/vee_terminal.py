"""What vees tell as terminal text: the answer, then ball by ball."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.vee.results import SectionForm, VeeFindings
from ballbench.findings.vee.words import section_sentence
from ballbench.presentation.terminal_page import TerminalPage
from ballbench.presentation.wording import as_sentence

__all__ = ["print_vee", "section_name", "vee_words"]

_MOST = 40
"""Balls that are written out (own choice); the rest is in the report and the JSON."""


def print_vee(found: VeeFindings, console: Console) -> None:
    """Print what vees tell.

    Parameters
    ----------
    found : VeeFindings
        As found.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened("Form from a vee, crest to trough of the radius (95 %)", invented=found.footing.invented)
    for sentence in found.sentences:
        page.line(sentence)
    left = _MOST
    for product in found.products:
        page.blank()
        page.line(product.product, style="bold")
        for ball in product.balls[:left]:
            for section in ball.sections:
                page.line(f"{section_name(ball.ball, section)}: {as_sentence(section_sentence(section))}", 2)
                page.line(f"Moved {vee_words(section)}.", 4, style="dim")
        left = max(left - len(product.balls), 0)
    if sum(len(product.balls) for product in found.products) > _MOST:
        page.line("With so many balls the rest is in the report and in the JSON.")
    page.closed(found.footing)


def section_name(ball: str, section: SectionForm) -> str:
    """Name a ball and its section, ``"ball 01, seam"``."""
    return f"ball {ball}, {section.section}" if section.section else f"ball {ball}"


def vee_words(section: SectionForm) -> str:
    """Say what the indicator did, vee by vee, ``"0.030 mm in 90 degrees (noise up to 0.004 mm)"``."""
    parts = []
    for vee in section.vees:
        where = "on a flat table" if vee.angle == 180.0 else f"in {vee.angle:g} degrees"
        where += ", between the flanks" if vee.setting == "rider" else ""
        again = f", mean of {vee.readings}" if vee.readings > 1 else ""
        parts.append(f"{vee.range:.4f} mm {where}{again} (noise up to {vee.floor:.2g} mm)")
    return "; ".join(parts)
