"""What the pictures of a qualification show, as plain data: a ruler of what can be told, checks, the line of errors."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.charts.axis_data import Tick, ValueAxis

__all__ = [
    "CalibrationChart",
    "CheckChart",
    "CheckGroup",
    "CheckSpot",
    "LinePoint",
    "Piece",
    "RulerChart",
    "RulerMark",
    "Window",
]


@dataclass(frozen=True, slots=True)
class RulerMark:
    """A difference that can just be told.

    Parameters
    ----------
    label : str
        How the balls are read.
    text : str
        The difference as printed.
    value, high : float
        The difference, and where it may really lie, since the noise is itself known only so well; in the unit.
    """

    label: str
    text: str
    value: float
    high: float


@dataclass(frozen=True, slots=True)
class Window:
    """The room that a requirement leaves a single ball, and one reading in it: both in the unit, on one scale."""

    room: float
    expanded: float
    text: str
    reading_text: str


@dataclass(frozen=True, slots=True)
class RulerChart:
    """A ruler along which two balls draw apart.

    Parameters
    ----------
    unit : str
        Of everything.
    name : str
        What runs along it.
    end : float
        Its length; it begins at 0.
    told : float
        From here on two balls can be told apart.
    ticks : tuple of Tick
        Its numbers.
    marks : tuple of RulerMark
        The first is that of `told`; one may lie beyond the end.
    window : Window or None
        None without a requirement.
    n_text : str
        What stands behind it.
    """

    unit: str
    name: str
    end: float
    told: float
    ticks: tuple[Tick, ...]
    marks: tuple[RulerMark, ...]
    window: Window | None
    n_text: str


@dataclass(frozen=True, slots=True)
class CheckSpot:
    """One check: when, reading less piece, between what it may lie, as printed, and where the drift passes."""

    when: str
    error: float
    low: float
    high: float
    text: str
    passed: bool
    drift: float | None = None


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """The checks on one piece, in the order of time; `remark` says of a drift beyond noise, else it is empty."""

    piece: str
    note: str
    spots: tuple[CheckSpot, ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class CheckChart:
    """Checks piece by piece, time down the page, errors across; those beyond the axis stand at its edge."""

    axis: ValueAxis
    groups: tuple[CheckGroup, ...]
    n_text: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A reference piece: its name, its size, the mean error there and that of each reading."""

    name: str
    size: float
    mean: float
    errors: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LinePoint:
    """The line of errors at one size, with its 95 % interval."""

    size: float
    error: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CalibrationChart:
    """An instrument's error, sizes down the page as along its beam, errors across.

    Parameters
    ----------
    axis : ValueAxis
        The errors.
    pieces : tuple of Piece
        From the smallest up.
    line : tuple of LinePoint
        From the lower limit of use to the upper.
    balls : LinePoint
        At the size of the balls.
    balls_text, low_text, high_text : str
        Words at the balls and at the limits of use.
    remark : str
        A line below.
    n_text : str
        What stands behind it.
    """

    axis: ValueAxis
    pieces: tuple[Piece, ...]
    line: tuple[LinePoint, ...]
    balls: LinePoint
    balls_text: str
    low_text: str
    high_text: str
    remark: str
    n_text: str
