"""What the picture of balls in a vee shows, as plain data: one ball as it lay there, and the forms of all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ballbench.presentation.charts.axis_data import ValueAxis

__all__ = ["LobeDot", "LobeRow", "VeeChart"]


@dataclass(frozen=True, slots=True)
class LobeDot:
    """The form of one ball if it has so many lobes; `fits` is false where its readings rule that out."""

    form: float
    fits: bool


@dataclass(frozen=True, slots=True)
class LobeRow:
    """One number of lobes: the balls' forms, and a word where there is none to show, such as ``blind``."""

    lobes: int
    dots: tuple[LobeDot, ...]
    word: str = ""


@dataclass(frozen=True, slots=True)
class VeeChart:
    """A ball in a vee, and below it forms against lobes.

    Parameters
    ----------
    label : str
        Which ball is drawn.
    angle : float
        Between the flanks, degrees; 180 for a flat table.
    setting : str
        ``summit`` or ``rider``.
    lobes : int
        Drawn on the ball; 0: none, a round ball.
    moved : str
        By how much the indicator moved, as printed.
    remark : str
        How the drawing is meant.
    axis : ValueAxis
        The forms.
    rows : tuple of LobeRow
        From the top down.
    n_text : str
        How many balls stand behind it.
    """

    label: str
    angle: float
    setting: Literal["summit", "rider"]
    lobes: int
    moved: str
    remark: str
    axis: ValueAxis
    rows: tuple[LobeRow, ...]
    n_text: str
