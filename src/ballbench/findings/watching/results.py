"""What filmed drops tell: frozen results. Times in s, heights in mm, speeds in m/s, places in px of the file.

Nothing here computes. `reading.py` fills these records, `words.py` says them in sentences.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.bouncing.results import BallBounce, BounceClause, BounceSettings, Spread
from ballbench.findings.footing import Footing
from ballbench.specs import Requirement

__all__ = ["DropFindings", "FilmedClip", "FilmedImpact", "Seen", "SizeCheck"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FilmedImpact:
    """One impact in a clip.

    Parameters
    ----------
    impact : int
        From 1.
    time : float
        s after the first picture; the same unknown part of a frame late in all.
    speed, speed_u : float
        With which the ball came.
    restitution : Spread
        Speed after over speed before.
    rebound : Spread
        How high its underside rose after it, mm.
    """

    impact: int
    time: float
    speed: float
    speed_u: float
    restitution: Spread
    rebound: Spread


@dataclass(frozen=True, slots=True)
class SizeCheck:
    """The scale by something else than gravity: what, mm a pixel, and how that compares: gravity's over it."""

    by: str
    scale: Spread
    ratio: Spread
    agrees: bool


@dataclass(frozen=True, slots=True)
class Seen:
    """The ball's way, for drawing.

    Parameters
    ----------
    times, heights : tuple of float
        Where the ball was found: s; mm of its underside above the plate.
    used : tuple of bool
        False: left out of the fit.
    by_hand : tuple of bool
        True: a person put it there.
    xs, ys : tuple of float
        The same places, px of the file's own pictures, turned upright.
    curve_times, curve_heights : tuple of float
        The fitted flights, drawn finely; NaN between them.
    width, height : float
        Of a picture, px.
    by_fit : callable or None
        Other places by the same fit: times, s, and places, px of the file's pictures, (n,) each, to the heights that
        they show and those at which the flights have the ball, mm, (n,) each; NaN where none is flown. None: no fit.
    """

    times: tuple[float, ...] = ()
    heights: tuple[float, ...] = ()
    used: tuple[bool, ...] = ()
    by_hand: tuple[bool, ...] = ()
    xs: tuple[float, ...] = ()
    ys: tuple[float, ...] = ()
    curve_times: tuple[float, ...] = ()
    curve_heights: tuple[float, ...] = ()
    width: float = 0.0
    height: float = 0.0
    by_fit: Callable[[Floats, Floats, Floats], tuple[Floats, Floats]] | None = field(
        default=None, compare=False, repr=False
    )


@dataclass(frozen=True, slots=True)
class FilmedClip:
    """One clip.

    Parameters
    ----------
    file, digest : str
        Its name, and ``"sha256:..."`` of its bytes; empty where it could not be opened.
    product, ball : str
        Whose drop it is.
    refused : str
        Why nothing is said, and what to do; else empty.
    rebound : Spread or None
        How high the ball's underside rose from the plate after the first impact, mm, as it was dropped.
    fell : Spread or None
        From how high it fell, reckoned from rest, mm.
    at_height : Spread or None
        The rebound from the drop height that was said, mm; None: none was said, or the ball fell from another height.
    impacts : tuple of FilmedImpact
        In the order of time.
    scale : Spread or None
        mm a pixel of the file's pictures, by gravity, at the plate.
    checks : tuple of SizeCheck
        The scale by the ball's breadth, by a ruler.
    tilt : float
        By how many per cent the scale changes along the fall.
    roll : float
        By how many degrees the fall leans in the picture.
    budget : tuple of (str, float)
        What brings the uncertainty of the rebound, mm, standard; the largest first.
    frames, in_flight, repeated, left_out : int
        Pictures of the clip, of the flights that were used, that show the one before again, that were left out.
    rate, scatter : float
        Pictures a second, by their times; SD of a place, mm.
    seconds : float
        Length of the clip.
    notes : tuple of str
        What a reader must know.
    by_hand : int
        Places that a person put there.
    seen : Seen
        For drawing.
    """

    file: str
    digest: str
    product: str
    ball: str
    refused: str = ""
    rebound: Spread | None = None
    fell: Spread | None = None
    at_height: Spread | None = None
    impacts: tuple[FilmedImpact, ...] = ()
    scale: Spread | None = None
    checks: tuple[SizeCheck, ...] = ()
    tilt: float = 0.0
    roll: float = 0.0
    budget: tuple[tuple[str, float], ...] = ()
    frames: int = 0
    in_flight: int = 0
    repeated: int = 0
    left_out: int = 0
    rate: float = 0.0
    scatter: float = 0.0
    seconds: float = 0.0
    notes: tuple[str, ...] = ()
    by_hand: int = 0
    seen: Seen = Seen()


@dataclass(frozen=True, slots=True)
class DropFindings:
    """What some clips tell of how balls rebound.

    Parameters
    ----------
    clips : tuple of FilmedClip
        In the order given.
    balls : tuple of BallBounce
        In the order seen; their rebound is that from the drop height that was said, and None without one.
    clauses : tuple of BounceClause
        Empty without a requirement.
    settings : BounceSettings
        What the flights were worked out with.
    ruler : float
        mm a pixel, as it was said; NaN: it was not.
    seed : int
        Of the simulation of uncertainty.
    requirement : Requirement or None
        What the balls were held against; None: nothing.
    footing : Footing
        What it rests on.
    marks_digest : str
        Of the file of marks; empty without one.
    sentences : tuple of str
        The answer in words.
    command : str
        The options that give this result again.
    """

    clips: tuple[FilmedClip, ...]
    balls: tuple[BallBounce, ...]
    clauses: tuple[BounceClause, ...]
    settings: BounceSettings
    ruler: float
    seed: int
    requirement: Requirement | None
    footing: Footing
    marks_digest: str = ""
    sentences: tuple[str, ...] = ()
    command: str = ""
