"""What is known of an instrument in somebody's hands: frozen results, numbers in the base unit of its quantity.

Nothing here computes or prints. `ballbench.findings.qualifying` fills these records; `ballbench.presentation` turns
them into words, JSON and pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ballbench.findings.footing import Footing
from ballbench.findings.results import BudgetFinding
from ballbench.records.bench import Instrument

__all__ = [
    "CalibrationFound",
    "CheckFound",
    "ComponentFound",
    "DriftFound",
    "PersonFound",
    "Qualification",
    "RepeatsFound",
    "RoundBallFound",
    "SqueezeFound",
    "Telling",
    "ToleranceShare",
]


@dataclass(frozen=True, slots=True)
class ComponentFound:
    """One source of spread.

    Parameters
    ----------
    name : str
        ``repeatability``, ``person``, ``person and ball``, ``reproducibility``, ``measurement`` or ``between balls``.
    sd, low, high : float
        Standard deviation and its 95 % interval.
    dof : float
        Effective degrees of freedom of the variance; NaN where there are none.
    negative : bool
        Its estimate came out below zero and was put to zero.
    """

    name: str
    sd: float
    low: float
    high: float
    dof: float
    negative: bool = False


@dataclass(frozen=True, slots=True)
class PersonFound:
    """One person of a repeat study: how many readings, how far off the others, and the SD of that person's repeats.

    Parameters
    ----------
    person : str
        Name as it stands in the readings; empty: not said.
    readings : int
        How many were used.
    difference, low, high : float
        Mean difference from all people together over the balls that all read, with its 95 % interval; NaN with one
        person.
    sd, dof : float
        SD of the person's own repeats and its degrees of freedom; NaN without repeats.
    departures : tuple of float
        Each of those readings less the mean of all people at its place; with one person, of the person's own repeats.
        Empty where no place was read by all.
    """

    person: str
    readings: int
    difference: float
    low: float
    high: float
    sd: float
    dof: float
    departures: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Telling:
    """How far apart two balls must be read to be told apart, at 95 %.

    Parameters
    ----------
    readings : int
        So many readings of each ball, averaged.
    same, same_high : float
        By one person; and its upper end, for the repeatability is itself known only so well.
    different, different_high : float
        By two people; NaN with one person in the study.
    """

    readings: int
    same: float
    same_high: float
    different: float
    different_high: float


@dataclass(frozen=True, slots=True)
class RepeatsFound:
    """What a repeat study shows.

    Parameters
    ----------
    product : str
        Whose balls; several are joined by commas.
    balls, places, people, readings : int
        Balls, places of balls that count each as a part, people, and readings used.
    balanced : bool
        Every person read every place equally often.
    method : str
        ``anova`` or ``reml``.
    components : tuple of ComponentFound
        In the order in which they are told.
    people_found : tuple of PersonFound
        One each.
    telling : tuple of Telling
        For one reading of each ball, and for more.
    coarse : bool
        The display hides the noise: the repeatability is that before rounding.
    notes : tuple of str
        What must be known of it.
    """

    product: str
    balls: int
    places: int
    people: int
    readings: int
    balanced: bool
    method: str
    components: tuple[ComponentFound, ...]
    people_found: tuple[PersonFound, ...]
    telling: tuple[Telling, ...]
    coarse: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckFound:
    """One reading of a reference piece.

    Parameters
    ----------
    piece : str
        Which.
    known, u_known, value, error : float
        What it is, the standard uncertainty of that, the reading, and reading less piece; half a step more where the
        display cuts off.
    allowed : float
        How far `error` may be from `expected`, either way.
    passed : bool
        Whether it is no further.
    time, place : str
        ISO 8601, and where on the jaws or the pan; may be empty.
    touched : int
        Readings that a failed check throws doubt on.
    expected : float
        What the instrument was stated to read too much beforehand.
    """

    piece: str
    known: float
    u_known: float
    value: float
    error: float
    allowed: float
    passed: bool
    time: str = ""
    place: str = ""
    touched: int = 0
    expected: float = 0.0


@dataclass(frozen=True, slots=True)
class CalibrationFound:
    """What readings of reference pieces say of the instrument's error at the size of the balls.

    Parameters
    ----------
    pieces : int
        Different pieces.
    readings : int
        Of them.
    at : float
        Size at which the offset holds.
    offset, offset_sd, dof : float
        Reading less truth there, its standard uncertainty and degrees of freedom.
    slope, slope_sd : float
        Change of that error with size, a pure number; NaN with one piece.
    correlation : float
        Between offset and slope; NaN with one piece.
    low, high : float
        Sizes between which it holds: the limits of its use.
    fit_p : float
        Chance of a misfit as large as this one if the line is true; NaN where nothing is left over.
    notes : tuple of str
        What must be known of it.
    error_low, error_high : float
        Interval of `offset` at 95 %.
    """

    pieces: int
    readings: int
    at: float
    offset: float
    offset_sd: float
    dof: float
    slope: float
    slope_sd: float
    correlation: float
    low: float
    high: float
    fit_p: float
    notes: tuple[str, ...] = ()
    error_low: float = math.nan
    error_high: float = math.nan


@dataclass(frozen=True, slots=True)
class DriftFound:
    """Whether the instrument moved between the first and the last check.

    Parameters
    ----------
    piece : str
        Read again and again.
    checks : int
        At how many different times.
    hours : float
        From the first to the last; NaN where times are not known, and `rate` is then a check.
    rate, low, high : float
        Change an hour (or a check) with its 95 % interval.
    largest : float
        Largest departure of a check from the piece's own mean.
    carried : float
        Standard uncertainty that readings between checks carry for it.
    beyond_noise : bool
        Rate or jump is too large for noise, both looks counted.
    steady : bool
        The rate is. Otherwise it is one check that lies off the first, not a steady drift.
    jump : float
        Mean of the check furthest from the first, less the first; NaN where it was not looked for.
    notes : tuple of str
        What must be known of it.
    """

    piece: str
    checks: int
    hours: float
    rate: float
    low: float
    high: float
    largest: float
    carried: float
    beyond_noise: bool
    steady: bool = True
    jump: float = math.nan
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SqueezeFound:
    """How much smaller the jaws make the balls of one make, by reading at two forces or more.

    Parameters
    ----------
    product : str
        The make.
    model : str
        ``shell`` (in proportion to the force) or ``solid`` (to the two thirds power of the force).
    force : float
        Usual force of the jaws, N.
    value, sd : float
        Squeeze at that force and its standard uncertainty, mm; of few balls it is widened by Student's t over 1.96.
    expected_low, expected_high : float
        What the model of a ball says; NaN where material and wall are not known.
    notes : tuple of str
        What must be known of it.
    """

    product: str
    model: str
    force: float
    value: float
    sd: float
    expected_low: float
    expected_high: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ToleranceShare:
    """What one reading takes of the room that a requirement leaves a single ball: room, U, and 2 U over the room."""

    requirement: str
    title: str
    room: float
    expanded: float
    share: float


@dataclass(frozen=True, slots=True)
class RoundBallFound:
    """The diameter variation that a perfectly round ball shows, read once on each axis.

    Parameters
    ----------
    axes : int
        So many.
    mean : float
        On average.
    high : float
        95 % of round balls show this or less: a whole number of display steps.
    """

    axes: int
    mean: float
    high: float


@dataclass(frozen=True, slots=True)
class Qualification:
    """What one instrument can tell of one quantity, in the hands that were studied.

    Parameters
    ----------
    quantity, unit : str
        What it reads; every number here is in `unit` unless said otherwise.
    instrument : Instrument
        The entry that follows for the bench, complete.
    known : tuple of str
        Which of its numbers were found here: ``repeatability``, ``calibration``; the others were given or are usual.
    repeats : RepeatsFound or None
        None without a repeat study.
    checks : tuple of CheckFound
        Log of the reference pieces, in the order of time.
    calibration : CalibrationFound or None
        None without checks.
    drift : tuple of DriftFound
        One a piece that was read three times or more.
    squeeze : tuple of SqueezeFound
        One a make.
    budget : BudgetFinding or None
        Of one reading of one ball.
    tolerance : tuple of ToleranceShare
        With a requirement.
    sentence : str
        The answer in one sentence.
    sentences : tuple of str
        What else there is to say, the most important first.
    seed : int
        Of everything random.
    readings_digest : str
        Of the readings file; empty without one.
    footing : Footing
        What it rests on.
    round_ball : tuple of RoundBallFound
        For two axes and more, from the study's own noise; empty without a study, and for anything but diameters.
    """

    quantity: str
    unit: str
    instrument: Instrument
    known: tuple[str, ...]
    repeats: RepeatsFound | None
    checks: tuple[CheckFound, ...]
    calibration: CalibrationFound | None
    drift: tuple[DriftFound, ...]
    squeeze: tuple[SqueezeFound, ...]
    budget: BudgetFinding | None
    tolerance: tuple[ToleranceShare, ...]
    sentence: str
    sentences: tuple[str, ...]
    seed: int
    readings_digest: str
    footing: Footing
    round_ball: tuple[RoundBallFound, ...] = ()
