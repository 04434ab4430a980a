"""The frame of every page: head, menu, main part and foot, with nothing loaded from anywhere else."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from markupsafe import Markup

import ballbench
from ballbench.findings.cautions import STANDING
from ballbench.presentation.screens.writing import write

__all__ = ["HeadTest", "page"]


class HeadTest(Protocol):
    """The test that a page belongs to; a `BallTest` is one."""

    @property
    def id(self) -> int:
        """Its number in the notebook."""

    @property
    def title(self) -> str:
        """The person's own name for it."""

    @property
    def purpose(self) -> str:
        """``repeat study``, or empty where balls are judged."""


_ALWAYS = (
    ("home", "Home", "/"), ("library", "Past tests", "/tests"), ("quick", "Quick check", "/quick"),
    ("instruments", "Qualify", "/qualify"), ("plan", "Plan", "/plan"),
)  # fmt: skip
_OF_A_TEST = (("measure", "Measure"), ("judge", "Judge"), ("compare", "Compare"))
_OF_A_STUDY = (("measure", "Measure"), ("qualify", "Qualify"))


def page(
    title: str,
    body: Markup,
    *,
    here: str,
    test: HeadTest | None = None,
    script: str | Iterable[str] | None = None,
    banner: str = "",
    style: str | None = None,
) -> str:
    """Put a page's body into the frame.

    Parameters
    ----------
    title : str
        Of the page, for the browser's tab; the body holds the heading of level 1.
    body : Markup
        HTML of the main part, written by a template.
    here : str
        Which page: ``home``, ``library``, ``quick``, ``instruments``, ``plan``, and of a test ``measure``,
        ``judge``, ``compare``, ``qualify`` are marked in the menu, ``test`` marks the test's own name; any other word
        marks nothing. The body element has the class ``at-`` and the word.
    test : HeadTest or None
        The test that the page belongs to; its steps then stand in the menu.
    script : str or iterable of str or None
        JavaScript modules in ``static``, such as ``"set_up.js"`` or ``"measure/bench.js"``.
    banner : str
        A line above everything, such as that the data are invented; empty: none.
    style : str or None
        One more style sheet in ``static``, such as ``"measure.css"``.

    Returns
    -------
    str
        The whole page.
    """
    scripts = (script,) if isinstance(script, str) else tuple(script or ())
    own = _OF_A_STUDY if test and test.purpose else _OF_A_TEST
    steps = [(word, label, f"/tests/{test.id}/{word}") for word, label in own] if test else []
    return str(
        write(
            "frame.html.j2",
            title=title,
            body=body,
            here=here,
            test=test,
            always=_ALWAYS,
            steps=steps,
            scripts=scripts,
            banner=banner,
            style=style,
            standing=STANDING,
            version=ballbench.__version__,
        )
    )
