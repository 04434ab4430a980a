"""What a recording tells as HTML below its page: blocks of the command's report, with what was taken for granted."""

from __future__ import annotations

from ballbench.findings.bouncing.results import BounceFindings
from ballbench.findings.tracing.results import OutlineFindings
from ballbench.findings.watching.results import DropFindings
from ballbench.presentation.bounces_report import bounces_blocks
from ballbench.presentation.document import Block, Heading, Listing
from ballbench.presentation.drops_report import drops_blocks
from ballbench.presentation.outlines_report import outlines_blocks
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import as_sentence

__all__ = ["bounces_shown", "drops_shown", "outlines_shown"]

_OPTIONS = "What begins with -- is an option of the command line, which asks for more than this page does."


def bounces_shown(found: BounceFindings) -> str:
    """Write what a sound tells."""
    notes = _notes(found.assumptions, found.notes)
    blocks = _said_once(bounces_blocks(found), refused=all(one.refused for one in found.recordings))
    return write("aid_result.html.j2", blocks=blocks, notes=notes, invented=found.invented)


def drops_shown(found: DropFindings) -> str:
    """Write what a film tells."""
    notes = _notes(found.assumptions, found.notes)
    blocks = _said_once(drops_blocks(found), refused=all(one.refused for one in found.clips))
    return write("aid_result.html.j2", blocks=blocks, notes=notes, invented=found.invented)


def outlines_shown(found: OutlineFindings) -> str:
    """Write what a photograph tells."""
    notes = _notes(found.assumptions, found.notes)
    blocks = _said_once(outlines_blocks(found), refused=all(one.refused for one in found.photos))
    return write("aid_result.html.j2", blocks=blocks, notes=notes, invented=found.invented)


def _said_once(blocks: tuple[Block, ...], *, refused: bool) -> tuple[Block, ...]:
    """Leave out what a report says last of a recording that was refused: the page says why in a place of its own."""
    if refused and len(blocks) > 1 and isinstance(blocks[-1], Listing) and isinstance(blocks[-2], Heading):
        return blocks[:-2]
    return blocks


def _notes(assumptions: tuple[str, ...], notes: tuple[str, ...]) -> tuple[str, ...]:
    """Give what was taken for granted as sentences; where options are named it is said what they are."""
    every = tuple(map(as_sentence, (*assumptions, *notes)))
    return (*every, _OPTIONS) if any("--" in text for text in every) else every
