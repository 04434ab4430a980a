"""What a recording tells as HTML below its page: blocks of the command's report, with what was taken for granted."""

from __future__ import annotations

import re

from ballbench.findings.bouncing.results import BounceFindings
from ballbench.findings.footing import Footing
from ballbench.findings.tracing.results import OutlineFindings
from ballbench.findings.watching.results import DropFindings
from ballbench.presentation.bounces_report import bounces_blocks
from ballbench.presentation.document import Block, Heading, Listing, Paragraph
from ballbench.presentation.drops_report import drops_blocks
from ballbench.presentation.outlines_report import outlines_blocks, trace_line
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import as_sentence

__all__ = ["bounces_shown", "drops_shown", "outlines_shown"]

_FIELDS = "What begins with -- is an option of the command line; what it says of ball, air and place has a field above."
_OPTIONS = "What begins with -- is an option of the command line, which asks for more than this page does."
_NO_PHOTO = "This photograph tells nothing; why, and what to do, stands above."


def bounces_shown(found: BounceFindings) -> str:
    """Write what a sound tells."""
    refused = all(one.refused for one in found.recordings)
    blocks = _said_once(bounces_blocks(found), refused=refused)
    return _written(blocks, found.footing, _FIELDS, "" if refused else found.command)


def drops_shown(found: DropFindings) -> str:
    """Write what a film tells."""
    refused = all(one.refused for one in found.clips)
    blocks = _said_once(drops_blocks(found), refused=refused)
    return _written(blocks, found.footing, _FIELDS, "" if refused else found.command)


def outlines_shown(found: OutlineFindings) -> str:
    """Write what a photograph tells."""
    refused = all(one.refused for one in found.photos)
    blocks: tuple[Block, ...] = (Paragraph(_NO_PHOTO, "lead"),) if refused else outlines_blocks(found)
    return _written(blocks, found.footing, _OPTIONS, "" if refused else trace_line(found))


def _said_once(blocks: tuple[Block, ...], *, refused: bool) -> tuple[Block, ...]:
    """Leave out what a report says last of a recording that was refused: the page says why in a place of its own."""
    if refused and len(blocks) > 1 and isinstance(blocks[-1], Listing) and isinstance(blocks[-2], Heading):
        return blocks[:-2]
    return blocks


def _written(blocks: tuple[Block, ...], footing: Footing, options: str, command: str = "") -> str:
    """Write blocks, what was taken for granted, and the command that says the same.

    Where options are named among what was taken for granted, `options` says what they are.
    """
    notes = tuple(map(as_sentence, (*footing.assumptions, *footing.notes)))
    if any("--" in text for text in notes):
        notes = (*notes, options)
    parts = tuple(re.split(r" (?=--)", command)) if command else ()  # a line is broken between options, not in them
    return write("aid_result.html.j2", blocks=blocks, notes=notes, invented=footing.invented, command=parts)
