"""What the picture of filmed drops shows, as plain data: the ball's height over time, clip by clip."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.charts.axis_data import Tick, ValueAxis

__all__ = ["FilmChart", "FilmDot", "FilmRow"]


@dataclass(frozen=True, slots=True)
class FilmDot:
    """Where the ball was seen: s, mm; ``used``, ``left out`` or ``by hand``."""

    time: float
    height: float
    look: str


@dataclass(frozen=True, slots=True)
class FilmRow:
    """One clip.

    Parameters
    ----------
    label, note : str
        Whose drop, and its rebound as printed.
    dots : tuple of FilmDot
        Times count from the first impact.
    curve : tuple of tuple of (float, float)
        Runs of time and height along the fitted flights.
    impacts : tuple of (float, str)
        Times, and what is printed there: the restitution.
    top : tuple of (float, float, str)
        Time, height and words at the top of the first rebound.
    """

    label: str
    note: str
    dots: tuple[FilmDot, ...]
    curve: tuple[tuple[tuple[float, float], ...], ...]
    impacts: tuple[tuple[float, str], ...]
    top: tuple[float, float, str]


@dataclass(frozen=True, slots=True)
class FilmChart:
    """Clips, a row each, on one scale of time and one of height.

    Parameters
    ----------
    axis : ValueAxis
        Time since the first impact, s.
    up : tuple of Tick
        Heights that are numbered, mm.
    highest : float
        Top of the height scale, mm.
    rows : tuple of FilmRow
        From the top down.
    n_text, remark : str
        How many drops and balls stand behind it, and a line under it.
    """

    axis: ValueAxis
    up: tuple[Tick, ...]
    highest: float
    rows: tuple[FilmRow, ...]
    n_text: str
    remark: str = ""
