"""What a press tells: frozen results. Lengths in mm, forces in N; every result holds for one rig alone.

Nothing here computes. `groups.py` and `clauses.py` fill these records, `words.py` says them in sentences.
"""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.footing import Footing
from ballbench.findings.results import Decision
from ballbench.physics.deformation import RIG_LABEL, PressGroup, PressReturn
from ballbench.specs import Limit, Requirement

__all__ = ["PressClause", "PressFindings", "PressGroupFound", "PressPair", "PressProduct", "ReturnFound"]


@dataclass(frozen=True, slots=True)
class PressGroupFound:
    """Balls of one product under one load, in one orientation and direction.

    Parameters
    ----------
    quantity : str
        ``deformation`` or ``hardness``.
    group : PressGroup
        Orientation, direction, load and preload, means, SD between balls, times, creep.
    low, high : float
        95 % interval of the mean of balls like these, from the scatter between balls; NaN for one ball.
    balls : tuple of (str, float)
        Each ball's mean.
    label : str
        `RIG_LABEL`.
    """

    quantity: str
    group: PressGroup
    low: float
    high: float
    balls: tuple[tuple[str, float], ...]
    label: str = RIG_LABEL


@dataclass(frozen=True, slots=True)
class ReturnFound:
    """Return less forward, paired by ball, with the 95 % interval of its mean; NaN for one ball."""

    quantity: str
    back: PressReturn
    low: float
    high: float
    label: str = RIG_LABEL


@dataclass(frozen=True, slots=True)
class PressProduct:
    """One product: its balls, readings, groups and returns."""

    product: str
    balls: int
    readings: int
    groups: tuple[PressGroupFound, ...]
    returns: tuple[ReturnFound, ...]


@dataclass(frozen=True, slots=True)
class PressPair:
    """Two products on the same rig under the same load.

    Parameters
    ----------
    a, b, quantity, orientation, direction, load_n, preload_n
        Which; the difference is a minus b.
    balls_a, balls_b : int
        How many.
    difference, low, high : float
        Of the means, with its 95 % interval (Welch); NaN where they are not compared, ends also where nothing scatters.
    p, p_adjusted : float
        Alone, and adjusted for all pairs of the file (Holm); NaN likewise.
    told_apart : bool
        After adjustment.
    reason : str
        Why they are not compared; empty where they are.
    label : str
        `RIG_LABEL`.
    """

    a: str
    b: str
    quantity: str
    orientation: str
    direction: str
    load_n: float
    preload_n: float
    balls_a: int
    balls_b: int
    difference: float
    low: float
    high: float
    p: float
    p_adjusted: float
    told_apart: bool
    reason: str = ""
    label: str = RIG_LABEL


@dataclass(frozen=True, slots=True)
class PressClause:
    """A product against a clause on deformation or hardness.

    Parameters
    ----------
    product, clause, text, seen : str
        Whose, which, and how its limits were seen.
    lower, upper : Limit or None
        Its limits.
    decision : str
        ``met``, ``not met``, ``undecided`` or ``not tested``.
    balls, read : int
        Balls read as the clause asks, and balls read in that direction at all.
    sample : str
        ``each`` ball, or the ``mean`` of the balls.
    value, u : float
        That of the ball nearest to or furthest beyond a limit, or the mean, with its standard uncertainty; NaN where
        it is not tested; its u is NaN where nothing is known of a ball's own scatter.
    outside : int
        Balls outside as read.
    reason : str
        Why it is not tested, or why a tested one is left undecided for want of repeats; empty elsewhere.
    label : str
        `RIG_LABEL`.
    """

    product: str
    clause: str
    text: str
    seen: str
    lower: Limit | None
    upper: Limit | None
    decision: Decision
    balls: int
    read: int
    sample: str
    value: float
    u: float
    outside: int
    reason: str = ""
    label: str = RIG_LABEL


@dataclass(frozen=True, slots=True)
class PressFindings:
    """All that a press's log told.

    Parameters
    ----------
    products, pairs, clauses : tuples
        In the order of the file; clauses are empty without a requirement, or where it has none on a press.
    readings : int
        Rows.
    readings_digest : str
        SHA-256 of the file.
    requirement : Requirement or None
        What the balls were held against; None: nothing.
    footing : Footing
        What it rests on.
    sentences : tuple of str
        The answer in words.
    label : str
        `RIG_LABEL`.
    """

    products: tuple[PressProduct, ...]
    pairs: tuple[PressPair, ...]
    clauses: tuple[PressClause, ...]
    readings: int
    readings_digest: str
    requirement: Requirement | None
    footing: Footing
    sentences: tuple[str, ...] = ()
    label: str = RIG_LABEL
