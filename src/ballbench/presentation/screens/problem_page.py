"""What cannot be done, as a page: the same words that the interface for programs gives."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.errors import Fault
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write

__all__ = ["ProblemPage", "problem_html"]


@dataclass(frozen=True, slots=True)
class ProblemPage:
    """A problem. Filled by ``web`` with what its JSON answer would hold.

    Parameters
    ----------
    status : int
        Of the answer, such as 404 no such thing, 403 not paired, 421 wrong name of this computer.
    title : str
        Such as ``"This cannot be used"``.
    faults : tuple of Fault
        Where, what was found, what is allowed, what to do.
    """

    status: int
    title: str
    faults: tuple[Fault, ...]


def problem_html(data: ProblemPage) -> str:
    """Write a problem as a page."""
    return page(data.title, write("problem.html.j2", data=data), here="problem")
