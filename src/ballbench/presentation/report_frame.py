"""The frame of a report: its head, the answer first, the clauses, what the numbers rest on, how to rebuild them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import ballbench
from ballbench.presentation.document import (
    Block,
    Caution,
    DecisionBlock,
    Document,
    Facts,
    Figure,
    Heading,
    Listing,
    Paragraph,
)
from ballbench.presentation.wording import INVENTED, as_sentence, plural, seen_words

if TYPE_CHECKING:
    from ballbench.findings.bouncing.results import BounceClause
    from ballbench.findings.footing import Footing
    from ballbench.findings.form_clauses import FormClause
    from ballbench.findings.pressing.results import PressClause
    from ballbench.findings.rolling.results import RollClause
    from ballbench.specs import Requirement

__all__ = [
    "NO_APPROVAL",
    "OTHER_BATCHES",
    "answer_blocks",
    "clause_block",
    "framed",
    "held_against",
    "limits_listed",
    "rebuilt",
    "refused_blocks",
    "standing_blocks",
]

NO_APPROVAL = "An approval: the governing body's current text and its accredited laboratories decide."
OTHER_BATCHES = "Other batches: the balls of one box are one batch, and another box may differ."
"""What no home bench shows, whatever it measures."""

_MOST_FILES = 60
"""Files that are listed with their digest (own choice); the JSON has all of them."""


def framed(title: str, subtitle: str, blocks: Iterable[Block], foot: str, *, invented: bool) -> Document:
    """Put a report together.

    Parameters
    ----------
    title, subtitle : str
        What was looked at, and how.
    blocks : iterable of Block
        In order.
    foot : str
        What stands at the foot of every page behind the version.
    invented : bool
        The data are invented; every page says so.
    """
    banner = INVENTED if invented else ""
    return Document(title, subtitle, banner, tuple(blocks), f"ballbench {ballbench.__version__}, {foot}")


def answer_blocks(sentences: Sequence[str], of: int) -> list[Block]:
    """Give the answer as paragraphs.

    Parameters
    ----------
    sentences : sequence of str
        What is said, a subject after the other.
    of : int
        How many balls or makes it is said of. The first sentence is large where there is one at most: of several none
        is more of an answer than its neighbours.
    """
    return [Paragraph(sentence, "lead" if i == 0 and of < 2 else "body") for i, sentence in enumerate(sentences)]


def held_against(requirement: Requirement | None, blocks: Sequence[Block]) -> list[Block]:
    """Give what a requirement says of the balls, under its name; nothing where it was held against nothing."""
    if requirement is None or not blocks:
        return []
    return [Heading(f"Held against: {requirement.title}", 2, "clauses"), *blocks]


def clause_block(
    one: BounceClause | PressClause | RollClause,
    sentence: str,
    *,
    figure: Figure | None = None,
    fold: tuple[Block, ...] = (),
) -> DecisionBlock:
    """Give a clause with its mark, its own text, what the balls are, and how its limit was seen."""
    return DecisionBlock(
        one.decision, f"{one.product}, {one.clause}", one.decision, one.text, (sentence,),
        (f"Limit: {seen_words(one.seen)}.",), figure=figure, fold=fold,
    )  # fmt: skip


def limits_listed(sentences: tuple[str, ...], clauses: Iterable[FormClause]) -> list[Block]:
    """Give clauses that are counted, not decided, as a list, with how each limit was seen."""
    seen = dict.fromkeys(f"Limit of {one.clause}: {seen_words(one.seen)}." for one in clauses)
    return [Listing(sentences), *(Paragraph(text, "quiet") for text in seen)] if sentences else []


def refused_blocks(reasons: Iterable[str], level: int = 3, anchor: str = "") -> list[Block]:
    """List what was not used, each with its reason; nothing where all was."""
    listed = tuple(reasons)
    return [Heading("Not used", level, anchor), Listing(listed)] if listed else []


def standing_blocks(
    footing: Footing,
    rebuild: tuple[tuple[str, str], ...],
    *,
    methods: Sequence[str],
    limits: Sequence[str],
    notes: tuple[str, Sequence[str]] | None = None,
    more: Sequence[Block] = (),
) -> list[Block]:
    """Say what the numbers rest on; an empty list is left out.

    Parameters
    ----------
    footing : Footing
        What was taken for granted, what to beware of.
    rebuild : tuple of (str, str)
        How a stranger gets the same numbers, from `rebuilt`.
    methods, limits : sequence of str
        How it was done, and what it does not show.
    notes : (str, sequence of str), optional
        The notes under a title of their own; None: those of the footing, as notes.
    more : sequence of Block
        What stands between the lists and the cautions.
    """
    lists = (
        ("How it was done", methods),
        ("Assumptions", footing.assumptions),
        notes or ("Notes", footing.notes),
        ("What this does not show", limits),
    )
    blocks: list[Block] = [Heading("What the numbers rest on", 2, "standing")]
    for title, items in lists:
        if items:
            blocks += [Heading(title, 3), Listing(tuple(map(as_sentence, items)))]
    cautioned = [Caution(text) for text in footing.cautions]
    return [*blocks, *more, *cautioned, Heading("How to rebuild this", 3), Facts(rebuild)]


def rebuilt(
    command: str,
    files: Iterable[tuple[str, str]],
    requirement: Requirement | None = None,
    *,
    own: tuple[tuple[str, str], ...] = (),
) -> tuple[tuple[str, str], ...]:
    """Say how a stranger gets the same numbers: command, digests, version.

    Parameters
    ----------
    command : str
        As it is typed.
    files : iterable of (str, str)
        Name and digest of each file that was read; of very many the first ones.
    requirement : Requirement or None
        What the balls were held against.
    own : tuple of (str, str)
        What stands between the two, such as the file of picks.
    """
    read = tuple(files)
    more = ((f"and {plural(len(read) - _MOST_FILES, 'file')} more", "in the JSON"),) if len(read) > _MOST_FILES else ()
    rule = () if requirement is None else (("Requirement file", requirement.digest),)
    version = ("Version", f"ballbench {ballbench.__version__}")
    return (("Command", command), *read[:_MOST_FILES], *more, *own, *rule, version)
