"""The page of the ramp: roll a ball, write down how far it veers, see how far it is out of balance at once."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.rolling.results import RollFindings
from ballbench.presentation.document import Block, Fold, Table
from ballbench.presentation.rolls_report import rolls_blocks
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import as_sentence

__all__ = ["RollPage", "roll_html", "roll_shown"]

_MOST_ROWS = 8
"""Tables with more rows are folded away on the page (own choice): on a phone each row is as high as a hand."""


@dataclass(frozen=True, slots=True)
class RollPage:
    """The form. Filled by ``workflows/bench_aids.py``.

    Parameters
    ----------
    requirements : tuple of RequirementChoice
        Those with a limit of veer.
    cautions : tuple of str
        What to beware of while rolling.
    found : RollFindings or None
        A result to show from the start; None: none yet.
    """

    requirements: tuple[RequirementChoice, ...]
    cautions: tuple[str, ...]
    found: RollFindings | None = None


def roll_html(data: RollPage) -> str:
    """Write the page."""
    shown = "" if data.found is None else roll_shown(data.found)
    body = write("roll.html.j2", data=data, shown=shown)
    return page("Roll down a ramp", body, here="roll", script="roll.js", style="bench_aids.css")


def roll_shown(found: RollFindings) -> str:
    """Write a result as it stands below the entries."""
    notes = tuple(map(as_sentence, (*found.footing.assumptions, *found.footing.notes)))
    return write(
        "aid_result.html.j2",
        blocks=tuple(map(_folded, rolls_blocks(found))),
        notes=notes,
        invented=found.footing.invented,
    )


def _folded(block: Block) -> Block:
    """Fold a long table away."""
    if isinstance(block, Table) and len(block.rows) > _MOST_ROWS:
        return Fold(block.caption, (block,))
    return block
