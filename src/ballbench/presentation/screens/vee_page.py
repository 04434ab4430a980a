"""The page of the vee: turn a ball under an indicator, write down low and high, see its form at once."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.vee.results import VeeFindings
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.writing import write
from ballbench.presentation.vee_report import vee_blocks
from ballbench.presentation.wording import as_sentence

__all__ = ["VeePage", "vee_html", "vee_shown"]


@dataclass(frozen=True, slots=True)
class VeePage:
    """The form. Filled by ``workflows/bench_aids.py``.

    Parameters
    ----------
    requirements : tuple of RequirementChoice
        Those with a limit of form.
    cautions : tuple of str
        What to beware of while turning.
    found : VeeFindings or None
        A result to show from the start; None: none yet.
    """

    requirements: tuple[RequirementChoice, ...]
    cautions: tuple[str, ...]
    found: VeeFindings | None = None


def vee_html(data: VeePage) -> str:
    """Write the page."""
    shown = "" if data.found is None else vee_shown(data.found)
    body = write("vee.html.j2", data=data, shown=shown)
    return page("Form in a vee", body, here="vee", script="vee.js", style="bench_aids.css")


def vee_shown(found: VeeFindings) -> str:
    """Write a result as it stands below the entries."""
    notes = tuple(map(as_sentence, (*found.footing.assumptions, *found.footing.notes)))
    return write("aid_result.html.j2", blocks=vee_blocks(found), notes=notes, invented=found.footing.invented)
