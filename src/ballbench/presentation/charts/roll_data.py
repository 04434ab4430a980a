"""What the pictures of balance show, as plain data: two tracks on a ramp seen from above, and a bar for each ball."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.charts.axis_data import ValueAxis

__all__ = ["RampTracks", "RollChart", "RollLine"]


@dataclass(frozen=True, slots=True)
class RampTracks:
    """One axis of a ball rolled both ways, seen from above.

    Parameters
    ----------
    label : str
        Which ball and axis.
    placed, turned : float
        Veer at the read line, mm, to the right as seen going down.
    slope, run_out : float
        Lengths, mm.
    bend : float
        Share of the veer at the foot of the slope: it goes straight down to there, and bends on the flat.
    remark : str
        How the drawing is meant.
    """

    label: str
    placed: float
    turned: float
    slope: float
    run_out: float
    bend: float
    remark: str


@dataclass(frozen=True, slots=True)
class RollLine:
    """One ball: its interval and value, what noise or chance alone would show, and the numbers as printed.

    Parameters
    ----------
    group, label : str
        Product and ball.
    low, value, high : float
        In the unit of the axis.
    text : str
        Printed at the right.
    told : bool
        Filled where told from nothing, or from chance.
    chance : float
        A mark to compare with: what chance alone would show; NaN: none.
    """

    group: str
    label: str
    low: float
    value: float
    high: float
    text: str
    told: bool
    chance: float


@dataclass(frozen=True, slots=True)
class RollChart:
    """Balls in lines over one axis, under the tracks of one of them.

    Parameters
    ----------
    tracks : RampTracks or None
        None where no ramp was rolled.
    axis : ValueAxis
        Across.
    lines : tuple of RollLine
        From the top down.
    n_text : str
        How many balls stand behind it.
    remark : str
        How the lines are meant.
    """

    tracks: RampTracks | None
    axis: ValueAxis
    lines: tuple[RollLine, ...]
    n_text: str
    remark: str
