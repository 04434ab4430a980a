"""A page as a phone has it, and what everybody must be able to do with it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

__all__ = ["PATIENCE_MS", "everybody", "phone"]

PATIENCE_MS = 60_000
"""The first recording waits until its reader has loaded."""


@contextmanager
def phone(browser: Any, scheme: str = "light", width: int = 390) -> Iterator[tuple[Any, list[str]]]:
    """Open a page as a phone has it, and gather what its console complains of."""
    context = browser.new_context(
        viewport={"width": width, "height": 844}, color_scheme=scheme, has_touch=width < 500, is_mobile=width < 500
    )
    page, said = context.new_page(), []
    page.set_default_timeout(PATIENCE_MS)
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    try:
        yield page, said
    finally:
        context.close()


def everybody(page: Any) -> None:
    """No sideways scroll, nothing that axe finds, buttons that a finger hits, with everything on the page open."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="LEFT OUT: axe is not installed")
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    small = "[...document.querySelectorAll('main button')].filter(b => b.offsetHeight && b.offsetHeight < 43.5).length"
    assert page.evaluate(small) == 0
    found = axe.Axe().run(page, options={"resultTypes": ["violations"]})
    assert found.response["violations"] == [], found.generate_report()
