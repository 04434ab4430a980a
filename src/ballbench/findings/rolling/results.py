"""What balls on a ramp, and balls that come to rest by themselves, tell of balance: frozen results.

Nothing here computes. Lengths in mm, angles in degrees, the lean of a ramp in mrad. `offsets.py`,
`clauses.py` and `spots.py` fill these records, `words.py` and `spot_words.py` say them in sentences.
"""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.footing import Footing
from ballbench.findings.results import Decision
from ballbench.specs import Limit, Requirement

__all__ = [
    "AxisOffset",
    "BallOffset",
    "RampLean",
    "RampShape",
    "RollClause",
    "RollFindings",
    "RollNoise",
    "RollPair",
    "RollProduct",
    "SpotBall",
    "SpotCount",
]


@dataclass(frozen=True, slots=True)
class RollNoise:
    """How single runs scatter.

    Parameters
    ----------
    sd, dof : float
        SD of the veer of one run, mm, with its degrees of freedom; NaN and 0 where nothing is known of it.
    origin : str
        ``repeats``, ``repeats and turnings``, ``turnings``, ``stated`` or ``unknown``.
    p_steady : float
        Chance that half-sums scatter so much beside the repeats if the ramp stood still; NaN: not known.
    """

    sd: float
    dof: float
    origin: str
    p_steady: float


@dataclass(frozen=True, slots=True)
class RampLean:
    """The lean of the ramp in one sitting, taken out by turning the balls.

    Parameters
    ----------
    sitting : str
        Its name; may be empty.
    lean, low, high : float
        Sideways, mrad, positive to the right as seen going down; 95 %. NaN ends where the scatter is not known.
    veer : float
        What it does at the read line, mm.
    like_offset : float
        The offset, mm, that every ball would seem to have by it if no ball were turned.
    turnings : int
        Axes of balls that were rolled both ways.
    """

    sitting: str
    lean: float
    low: float
    high: float
    veer: float
    like_offset: float
    turnings: int


@dataclass(frozen=True, slots=True)
class RampShape:
    """The ramp that a ball was rolled on.

    Parameters
    ----------
    slope, run_out : float
        Lengths, mm.
    angle : float
        Degrees.
    foot : float
        Share of the veer that a ball has at the foot of the slope.
    """

    slope: float
    run_out: float
    angle: float
    foot: float


@dataclass(frozen=True, slots=True)
class AxisOffset:
    """One axis of a ball.

    Parameters
    ----------
    axis : str
        ``A``, ``B`` or ``C``.
    placed, turned : int
        Runs with the mark on the right, and with the ball turned.
    veer, veer_u : float
        Half the difference of the two, mm: the ball's own veer at the read line, and its standard uncertainty by noise.
        NaN where it was rolled on several ramps or in several sittings.
    half_sum : float
        Half the sum of the two, mm: what the lean of the ramp did. NaN likewise.
    offset, offset_u : float
        Of the mass centre along the axis, towards the mark, mm, and its standard uncertainty by noise.
    low, high : float
        Offset, 95 %, the uncertainty of ramp and ball reckoned in.
    reason : str
        Why there is none; empty where there is.
    """

    axis: str
    placed: int
    turned: int
    veer: float
    veer_u: float
    half_sum: float
    offset: float
    offset_u: float
    low: float
    high: float
    reason: str = ""


@dataclass(frozen=True, slots=True)
class BallOffset:
    """One ball.

    Parameters
    ----------
    ball : str
        Its name.
    axes : tuple of AxisOffset
        Those rolled, A before B before C.
    raw : float
        Length of the three noisy components, mm: too long on average. NaN where an axis is missing.
    offset, low, high : float
        The same freed of noise, with its 95 % interval; `low` is 0 where no offset is told. NaN likewise.
    p : float
        Chance of so long a `raw` by noise alone; NaN likewise.
    told : bool
        The interval excludes 0.
    scale_u : float
        Relative standard uncertainty that ramp and ball bring to every offset.
    marks_u : float
        The same of marks that are a little off, of this one; NaN where there is no length.
    heavy : tuple of float
        Degrees of arc from the marks of A, B, C to the heavy spot; empty where its direction is not known.
    cone : float
        The heavy spot lies within so many degrees of that, 95 %; NaN where its direction is not known.
    worst, worst_low, worst_high : float
        Veer at the read line if the ball span about the axis of its offset, mm; NaN with several ramps.
    ramp : RampShape or None
        None with several ramps.
    reason : str
        Why there is no length; empty where there is.
    """

    ball: str
    axes: tuple[AxisOffset, ...]
    raw: float
    offset: float
    low: float
    high: float
    p: float
    told: bool
    scale_u: float
    marks_u: float
    heavy: tuple[float, ...]
    cone: float
    worst: float
    worst_low: float
    worst_high: float
    ramp: RampShape | None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class RollProduct:
    """One product's balls in the order of the file.

    Parameters
    ----------
    product : str
        Its name.
    balls : tuple of BallOffset
        All that were rolled.
    whole : int
        Those rolled about three axes both ways.
    told : tuple of str
        Balls whose offset is told from none.
    median : float
        Of the offsets freed of noise, mm; NaN where `whole` is 0.
    largest : str
        The ball with the largest offset; empty likewise.
    spoiled : int
        Spoiled attempts.
    """

    product: str
    balls: tuple[BallOffset, ...]
    whole: int
    told: tuple[str, ...]
    median: float
    largest: str
    spoiled: int


