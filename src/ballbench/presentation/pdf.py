"""A document becomes a PDF through Typst: the same blocks as the page, the pictures put in as vector PDF."""

from __future__ import annotations

import tempfile
from importlib import resources
from pathlib import Path

import typst

from ballbench.presentation.charts.rendering import Picture, render
from ballbench.presentation.document import Document, Figure
from ballbench.presentation.marks import MARKS, mark_svg
from ballbench.presentation.tokens import LIGHT
from ballbench.presentation.typst_text import mark_file, typst_source

__all__ = ["pdf_bytes"]

_PRINT = {**LIGHT, "paper": "#ffffff", "card": "#ffffff"}


def pdf_bytes(document: Document, pictures: dict[int, Picture] | None = None) -> bytes:
    """Write a document as PDF.

    Parameters
    ----------
    document : Document
        The report.
    pictures : dict or None
        Pictures by the ``id`` of their chart, shared with other renderings of the same document; filled as needed.

    Returns
    -------
    bytes
        A tagged PDF on A4 whose pictures carry their words; its metadata hold no date, so that the same document gives
        the same metadata. Letters outside the bundled typeface need a typeface of the machine.
    """
    made: dict[int, Picture] = {} if pictures is None else pictures
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)

        def picture_file(figure: Figure) -> str:
            file = f"picture-{len(list(folder.glob('picture-*')))}.pdf"
            drawn = made.setdefault(id(figure.chart), render(figure.chart))
            (folder / file).write_bytes(drawn.pdf)
            return file

        style = resources.files("ballbench.presentation").joinpath("templates/report.typ").read_text(encoding="utf-8")
        for token, colour in _PRINT.items():
            style = style.replace(f"@{token}@", colour)
        for decision in MARKS:
            (folder / mark_file(decision)).write_text(mark_svg(decision, _PRINT), encoding="utf-8")
        source = folder / "report.typ"
        source.write_text(typst_source(document, style, picture_file), encoding="utf-8", errors="backslashreplace")
        compiled: bytes = typst.compile(str(source), root=str(folder), format="pdf", timestamp=0)
    return compiled
