"""A document as Typst source: our own markup around text that is always a string, never markup."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from itertools import groupby, zip_longest

from ballbench.presentation.document import (
    Answers,
    Block,
    Caution,
    DecisionBlock,
    Document,
    Facts,
    Figure,
    Fold,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from ballbench.presentation.marks import MARKS, mark_of
from ballbench.presentation.typography import breakable, knit

__all__ = ["mark_file", "typst_source", "typst_string"]

PictureFile = Callable[[Figure], str]
_LONGEST_HEAD = 18
"""Letters that the head of a column has on one line (own choice)."""
_LETTER_MM, _GAP_MM, _PAGE_MM = 1.4, 2.9, 170.0
"""A letter of a table on average, as printed; room beside a column, and the page's width, by the style."""
_HELD_TOGETHER = 4
"""Paragraphs that are kept together with what follows them (own choice)."""


def typst_string(text: str) -> str:
    """Give text as a Typst string literal: nothing in it is ever markup, code or a label.

    Parameters
    ----------
    text : str
        Anything: quotes and backslashes are escaped, control characters become blanks, long words may break.

    Returns
    -------
    str
        With its quotes.
    """
    plain = "".join(" " if unicodedata.category(letter) in {"Cc", "Cs"} else letter for letter in text)
    escaped = breakable(knit(plain)).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _words(text: str) -> str:
    return f"#{typst_string(text)}"


def mark_file(decision: str) -> str:
    """Name the file that holds the mark of a decision."""
    mark = mark_of(decision)
    name = next(name for name, other in MARKS.items() if other is mark)
    return f"mark-{name.replace(' ', '-')}.svg"


def _mark(decision: str, width: str = "9mm") -> str:
    return f'#image("{mark_file(decision)}", width: {width}, alt: {typst_string(decision)})'


def typst_source(document: Document, style: str, picture_file: PictureFile) -> str:
    """Write the Typst source of a document.

    Parameters
    ----------
    document : Document
        The report.
    style : str
        The Typst style that goes before it.
    picture_file : callable
        Gives the file name of a figure's picture.

    Returns
    -------
    str
        Folds are printed open; a picture's table of numbers is left to the page and the JSON.
    """
    head = (
        f"{style}\n#show: report.with(title: {typst_string(document.title)}, "
        f"subtitle: {typst_string(document.subtitle)}, banner: {typst_string(document.banner)}, "
        f"foot: {typst_string(document.foot)})\n"
    )
    return head + _blocks(document.blocks, picture_file)


def _blocks(blocks: tuple[Block, ...], picture_file: PictureFile) -> str:
    """Write blocks; pictures that follow each other, and those folded into a run of decisions, stand side by side."""
    parts: list[str] = []
    for kind, run in groupby(blocks, key=type):
        members = list(run)
        if kind is Paragraph:
            parts += _paragraphs([block for block in members if isinstance(block, Paragraph)])
        elif kind is not Figure:
            parts += [_one(block, picture_file) for block in members]
        figures = [figure for block in members for figure in _pictures(block)]
        if figures and kind is DecisionBlock:
            parts.append('#heading(level: 2, "Every ball")')
        if figures:
            parts.append(f"#figures({', '.join(f'[{_figure(one, picture_file)}]' for one in figures)})")
    return "\n".join(parts) + "\n"


def _paragraphs(run: list[Paragraph]) -> list[str]:
    """Write paragraphs that follow each other: a few keep together with what comes next, of many only the last does.

    Else a long list of sentences would be one piece that no page holds, and would leave the page before it empty.
    """
    loose = len(run) - 1 if len(run) > _HELD_TOGETHER else 0
    return [_paragraph(block, held=i >= loose) for i, block in enumerate(run)]


def _paragraph(block: Paragraph, *, held: bool = True) -> str:
    mark = f", mark: [{_mark(block.decision)}]" if block.decision else ""
    loose = "" if held or block.role != "body" else ", held: false"
    return f"#{block.role}({typst_string(block.text)}{mark}{loose})"


def _pictures(block: Block) -> list[Figure]:
    if isinstance(block, Figure):
        return [block]
    return [inner for inner in block.fold if isinstance(inner, Figure)] if isinstance(block, DecisionBlock) else []


def _one(block: Block, picture_file: PictureFile) -> str:  # noqa: PLR0911  (one return a kind of block)
    match block:
        case Heading():
            return f"#heading(level: {block.level - 1}, {typst_string(block.text)})"
        case Paragraph():
            return _paragraph(block)
        case Table():
            return _table(block)
        case DecisionBlock():
            return _decision(block, picture_file)
        case Answers():
            cells = (
                f"[{_mark(a.decision)}], [#strong({typst_string(f'{a.name}: {a.word}')}) #linebreak() "
                f"#soft({typst_string(a.detail)})],"
                for a in block.items
            )
            return f"#answers({''.join(cells)})"
        case Fold():
            inner = _blocks(block.blocks, picture_file)
            return f"#heading(level: 3, {typst_string(block.summary)})\n{inner}"
        case Caution():
            return f"#caution({typst_string(block.text)})"
        case Listing():
            return f"#list({''.join(f'[{_words(item)}], ' for item in block.items)})"
        case Facts():
            return f"#facts({''.join(f'{typst_string(k)}, {typst_string(v)}, ' for k, v in block.pairs)})"
        case Figure():
            return _figure(block, picture_file)


def _table(block: Table) -> str:
    columns = ", ".join("right" if i in block.numeric else "left" for i in range(len(block.head)))
    write = _head if _is_wide(block) else typst_string
    head = "".join(f"{write(cell)}, " for cell in block.head)
    rows = "".join(f"{typst_string(cell)}, " for row in block.rows for cell in row)
    return f"#numbers({typst_string(block.caption)}, ({columns},), ({head}), {rows})"


def _is_wide(block: Table) -> bool:
    """Say whether a table is wider than the page where every cell stands on one line, as far as letters tell."""
    longest = [max(map(len, column)) for column in zip_longest(block.head, *block.rows, fillvalue="")]
    return _LETTER_MM * sum(longest) + _GAP_MM * len(longest) > _PAGE_MM


def _head(cell: str) -> str:
    """Write the head of a column, a long one on two lines, so that its column is as wide as its cells."""
    blanks = [i for i, letter in enumerate(cell) if letter == " "]
    if len(cell) <= _LONGEST_HEAD or not blanks:
        return typst_string(cell)
    at = min(blanks, key=lambda i: abs(2 * i + 1 - len(cell)))
    return f"[{_words(cell[:at])} #linebreak() {_words(cell[at + 1 :])}]"


def _figure(block: Figure, picture_file: PictureFile) -> str:
    return f'#picture("{picture_file(block)}", {typst_string(block.alt)}, {typst_string(block.caption)})'


def _decision(block: DecisionBlock, picture_file: PictureFile) -> str:
    texts = [f"#value({typst_string(text)})" for text in block.sentences]
    texts += [f"#aside({typst_string(text)})" for text in block.asides]
    if block.next_step:
        texts.append(f"#next({typst_string(block.next_step)})")
    rest = tuple(inner for inner in block.fold if not isinstance(inner, Figure))
    strip = f"[{_figure(block.figure, picture_file)}]" if block.figure else "none"
    call = (
        f"#decision([{_mark(block.decision)}], {typst_string(f'{block.title}: {block.word}')}, "
        f"{typst_string(block.text)}, [{''.join(texts)}], {strip}, {'true' if rest else 'false'})"
    )
    return f"{call}\n#more[{_blocks(rest, picture_file)}]" if rest else call
