"""A document becomes one HTML file that loads nothing: own style, inline pictures, no script."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from itertools import groupby

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from ballbench.presentation.charts.rendering import Picture, render
from ballbench.presentation.document import Block, Document, Figure
from ballbench.presentation.marks import mark_svg
from ballbench.presentation.tokens import DARK, LIGHT, css_tokens
from ballbench.presentation.typography import breakable, knit

__all__ = ["grouped", "page_html"]


def page_html(document: Document, pictures: dict[int, Picture] | None = None) -> str:
    """Write a document as one self-contained page.

    Parameters
    ----------
    document : Document
        The report.
    pictures : dict or None
        Pictures by the ``id`` of their chart, shared with other renderings of the same document; filled as needed.

    Returns
    -------
    str
        HTML that follows the reader's light or dark setting, works without script and loads nothing from anywhere.
    """
    made: dict[int, Picture] = {} if pictures is None else pictures

    def picture(figure: Figure) -> Markup:
        drawn = made.setdefault(id(figure.chart), render(figure.chart))
        return Markup(drawn.inline_svg(figure.alt))  # noqa: S704  (vl-convert escapes the chart's text, `escape` the alt)

    def mark(decision: str) -> Markup:
        return Markup(mark_svg(decision))  # noqa: S704  (built from numbers and tokens alone)

    environment = Environment(
        loader=PackageLoader("ballbench.presentation"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda value: knit(value) if type(value) is str else value,
    )
    environment.filters["breakable"] = breakable
    css = resources.files("ballbench.presentation").joinpath("templates/page.css").read_text(encoding="utf-8")
    environment.globals.update(picture=picture, mark=mark, grouped=grouped)
    return environment.get_template("page.html.j2").render(
        document=document,
        light=Markup(css_tokens(LIGHT)),  # noqa: S704  (our own constants)
        dark=Markup(css_tokens(DARK)),  # noqa: S704  (our own constants)
        css=Markup(css),  # noqa: S704  (our own file)
    )


def grouped(blocks: Sequence[Block]) -> list[list[Block]]:
    """Put figures that follow each other into one group, to stand side by side; every other block is its own."""
    groups: list[list[Block]] = []
    for are_figures, run in groupby(blocks, key=lambda block: isinstance(block, Figure)):
        members = list(run)
        groups += [members] if are_figures else [[block] for block in members]
    return groups
