from __future__ import annotations

import doctest
from pathlib import Path

import pytest

PAGES = Path(__file__).resolve().parents[2] / "docs" / "methods"
HERE = (
    "uncertainty", "tolerance-intervals", "counts", "outliers", "two-samples", "conformity", "repeat-study",
    "calibration-line", "operating-characteristic", "sampling-plans",
)  # fmt: skip


@pytest.mark.parametrize("page", sorted(PAGES.glob("*.md")), ids=lambda page: page.stem)
def test_the_examples_of_a_method_page_print_what_the_page_says(page: Path) -> None:
    """Every worked example of the page runs and prints exactly what stands below it."""
    failed, attempted = doctest.testfile(str(page), module_relative=False, optionflags=doctest.ELLIPSIS)
    assert failed == 0
    assert attempted > 0 or page.stem not in HERE


@pytest.mark.parametrize("name", HERE)
def test_a_method_page_says_where_its_formula_comes_from_and_where_it_holds(name: str) -> None:
    """Each page has a formula with its source, a range of validity and a worked example."""
    text = (PAGES / f"{name}.md").read_text(encoding="utf-8")
    assert "## Where it holds" in text
    assert "## Worked example" in text
    assert any(source in text for source in ("JCGM", "ISO", "NIST"))
