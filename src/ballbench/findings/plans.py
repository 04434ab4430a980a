"""What a plan says before a ball is read: frozen results, numbers in the base unit of the quantity.

Nothing here computes or prints. `ballbench.workflows.plan` fills these records; `ballbench.presentation` turns them
into words, JSON and pictures.
"""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.footing import Footing
from ballbench.findings.planning import Gain, HowMany, SettingChances, ShapeCaught, Surface, TellingApart, TruthAt
from ballbench.findings.qualification import RoundBallFound
from ballbench.records.bench import Instrument
from ballbench.specs import Requirement

__all__ = ["BoxPlan", "Plan"]


@dataclass(frozen=True, slots=True)
class BoxPlan:
    """How many balls of a box or a consignment to read so that few can be bad.

    Parameters
    ----------
    lot : int or None
        Balls in it; None: very many.
    share : float
        Largest share of bad balls that is to be noticed.
    confidence : float
        With what chance.
    balls : int
        So many are read, and none of them may be bad.
    bad_in_lot : int or None
        The number of bad balls that stands for `share` in a finite lot.
    good : float
        Share of bad balls with which a batch is to be accepted 95 times in 100 by the plan on values.
    measured : int or None
        So many are read where the values are normal and one limit is in question; None: more than a bench can read.
    factor : float
        Their mean must then lie so many of their SDs inside that limit; NaN without `measured`.
    letter : str
        Code letter of ISO 2859-1 for such a lot, general inspection level II, and its sample size, as a cross-check;
        empty for a batch without a number of balls.
    """

    lot: int | None
    share: float
    confidence: float
    balls: int
    bad_in_lot: int | None
    good: float
    measured: int | None
    factor: float
    letter: str


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan for one quantity of a requirement.

    Parameters
    ----------
    requirement : Requirement
        As it was when the plan was made.
    quantity, unit : str
        What is to be read; every number here is in `unit`.
    instrument : Instrument
        With what.
    lower, upper : float or None
        What the requirement allows a single ball; None: it sets no such limit.
    rule, risk : str, float
        The decision rule.
    truth : TruthAt
        The make that the tests are taken to meet.
    tests, seed : int
        Simulated at each setting, and the seed of everything random.
    settings : tuple of SettingChances
        Every design asked for, the least work first.
    how_many : HowMany
        Which of them is enough.
    gains : tuple of Gain
        What a change of the chosen design (or the best of those tried) would buy; empty unless asked for.
    surface : Surface or None
        Chances over true mean and spread, for that design; None unless asked for.
    telling : TellingApart or None
        What a comparison of two makes of that design can tell; None unless asked for.
    boxes : tuple of BoxPlan
        Counting plans; empty unless asked for.
    sentence : str
        The answer in one sentence.
    sentences : tuple of str
        What else there is to say, the most important first.
    clauses : tuple of (str, str)
        Identity and text of the clauses that were judged.
    footing : Footing
        What it rests on.
    sample_size : int or None
        Balls that the requirement asks for; None: it names no number.
    caught : tuple of ShapeCaught
        What the axes of the chosen design, and one and two more, catch of a ball's diameter variation, shape by shape;
        empty for anything but diameters.
    round_ball : tuple of RoundBallFound
        What a perfectly round ball shows on these axes through the instrument; empty likewise.
    """

    requirement: Requirement
    quantity: str
    unit: str
    instrument: Instrument
    lower: float | None
    upper: float | None
    rule: str
    risk: float
    truth: TruthAt
    tests: int
    seed: int
    settings: tuple[SettingChances, ...]
    how_many: HowMany
    gains: tuple[Gain, ...]
    surface: Surface | None
    telling: TellingApart | None
    boxes: tuple[BoxPlan, ...]
    sentence: str
    sentences: tuple[str, ...]
    clauses: tuple[tuple[str, str], ...]
    footing: Footing
    sample_size: int | None
    caught: tuple[ShapeCaught, ...] = ()
    round_ball: tuple[RoundBallFound, ...] = ()

    @property
    def chosen(self) -> SettingChances:
        """The design that the plan goes on with: the one that is enough, or the best of those tried."""
        return self.how_many.best

    def is_part(self, one: SettingChances) -> bool:
        """Whether a design reads fewer balls than the requirement asks for."""
        return self.sample_size is not None and one.design.balls < self.sample_size
