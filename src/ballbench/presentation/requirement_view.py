"""Requirements as terminal text: the list, one of them whole, and what a check found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import fill

from rich.console import Console

__all__ = [
    "Checked",
    "ClauseLine",
    "RequirementPage",
    "print_checked",
    "print_overview",
    "print_requirement",
]

SEEN_WORDS = {
    "official": "read on a page of the governing body",
    "quoted": "rule text quoted on another page",
    "paraphrased": "a secondary page; the rule's wording was not seen",
    "memory": "from memory only: decides nothing without --accept-unverified",
    "practice": "common practice, no source",
    "own": "your own requirement",
}


@dataclass(frozen=True, slots=True)
class ClauseLine:
    """One clause for print: identity, words, what is held against what, how the number was seen, conditions."""

    id: str
    text: str
    held: str
    seen: str
    source: str
    conditions: str
    variants: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RequirementPage:
    """One requirement for print."""

    id: str
    sport: str
    title: str
    edition: str
    source: str
    sample_size: int | None
    clauses: tuple[ClauseLine, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Checked:
    """One checked file: its name, faults (empty when it loads), remarks of the lint."""

    file: str
    faults: tuple[str, ...]
    remarks: tuple[str, ...]


def print_overview(pages: Sequence[RequirementPage], console: Console | None = None) -> None:
    """List requirements by sport: id, title, edition."""
    out = console or Console()
    sport = ""
    for page in sorted(pages, key=lambda p: (p.sport, p.id)):
        if page.sport != sport:
            sport = page.sport
            _line(out, f"\n{sport}")
        _wrapped(out, f"{page.title}, {page.edition}", f"  {page.id:<26} ", 29)
    _line(out, "\nShow one whole with: ballbench specs ID")


def print_requirement(page: RequirementPage, console: Console | None = None) -> None:
    """Show a requirement whole: every clause with its limits, conditions, source and how the number was seen."""
    out = console or Console()
    _line(out, f"{page.title} ({page.sport}, {page.edition})")
    _wrapped(out, page.source, "Source: ", 8)
    if page.sample_size:
        _line(out, f"Asks for {page.sample_size} balls.")
    for clause in page.clauses:
        _line(out, f"\n{clause.id}")
        _wrapped(out, clause.text, "  ", 2)
        _wrapped(out, clause.held, "  held: ", 8)
        for variant in clause.variants:
            _wrapped(out, variant, "  or, read otherwise: ", 8)
        if clause.conditions:
            _wrapped(out, clause.conditions, "  at: ", 8)
        _wrapped(out, f"{clause.source} ({SEEN_WORDS[clause.seen]})", "  source: ", 10)
    for note in page.notes:
        _wrapped(out, note, "\nNote: ", 6)
    for caution in page.cautions:
        _wrapped(out, caution, "\nCaution: ", 9)


def print_checked(checked: Sequence[Checked], console: Console | None = None) -> None:
    """Print what a check found, file by file."""
    out = console or Console()
    for item in checked:
        state = "cannot be used" if item.faults else "loads"
        remarks = "no remark" if not item.remarks else f"{len(item.remarks)} to look at"
        _line(out, f"{item.file}: {state}" + ("" if item.faults else f", {remarks}"))
        for text in (*item.faults, *item.remarks):
            _wrapped(out, text, "  - ", 4)


def _line(out: Console, text: str) -> None:
    out.print(text, markup=False, highlight=False, soft_wrap=True)


def _wrapped(out: Console, text: str, first: str, indent: int) -> None:
    width = max(min(out.width, 100), 40)
    _line(out, fill(text, width, initial_indent=first, subsequent_indent=" " * indent, break_long_words=False))
