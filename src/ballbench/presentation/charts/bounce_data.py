"""What the pictures of bouncing show, as plain data: drops in time with their sound, restitution against speed."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.charts.axis_data import ValueAxis

__all__ = ["DropRow", "DropsChart", "SpeedChart", "SpeedDot"]


@dataclass(frozen=True, slots=True)
class DropRow:
    """One drop.

    Parameters
    ----------
    label, note : str
        Whose drop, and its rebound as printed.
    impacts : tuple of float
        s since the first.
    u : tuple of float
        Their standard uncertainties, s.
    heights : tuple of float
        Of the flights between them, mm; may be fewer than the gaps.
    texts : tuple of str
        At each impact: its restitution as printed; empty where there is none.
    sound : tuple of (float, float, float)
        Time, s since the first impact, and the lowest and highest sample around it, -1 to 1.
    by_hand : bool
        The impacts were picked by a person.
    """

    label: str
    note: str
    impacts: tuple[float, ...]
    u: tuple[float, ...]
    heights: tuple[float, ...]
    texts: tuple[str, ...]
    sound: tuple[tuple[float, float, float], ...]
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class DropsChart:
    """Drops, a row each, on one scale of time and one of height.

    Parameters
    ----------
    axis : ValueAxis
        Time, s.
    rows : tuple of DropRow
        From the top down.
    highest : float
        Highest flight of all, mm.
    n_text : str
        How many drops and balls stand behind it.
    remark : str
        A line under it.
    """

    axis: ValueAxis
    rows: tuple[DropRow, ...]
    highest: float
    n_text: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class SpeedDot:
    """One impact: its speed, m/s, and restitution with its interval; `first`: the speed is that of the drop height."""

    speed: float
    value: float
    low: float
    high: float
    first: bool


@dataclass(frozen=True, slots=True)
class SpeedChart:
    """Restitution upwards against impact speed across.

    Parameters
    ----------
    label : str
        Whose.
    across, up : ValueAxis
        Impact speed, and restitution.
    dots : tuple of SpeedDot
        One an impact.
    line : tuple of float
        Restitution at both ends of `line_speeds`; empty: none drawn.
    line_speeds : tuple of float
        m/s.
    n_text, remark : str
        What stands behind it, and a line under it.
    """

    label: str
    across: ValueAxis
    up: ValueAxis
    dots: tuple[SpeedDot, ...]
    line_speeds: tuple[float, ...]
    line: tuple[float, ...]
    n_text: str
    remark: str = ""