@dataclass(frozen=True, slots=True)
class RollPair:
    """Two products held against each other: lengths of the offsets as rolled, noise in both alike.

    Parameters
    ----------
    a, b : str
        The products.
    balls_a, balls_b : int
        Balls with three axes.
    difference, low, high : float
        Mean length of `a` less that of `b`, mm, 95 % (Welch).
    p, p_adjusted : float
        Of Welch's test, and after Holm over all pairs.
    p_ranks : float
        Of the rank test beside it.
    told_apart : bool
        `p_adjusted` is under 5 %.
    reason : str
        Why they are not compared; empty where they are.
    """

    a: str
    b: str
    balls_a: int
    balls_b: int
    difference: float
    low: float
    high: float
    p: float
    p_adjusted: float
    p_ranks: float
    told_apart: bool
    reason: str = ""


@dataclass(frozen=True, slots=True)
class RollClause:
    """What a product's rolls say to a clause on veer.

    Parameters
    ----------
    product, clause, text, seen : str
        Whose, which, and how its limit was seen.
    lower, upper : Limit or None
        The limits.
    decision : Decision
        Over the axes that were rolled.
    balls : int
        Balls held against it.
    outside : tuple of str
        Balls that are surely outside.
    inside : int
        Balls that are surely inside on every axis rolled.
    value, u : float
        Veer of the ball and axis furthest towards or beyond the limit, mm, and its standard uncertainty; NaN: none.
    ball : str
        That ball.
    reason : str
        Why it was not tested; empty where it was.
    """

    product: str
    clause: str
    text: str
    seen: str
    lower: Limit | None
    upper: Limit | None
    decision: Decision
    balls: int
    outside: tuple[str, ...]
    inside: int
    value: float
    u: float
    ball: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class SpotCount:
    """One marked spot of a ball.

    Parameters
    ----------
    spot : str
        Its name.
    count : int
        Trials that came to rest with it up.
    chance : float
        Its share of the sphere.
    share, low, high : float
        Share of the trials, and its interval, 95 % for all spots of the ball together (Clopper and Pearson).
    p : float
        Chance that some spot stands out so much if none is heavy, those that stood out before it left aside; NaN: not
        tested, since one before it was not told.
    more : bool
        Up more often than chance, after adjustment over all balls.
    """

    spot: str
    count: int
    chance: float
    share: float
    low: float
    high: float
    p: float
    more: bool


@dataclass(frozen=True, slots=True)
class SpotBall:
    """One ball that was floated or spun again and again.

    Parameters
    ----------
    product, ball, test : str
        Whose; ``float`` or ``spin``.
    trials : int
        Trials that came to rest.
    restless : int
        Trials that did not.
    spots : tuple of SpotCount
        Those that were up, most telling first.
    sectors : int
        Equal sectors marked on the ball; 0: shares are stated.
    p, p_adjusted : float
        Of the most telling spot, and after Holm over all balls.
    told : bool
        `p_adjusted` is under 5 %.
    least : int
        Trials that the most telling spot would need to be up, out of `trials`, to be told alone; 0: none suffice.
    seconds, fastest, slowest : float
        Median, shortest and longest time to rest; NaN where no time was written.
    timed : int
        Trials with a time.
    """

    product: str
    ball: str
    test: str
    trials: int
    restless: int
    spots: tuple[SpotCount, ...]
    sectors: int
    p: float
    p_adjusted: float
    told: bool
    least: int
    seconds: float
    fastest: float
    slowest: float
    timed: int


@dataclass(frozen=True, slots=True)
class RollFindings:
    """All that a file of runs, or a file of trials, told.

    Parameters
    ----------
    products, pairs, clauses, leans : tuples
        Of a ramp; empty where the file holds trials.
    noise : RollNoise or None
        Of single runs; None likewise.
    spots : tuple of SpotBall
        Of trials; empty where the file holds runs.
    readings : int
        Runs or trials.
    readings_digest : str
        SHA-256 of the file.
    requirement : Requirement or None
        What the balls were held against; None: nothing.
    footing : Footing
        What it rests on.
    accept_unverified : bool
        Limits seen only in memory were let decide.
    sentences : tuple of str
        The answer in words.
    """

    products: tuple[RollProduct, ...]
    pairs: tuple[RollPair, ...]
    clauses: tuple[RollClause, ...]
    leans: tuple[RampLean, ...]
    noise: RollNoise | None
    spots: tuple[SpotBall, ...]
    readings: int
    readings_digest: str
    requirement: Requirement | None
    footing: Footing
    accept_unverified: bool = False
    sentences: tuple[str, ...] = ()
