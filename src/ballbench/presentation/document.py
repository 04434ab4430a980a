"""A report before it is a page or a PDF: frozen blocks, in order. Blocks hold finished words, never a computation."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TypeVar

from ballbench.presentation.charts.chart_data import Chart

__all__ = [
    "Answer",
    "Answers",
    "Block",
    "Caution",
    "DecisionBlock",
    "Document",
    "Facts",
    "Figure",
    "Fold",
    "Heading",
    "Listing",
    "Paragraph",
    "Table",
    "walk",
]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 2 or 3, with the anchor that links lead to; empty: none."""

    text: str
    level: int = 2
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; `role` is ``lead`` (the answer), ``body`` or ``quiet``; a decision puts its mark before it."""

    text: str
    role: str = "body"
    decision: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A plain table.

    Parameters
    ----------
    caption : str
        What it shows.
    head : tuple of str
        Column heads, with units.
    rows : tuple of tuple of str
        Cells, as many as heads.
    numeric : tuple of int
        Columns that hold numbers, set flush right.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with what it says in words, and its numbers as a table."""

    chart: Chart
    caption: str
    alt: str
    table: Table


@dataclass(frozen=True, slots=True)
class Fold:
    """Blocks that a page folds away under a summary; on paper they are printed."""

    summary: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class DecisionBlock:
    """One decision: mark, title and word, what the balls are, the next step, the picture, and more under a fold.

    Parameters
    ----------
    decision : str
        Which mark.
    title, word : str
        What was looked at, and the decision in words.
    text : str
        The clause's own text.
    sentences : tuple of str
        The value with its interval.
    asides : tuple of str
        Quieter: as read, whole ball, how the limit was seen, notes.
    next_step : str
        The one thing to do; empty where nothing is left to do.
    figure : Figure or None
        The strip.
    fold : tuple of Block
        The rest.
    """

    decision: str
    title: str
    word: str
    text: str
    sentences: tuple[str, ...]
    asides: tuple[str, ...] = ()
    next_step: str = ""
    figure: Figure | None = None
    fold: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of the list of answers: mark, name, word, chance, and the anchor of the details (empty: none)."""

    decision: str
    name: str
    word: str
    detail: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers, a line each."""

    items: tuple[Answer, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """What to beware of."""

    text: str


@dataclass(frozen=True, slots=True)
class Listing:
    """A list of sentences."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and their values, such as requirement, edition, source."""

    pairs: tuple[tuple[str, str], ...]


Block = Heading | Paragraph | Table | Figure | Fold | DecisionBlock | Answers | Caution | Listing | Facts


@dataclass(frozen=True, slots=True)
class Document:
    """A whole report.

    Parameters
    ----------
    title, subtitle : str
        What was judged or compared.
    banner : str
        A line on every page, such as that the data are invented; empty: none.
    blocks : tuple of Block
        In order.
    foot : str
        A line at the foot of every page.
    """

    title: str
    subtitle: str
    banner: str
    blocks: tuple[Block, ...]
    foot: str = ""


T = TypeVar("T")


def walk(document: Document, kind: type[T]) -> tuple[T, ...]:
    """Give every block of one kind, in order, those inside folds and decisions too."""
    found: list[T] = []

    def visit(block: object) -> None:
        if isinstance(block, kind):
            found.append(block)
        if isinstance(block, Fold | DecisionBlock | Figure):
            for field in fields(block):
                value = getattr(block, field.name)
                for part in value if isinstance(value, tuple) else (value,):
                    if isinstance(part, Block):
                        visit(part)

    for block in document.blocks:
        visit(block)
    return tuple(found)
