"""The tray: every ball of a test as a circle with its number, filling as its readings arrive."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import plural

__all__ = ["BallFill", "full_balls", "tray_html"]

_MOST_PIECES = 12  # more than this are no longer told apart in a small circle (own choice)
_MIDDLE, _RADIUS = 24.0, 17.5
_GAP = 0.16  # between two pieces of the skin, radians (own choice)
_MOST_SHOWN = 48  # in a miniature; a larger tray says how many more there are (own choice)


@dataclass(frozen=True, slots=True)
class BallFill:
    """How far one ball is read.

    Parameters
    ----------
    number : str
        As written on it for this test, `Ball.number`.
    read, planned : int
        Places of it that hold a standing reading, and places in all.
    box : str
        Make and box as a heading, such as ``"Curlew, C-1"``; empty while they are hidden.
    """

    number: str
    read: int
    planned: int
    box: str = ""


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A ball in a square of 48: its number, whether it is full, and the pieces of its skin that are read and not."""

    number: str
    full: bool
    read: str
    left: str


def full_balls(balls: Sequence[BallFill]) -> int:
    """Count the balls of which everything planned is read."""
    return sum(ball.read >= ball.planned > 0 for ball in balls)


def tray_html(balls: Sequence[BallFill], *, small: bool, words: str = "") -> Markup:
    """Draw a tray.

    Parameters
    ----------
    balls : sequence of BallFill
        In the order in which they lie there; those of one box follow each other.
    small : bool
        A miniature: without boxes, and with the first 48 balls only.
    words : str
        What a picture says to those who do not see it; empty: how many of its balls are fully read.

    Returns
    -------
    Markup
        Pictures with words for those who do not see them.
    """
    shown = balls[:_MOST_SHOWN] if small else balls
    boxes = [("", shown)] if small else [(name, list(run)) for name, run in groupby(shown, key=lambda ball: ball.box)]
    return write(
        "tray.html.j2",
        boxes=[(name, words or _words(members), [_drawn(ball) for ball in members]) for name, members in boxes],
        small=small,
        more=len(balls) - len(shown),
    )


def _words(balls: Sequence[BallFill]) -> str:
    begun = sum(0 < ball.read < ball.planned for ball in balls)
    words = f"{full_balls(balls)} of {plural(len(balls), 'ball')} fully read"
    return f"{words}, {begun} begun" if begun else words


def _drawn(ball: BallFill) -> _Drawn:
    pieces = min(ball.planned, _MOST_PIECES)
    filled = 0 if ball.planned == 0 else math.floor(pieces * min(ball.read / ball.planned, 1.0))
    if 0 < ball.read < ball.planned:
        filled = min(max(filled, 1), pieces - 1)
    arcs = [_arc(i, pieces) for i in range(pieces)]
    return _Drawn(ball.number, ball.read >= ball.planned > 0, "".join(arcs[:filled]), "".join(arcs[filled:]))


def _arc(i: int, pieces: int) -> str:
    """One piece of the skin as an SVG path, clockwise from the top; a single piece goes nearly all around."""
    begin = 2.0 * math.pi * i / pieces + _GAP / 2.0
    end = 2.0 * math.pi * (i + 1) / pieces - _GAP / 2.0
    x, y, u, v = (_MIDDLE + _RADIUS * f for f in (math.sin(begin), -math.cos(begin), math.sin(end), -math.cos(end)))
    return f"M{x:.1f} {y:.1f}A{_RADIUS} {_RADIUS} 0 {int(end - begin > math.pi)} 1 {u:.1f} {v:.1f}"
