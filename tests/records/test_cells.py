from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ballbench.records.cells import guarded, unguarded

LEADS = "=+-@\t\r\n"
"""What a spreadsheet takes for the beginning of a formula (OWASP, "CSV Injection", from memory)."""


@given(st.text() | st.text(alphabet="'=+-@\t\r\na1 ", max_size=6))
def test_a_guarded_text_runs_nowhere_and_comes_back(text: str) -> None:
    """Whatever the text, the cell begins with no such character, and the text is given back to the letter."""
    cell = guarded(text)
    assert not cell.startswith(tuple(LEADS))
    assert unguarded(cell) == text


@given(st.text() | st.text(alphabet="'=+-@\t\r\na1 ", max_size=6))
def test_only_what_needs_it_is_guarded(text: str) -> None:
    """A text is changed only where it, less its leading apostrophes, would run; then by one apostrophe before it."""
    runs = text.lstrip("'")[:1] in tuple(LEADS)
    assert guarded(text) == ("'" + text if runs else text)


@given(st.text(alphabet="'=+-@\t\r\na1 ", max_size=6), st.text(alphabet="'=+-@\t\r\na1 ", max_size=6))
def test_two_texts_never_become_one_cell(one: str, other: str) -> None:
    """Names that were told apart stay apart in the file."""
    assert (guarded(one) == guarded(other)) == (one == other)


@pytest.mark.parametrize("text", ["Curlew", "C-1", "O'Neil", "'quoted'", "", "a=b", "1+1", " =1"])
def test_ordinary_names_stay_as_they_are(text: str) -> None:
    """Nothing stands before a name that no spreadsheet would run."""
    assert guarded(text) == unguarded(text) == text
