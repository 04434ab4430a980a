"""How labels lie on their paper, in millimetres, as the person states it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ballbench.errors import BadRequest, Fault
from ballbench.presentation.sheets.paper import PAPERS, Paper, paper_named

__all__ = ["CupStrip", "LabelFormat", "check_format", "check_strip"]

_LEAST_WIDTH, _LEAST_HEIGHT = 15.0, 8.0
_MOST_ALONG = 40
_SLACK = 0.05  # mm: a sum of stated tenths may pass the edge by its rounding


@dataclass(frozen=True, slots=True)
class LabelFormat:
    """A sheet of labels; millimetres. The usual values are 24 round-cornered labels on A4 (own choice).

    Parameters
    ----------
    paper : str
        ``"a4"`` or ``"letter"``.
    columns, rows : int
        Labels across and down.
    width, height : float
        Of one label.
    left, top : float
        From the paper's edges to the first label.
    gap_across, gap_down : float
        Between labels.
    first : int
        The first label to print on, counted along the rows from 1: for a sheet of which some are used up.
    """

    paper: str = "a4"
    columns: int = 3
    rows: int = 8
    width: float = 64.0
    height: float = 34.0
    left: float = 7.0
    top: float = 12.5
    gap_across: float = 2.0
    gap_down: float = 0.0
    first: int = 1


@dataclass(frozen=True, slots=True)
class CupStrip:
    """Strips to cut out and lay under ball cups: the paper, and how far apart the cups stand, in millimetres."""

    paper: str = "a4"
    pitch: float = 46.0


def check_format(wanted: LabelFormat) -> Paper:
    """Refuse a format that cannot be, and give its paper.

    Raises
    ------
    BadRequest
        All that is wrong with it.
    """
    paper = paper_named(wanted.paper)
    faults = list(_label_faults(wanted)) or list(_edge_faults(wanted, paper))
    if faults:
        raise BadRequest(faults)
    return paper


def check_strip(wanted: CupStrip) -> Paper:
    """Refuse strips that cannot be, and give their paper.

    Raises
    ------
    BadRequest
        Cups stand too near for a number that can be read, or so far apart that none fits on the paper.
    """
    paper = paper_named(wanted.paper)
    if not 30.0 <= wanted.pitch <= 180.0:
        raise BadRequest(Fault("pitch", f"{wanted.pitch:g}", "30 to 180 mm from cup to cup", "measure again"))
    return paper


def _label_faults(wanted: LabelFormat) -> Iterator[Fault]:
    for name, count, most in (
        ("columns", wanted.columns, _MOST_ALONG), ("rows", wanted.rows, _MOST_ALONG),
        ("first", wanted.first, max(wanted.columns * wanted.rows, 1)),
    ):  # fmt: skip
        if not 1 <= count <= most:
            yield Fault(name, str(count), f"1 to {most}", "count again")
    longest = max(max(one.width, one.height) for one in PAPERS.values())
    for name, length, least in (
        ("width", wanted.width, _LEAST_WIDTH), ("height", wanted.height, _LEAST_HEIGHT), ("left", wanted.left, 0.0),
        ("top", wanted.top, 0.0), ("gap_across", wanted.gap_across, 0.0), ("gap_down", wanted.gap_down, 0.0),
    ):  # fmt: skip
        if not math.isfinite(length) or not least <= length <= longest:
            yield Fault(name, f"{length:g}", f"{least:g} to {longest:g} mm", "measure the sheet again")


def _edge_faults(wanted: LabelFormat, paper: Paper) -> Iterator[Fault]:
    across = wanted.left + wanted.columns * (wanted.width + wanted.gap_across) - wanted.gap_across
    down = wanted.top + wanted.rows * (wanted.height + wanted.gap_down) - wanted.gap_down
    for name, length, edge in (("columns", across, paper.width), ("rows", down, paper.height)):
        if length > edge + _SLACK:
            found = f"labels that end {length:.1f} mm from the edge"
            yield Fault(name, found, f"at most {edge:g} mm, the {paper.name} sheet", "measure the sheet again")
