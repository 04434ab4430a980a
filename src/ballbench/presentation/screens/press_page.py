"""The page of the press: load a ball, wait by the clock, write down how far it gave way, see the means at once."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.pressing.results import PressFindings
from ballbench.presentation.press_report import press_blocks
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import as_sentence

__all__ = ["PressPage", "press_html", "press_shown"]


@dataclass(frozen=True, slots=True)
class PressPage:
    """The form. Filled by ``workflows/bench_aids.py``.

    Parameters
    ----------
    requirements : tuple of RequirementChoice
        Those with a limit of deformation or hardness.
    cautions : tuple of str
        What to beware of at the press.
    found : PressFindings or None
        A result to show from the start; None: none yet.
    """

    requirements: tuple[RequirementChoice, ...]
    cautions: tuple[str, ...]
    found: PressFindings | None = None


def press_html(data: PressPage) -> str:
    """Write the page."""
    shown = "" if data.found is None else press_shown(data.found)
    body = write("press.html.j2", data=data, shown=shown)
    return page("Press", body, here="press", script="press.js", style="bench_aids.css")


def press_shown(found: PressFindings) -> str:
    """Write a result as it stands below the entries."""
    notes = tuple(map(as_sentence, (*found.footing.assumptions, *found.footing.notes)))
    return write("aid_result.html.j2", blocks=press_blocks(found), notes=notes, invented=found.footing.invented)
