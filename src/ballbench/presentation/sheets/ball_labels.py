"""Labels of a test's balls as data: which number stands where on the paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ballbench.presentation.sheets.ball_code import code_modules
from ballbench.presentation.sheets.label_format import CupStrip, LabelFormat, check_format, check_strip
from ballbench.presentation.sheets.paper import Paper

__all__ = ["CUP_WORDS", "LABEL_WORDS", "BallLabel", "LabelSheet", "cup_strips_of", "label_sheet_of"]

LABEL_WORDS = "Never on a place that is measured, and on no ball that is weighed: ink and labels are read with it."
"""Stands on every label sheet where its margin has room."""
CUP_WORDS = (
    "Cut along the lines and lay a strip under the cups: the number lies under the cup, and nothing sits on the ball. "
    "Ink and labels must never sit on a place that is measured, and they weigh."
)

_INSET = 3.0
_LEAST_MODULE = 0.33  # mm; smaller modules are lost on an office printer (own choice)
_EDGE = 10.0
_STRIP_TOP = 26.0
_MOST_RING, _BELOW = 80.0, 20.0
_SIDE_SHARE = 0.4


@dataclass(frozen=True, slots=True)
class BallLabel:
    """One label; millimetres.

    Parameters
    ----------
    number : str
        The ball's.
    page : int
        On which page, from 0.
    left, top : float
        Its corner, from the paper's edges.
    code : float
        Side of its code, quiet zone included; 0: it has no room for one.
    """

    number: str
    page: int
    left: float
    top: float
    code: float


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """All labels of a test.

    Parameters
    ----------
    title, mark : str
        The test's name, and the short mark on each label.
    paper : Paper
        What they lie on.
    width, height : float
        Of one label, mm.
    cups : bool
        Strips for cups: a ring where the cup stands, the number below it.
    words : str
        What is said at the head of each page; empty where there is no room.
    labels : tuple of BallLabel
        In the order of the balls.
    """

    title: str
    mark: str
    paper: Paper
    width: float
    height: float
    cups: bool
    words: str
    labels: tuple[BallLabel, ...]


def label_sheet_of(title: str, mark: str, numbers: Sequence[str], wanted: LabelFormat) -> LabelSheet:
    """Lay out labels.

    Parameters
    ----------
    title, mark : str
        The test's name and its short mark.
    numbers : sequence of str
        What is written on the balls, in the order of the labels.
    wanted : LabelFormat
        How labels lie on their paper.

    Raises
    ------
    BadRequest
        The format cannot be.
    """
    paper = check_format(wanted)
    side = min(wanted.height - _INSET, wanted.width * _SIDE_SHARE)
    labels = []
    for at, number in enumerate(numbers, wanted.first - 1):
        page, place = divmod(at, wanted.columns * wanted.rows)
        down, across = divmod(place, wanted.columns)
        left = wanted.left + across * (wanted.width + wanted.gap_across)
        top = wanted.top + down * (wanted.height + wanted.gap_down)
        labels.append(BallLabel(number, page, left, top, _code_side(number, side)))
    words = LABEL_WORDS if wanted.top >= 7.0 else ""
    return LabelSheet(title, mark, paper, wanted.width, wanted.height, False, words, tuple(labels))


def cup_strips_of(title: str, mark: str, numbers: Sequence[str], wanted: CupStrip) -> LabelSheet:
    """Lay out strips for cups: as many cups a strip as the paper has room for, and strips one below the other.

    Raises
    ------
    BadRequest
        The strips cannot be.
    """
    paper = check_strip(wanted)
    columns = max(1, int((paper.width - 2.0 * _EDGE) // wanted.pitch))
    height = min(wanted.pitch, _MOST_RING) + _BELOW
    rows = max(1, int((paper.height - _STRIP_TOP - _EDGE) // height))
    left = (paper.width - columns * wanted.pitch) / 2.0
    labels = []
    for at, number in enumerate(numbers):
        page, place = divmod(at, columns * rows)
        down, across = divmod(place, columns)
        top = _STRIP_TOP + down * height
        labels.append(BallLabel(number, page, left + across * wanted.pitch, top, _code_side(number, 18.0)))
    return LabelSheet(title, mark, paper, wanted.pitch, height, True, CUP_WORDS, tuple(labels))


def _code_side(number: str, room: float) -> float:
    """Give the side of a ball's code; 0 where its modules would be too small to be read."""
    return room if room / code_modules(number) >= _LEAST_MODULE else 0.0
