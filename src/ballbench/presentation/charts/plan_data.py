"""What the pictures of a plan show, as plain data: trays of growing size, how tests end, chances over a grid."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.charts.axis_data import Tick, ValueAxis

__all__ = ["Ending", "EndingChart", "EndingRow", "GridChart", "GridLimit", "Tray", "TrayChart"]


@dataclass(frozen=True, slots=True)
class Tray:
    """A tray of balls.

    Parameters
    ----------
    label : str
        How many balls.
    lines : tuple of str
        How they are read, the time, the chance: a line each.
    balls, filled : int
        Balls drawn, and how many of them filled.
    word : str
        What the tray comes to; empty: nothing.
    chosen : bool
        Whether it is the one.
    """

    label: str
    lines: tuple[str, ...]
    balls: int
    filled: int
    word: str = ""
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class TrayChart:
    """Trays, one below the other, all their balls of one size."""

    trays: tuple[Tray, ...]
    n_text: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Ending:
    """One way in which a test ends: its chance, 0 to 1, the word, the chance as printed, and its interval."""

    chance: float
    word: str
    text: str
    span: str


@dataclass(frozen=True, slots=True)
class EndingRow:
    """How tests of one design end: inside the limit, on it, beyond it; areas of balls are chances."""

    label: str
    note: str
    met: Ending
    undecided: Ending
    not_met: Ending
    stressed: bool = False


@dataclass(frozen=True, slots=True)
class EndingChart:
    """How tests end, a row a design."""

    rows: tuple[EndingRow, ...]
    n_text: str


@dataclass(frozen=True, slots=True)
class GridLimit:
    """A limit among the values across, and what is printed at it."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class GridChart:
    """Chances over a grid: a ball a place, its area the chance, the number below it.

    Parameters
    ----------
    axis : ValueAxis
        Spans the columns.
    columns : tuple of float
        Values across.
    rows : tuple of Tick
        From the top down, with their printed numbers.
    row_name : str
        What the rows are.
    chances : tuple of tuple of float
        For each row the chance in each column, 0 to 1.
    limits : tuple of GridLimit
        That lie within the columns.
    remark : str
        A line below.
    n_text : str
        What stands behind it.
    """

    axis: ValueAxis
    columns: tuple[float, ...]
    rows: tuple[Tick, ...]
    row_name: str
    chances: tuple[tuple[float, ...], ...]
    limits: tuple[GridLimit, ...]
    remark: str
    n_text: str
