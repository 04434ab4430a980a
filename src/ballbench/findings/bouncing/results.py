"""What the times between impacts tell: frozen results. Times in s, heights in mm, speeds in m/s.

Nothing here computes. `drops.py`, `balls.py` and `clauses.py` fill these records, `words.py` says them
in sentences.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ballbench.findings.footing import Footing
from ballbench.findings.results import Decision
from ballbench.quantities.uncertain import Uncertain
from ballbench.specs import Limit, Requirement

__all__ = [
    "SLOWING",
    "BallBounce",
    "BounceAt",
    "BounceClause",
    "BounceDrop",
    "BounceFindings",
    "BounceRecording",
    "BounceSettings",
    "BounceTrend",
    "Flight",
    "HeardImpact",
    "Picture",
    "ProductBounce",
    "Spread",
]


SLOWING = Uncertain(0.1, 0.06)
"""0 for a spring that is the same at any load, 0.2 for a solid ball (Hertz; from memory): anything between, so that a
contact gets 7 % longer at half the speed (own choice)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A value with its standard uncertainty and its 95 % interval; NaN where nothing can be said."""

    value: float
    u: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class HeardImpact:
    """One impact: when, how sure, dB over the noise, and whether it was ``found`` or put there ``by hand``."""

    time: float
    u: float
    above: float
    picked: str


@dataclass(frozen=True, slots=True)
class Flight:
    """One flight: how long the ball was off the plate, how fast it left, and how high its underside rose."""

    time: float
    u: float
    launch: float
    rise: Spread


@dataclass(frozen=True, slots=True)
class BounceAt:
    """The restitution of one impact.

    Parameters
    ----------
    impact : int
        Which impact of the drop, from 1.
    restitution : Spread
        Speed after it over speed before it.
    speed, speed_u : float
        With which the ball came, m/s.
    before : str
        What gave that speed: the ``drop height`` or the ``flight before``.
    """

    impact: int
    restitution: Spread
    speed: float
    speed_u: float
    before: Literal["drop height", "flight before"]


@dataclass(frozen=True, slots=True)
class BounceDrop:
    """One drop.

    Parameters
    ----------
    number : int
        In its recording, from 1.
    impacts : tuple of HeardImpact
        In the order of time.
    flights : tuple of Flight
        One fewer.
    bounces : tuple of BounceAt
        One a flight where the drop height is known, else one fewer.
    rebound : Spread or None
        How high the ball's underside rises after a fall from the drop height, mm; None where that is not known.
    notes : tuple of str
        What is odd about it.
    counted : bool
        False: it is shown, and left out of what is said of its ball.
    """

    number: int
    impacts: tuple[HeardImpact, ...]
    flights: tuple[Flight, ...]
    bounces: tuple[BounceAt, ...]
    rebound: Spread | None
    notes: tuple[str, ...] = ()
    counted: bool = True


@dataclass(frozen=True, slots=True)
class Picture:
    """The sound as a picture: times, s, and the lowest and highest sample around each, -1 to 1."""

    times: tuple[float, ...] = ()
    lows: tuple[float, ...] = ()
    highs: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class BounceRecording:
    """One file.

    Parameters
    ----------
    file, digest : str
        Its name, and ``"sha256:..."`` of its bytes; the digest is empty where the file could not be opened.
    product, ball : str
        Whose drops they are.
    refused : str
        Why nothing was heard, and what to do; empty where something was.
    drops : tuple of BounceDrop
        In the order of time.
    seconds : float
        How long it is.
    rate : int
        Samples a second; 0: not known.
    notes : tuple of str
        How it was read.
    by_hand : bool
        The impacts were put there by a person.
    picture : Picture
        For drawing.
    """

    file: str
    digest: str
    product: str
    ball: str
    refused: str = ""
    drops: tuple[BounceDrop, ...] = ()
    seconds: float = 0.0
    rate: int = 0
    notes: tuple[str, ...] = ()
    by_hand: bool = False
    picture: Picture = Picture()


@dataclass(frozen=True, slots=True)
class BounceTrend:
    """How restitution goes with impact speed over the impacts of one ball.

    Parameters
    ----------
    per_speed : Spread
        Change of restitution, per m/s; NaN where it cannot be told.
    slowest, fastest : float
        Impact speeds between which it was looked at, m/s.
    impacts : int
        How many stand behind it.
    told : bool
        The interval does not hold 0.
    """

    per_speed: Spread
    slowest: float
    fastest: float
    impacts: int
    told: bool


@dataclass(frozen=True, slots=True)
class BallBounce:
    """One ball over its drops.

    Parameters
    ----------
    product, ball : str
        Which.
    drops, left_out : int
        How many count, and how many were left out.
    first : Spread or None
        Restitution at the first impact, the mean over the drops; None where the drop height is not known.
    later : Spread or None
        Mean restitution of the impacts after it; None where there is none.
    rebound : Spread or None
        Mean rebound from the drop height, mm.
    scatter : float
        SD of the rebound from drop to drop, mm; NaN for one drop.
    trend : BounceTrend or None
        None where fewer than four impacts, or hardly different speeds, stand behind it.
    first_shared, rebound_shared : float
        Standard uncertainty of `first` and, in mm, of `rebound` that all drops have alike: height, air, drag, contact,
        gravity; NaN where the drop height is not known.
    """

    product: str
    ball: str
    drops: int
    left_out: int
    first: Spread | None
    later: Spread | None
    rebound: Spread | None
    scatter: float
    trend: BounceTrend | None
    first_shared: float
    rebound_shared: float


@dataclass(frozen=True, slots=True)
class ProductBounce:
    """The balls of one product together, two or more.

    Parameters
    ----------
    product : str
        Which.
    balls, drops : int
        How many stand behind it.
    rebound : Spread
        Mean of the balls' mean rebounds, mm.
    lowest, highest : tuple of (str, float)
        The balls with the smallest and the largest rebound, and these, mm.
    """

    product: str
    balls: int
    drops: int
    rebound: Spread
    lowest: tuple[str, float]
    highest: tuple[str, float]


@dataclass(frozen=True, slots=True)
class BounceClause:
    """The balls of one product against one clause on rebound or restitution.

    Parameters
    ----------
    product, clause, text, seen : str
        Whose, which clause, its words, and how its limit was seen.
    quantity, unit : str
        ``rebound`` in mm, or ``bounce_restitution``, in ``"1"``.
    lower, upper : Limit or None
        Its limits in `unit`.
    decision : Decision
        Met, not met, undecided, not tested.
    probability : float
        The chance that it is met; NaN where it is not tested.
    balls : int
        Balls that stand behind it.
    value : Spread or None
        The mean of the balls, or the ball that lies nearest to its limit, as the clause asks.
    reason : str
        Why it is not tested, and what to do; else empty.
    each : tuple of (str, Spread)
        Every ball, in `unit`; empty where it is not tested.
    """

    product: str
    clause: str
    text: str
    seen: str
    quantity: str
    unit: str
    lower: Limit | None
    upper: Limit | None
    decision: Decision
    probability: float
    balls: int
    value: Spread | None
    reason: str = ""
    each: tuple[tuple[str, Spread], ...] = ()


@dataclass(frozen=True, slots=True)
class BounceSettings:
    """What the flights were worked out with.

    Parameters
    ----------
    diameter : Uncertain
        mm.
    mass : Uncertain
        g, the true mass.
    weighed : Uncertain or None
        g, what the balance showed; None where the true mass was given.
    drop_height : Uncertain or None
        mm, from the ball's underside to the plate; None: not known.
    contact : Uncertain
        How long the ball touches the plate, s.
    drag : Uncertain or None
        Stated drag coefficient; None: that of a smooth sphere at each flight's speed.
    drag_seen : float
        The coefficient that stands for the fastest flight.
    drag_u : float
        Its relative standard uncertainty.
    air_density : Uncertain
        kg/m3.
    gravity : Uncertain
        m/s2, of the place.
    displaced : float
        Mass of the displaced air as a share of the ball's.
    effective_gravity : float
        m/s2, with buoyancy and carried air.
    terminal_speed : float
        m/s.
    slowing : Uncertain
        With which power of the speed contacts get longer as the ball gets slower.
    """

    diameter: Uncertain
    mass: Uncertain
    weighed: Uncertain | None
    drop_height: Uncertain | None
    contact: Uncertain
    drag: Uncertain | None
    drag_seen: float
    drag_u: float
    air_density: Uncertain
    gravity: Uncertain
    displaced: float
    effective_gravity: float
    terminal_speed: float
    slowing: Uncertain = SLOWING


@dataclass(frozen=True, slots=True)
class BounceFindings:
    """What some recordings tell of how balls bounce.

    Parameters
    ----------
    recordings : tuple of BounceRecording
        In the order given.
    balls : tuple of BallBounce
        In the order heard.
    clauses : tuple of BounceClause
        Empty without a requirement.
    settings : BounceSettings
        What the flights were worked out with.
    seed, draws : int
        Of the simulation of uncertainty.
    requirement : Requirement or None
        What the balls were held against; None: nothing.
    footing : Footing
        What it rests on.
    picks_digest : str
        Of the file of picks; empty without one.
    sentences : tuple of str
        The answer in words.
    command : str
        The options that give this result again.
    products : tuple of ProductBounce
        Those with two balls or more whose rebound is known.
    """

    recordings: tuple[BounceRecording, ...]
    balls: tuple[BallBounce, ...]
    clauses: tuple[BounceClause, ...]
    settings: BounceSettings
    seed: int
    draws: int
    requirement: Requirement | None
    footing: Footing
    picks_digest: str = ""
    sentences: tuple[str, ...] = ()
    command: str = ""
    products: tuple[ProductBounce, ...] = ()
