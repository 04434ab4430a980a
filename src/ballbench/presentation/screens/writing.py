"""One way of writing the pages: every template escapes what it is given and stops at a name it does not know."""

from __future__ import annotations

from functools import cache

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from ballbench.presentation.charts.rendering import render
from ballbench.presentation.document import Figure
from ballbench.presentation.marks import mark_svg
from ballbench.presentation.page import grouped
from ballbench.presentation.screens.moments import day_words, moment_words
from ballbench.presentation.typography import breakable, knit
from ballbench.presentation.wording import plural

__all__ = ["write"]


def write(template: str, **data: object) -> Markup:
    """Write one template of the pages, or of the report.

    Parameters
    ----------
    template : str
        Its file in ``screens/templates`` or ``presentation/templates``.
    data : object
        What it names. Text is escaped, and a number stays on one line with its unit; what goes into a form field
        passes the filter ``e``, so that it comes back as it was.

    Returns
    -------
    Markup
        HTML.

    Raises
    ------
    jinja2.UndefinedError
        The template names something that was not given.
    """
    return Markup(_environment().get_template(template).render(**data))  # noqa: S704  (the template escaped it)


@cache
def _environment() -> Environment:
    package = "ballbench.presentation"
    made = Environment(
        loader=ChoiceLoader([PackageLoader(package, "screens/templates"), PackageLoader(package)]),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda value: knit(value) if type(value) is str else value,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(breakable=breakable, day=day_words, moment=moment_words)
    made.globals.update(picture=_picture, mark=_mark, grouped=grouped, plural=plural)
    return made


def _picture(figure: Figure) -> Markup:
    return Markup(render(figure.chart).inline_svg(figure.alt))  # noqa: S704  (vl-convert and `escape` escaped it)


def _mark(decision: str) -> Markup:
    return Markup(mark_svg(decision))  # noqa: S704  (built from numbers and tokens alone)
