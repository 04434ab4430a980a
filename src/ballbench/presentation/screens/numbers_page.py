"""Which number goes on which ball: the list for the person who marks them, before anything is read."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED
from ballbench.records.ball_test import BallTest

__all__ = ["MarkedBall", "NumbersPage", "numbers_html"]


@dataclass(frozen=True, slots=True)
class MarkedBall:
    """A ball of a box: its name there, and the number that is written on it for the test."""

    label: str
    number: str


@dataclass(frozen=True, slots=True)
class NumbersPage:
    """The list. Filled by ``workflows/keep.py``.

    Parameters
    ----------
    test : BallTest
        As set up.
    boxes : tuple of (str, tuple of MarkedBall)
        Make and box as a heading, and its balls in their order there.
    """

    test: BallTest
    boxes: tuple[tuple[str, tuple[MarkedBall, ...]], ...]


def numbers_html(data: NumbersPage) -> str:
    """Write the list; printed, it is a sheet to mark by."""
    body = write("numbers.html.j2", data=data, test=data.test)
    banner = INVENTED if data.test.invented else ""
    return page(f"Numbers: {data.test.title}", body, here="numbers", test=data.test, script="slip.js", banner=banner)
