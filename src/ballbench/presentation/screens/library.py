"""Past tests, with search."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import plural

__all__ = ["LibraryPage", "TestLine", "library_html"]


@dataclass(frozen=True, slots=True)
class TestLine:
    """One test in a list. Filled by ``workflows/keep.py``; also the items of ``GET /api/tests``.

    Parameters
    ----------
    id : int
        In the notebook.
    title, requirement_title : str
        Its own name, and what it is held against.
    makes : tuple of str
        Whose balls; empty while a blind test is under way.
    balls, read, planned : int
        Counts of balls, and of places of balls that hold a reading which stands, and in all.
    stage : str
        ``set up``, ``under way`` or ``finished``.
    set_up : str
        ISO 8601.
    finished : str
        ISO 8601; empty: it is not.
    by : tuple of str
        Who set it up and who took readings.
    blind, invented : bool
        As set up.
    """

    id: int
    title: str
    requirement_title: str
    makes: tuple[str, ...]
    balls: int
    read: int
    planned: int
    stage: str
    set_up: str
    finished: str = ""
    by: tuple[str, ...] = ()
    blind: bool = False
    invented: bool = False


@dataclass(frozen=True, slots=True)
class LibraryPage:
    """The library. Filled by ``workflows/keep.py``.

    Parameters
    ----------
    search : str
        What was looked for, in title, make, requirement or person; empty: everything.
    tests : tuple of TestLine
        What was found, the newest first.
    in_all : int
        How many tests the notebook holds.
    """

    search: str
    tests: tuple[TestLine, ...]
    in_all: int


def library_html(data: LibraryPage) -> str:
    """Write the page of past tests."""
    body = write("library.html.j2", data=data, found=_found(data))
    return page("Past tests", body, here="library")


def _found(data: LibraryPage) -> str:
    if data.in_all == 0:
        return "The notebook holds no test yet."
    if not data.search:
        return f"{plural(data.in_all, 'test')}, the newest first."
    return f"{len(data.tests)} of {plural(data.in_all, 'test')} with “{data.search}”."
