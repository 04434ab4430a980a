"""What a judgement says: frozen results, in the units in which the clauses are written.

Nothing here computes or prints. `ballbench.presentation` turns these into JSON, terminal text, pages and pictures.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ballbench.findings.footing import Footing

if TYPE_CHECKING:  # for its name alone: reading requirements loads libraries that no result needs
    from ballbench.specs import Requirement

__all__ = [
    "CANCELS",
    "BallFinding",
    "BudgetFinding",
    "BudgetLine",
    "ClauseFinding",
    "Decision",
    "Findings",
    "FirstOrderCheck",
    "Influence",
    "Outlier",
    "Population",
    "ProductDecision",
    "ProductFinding",
    "QuantityFinding",
    "Settle",
    "Truth",
    "VariantFinding",
    "WholeBall",
    "WithoutCorrections",
]

Decision = Literal["met", "not met", "undecided", "not tested"]
ProductDecision = Literal["met", "met as far as tested", "not met", "undecided", "not tested"]


@dataclass(frozen=True, slots=True)
class Truth:
    """What the value is, freed of the instrument: median and central interval."""

    median: float
    low: float
    high: float
    confidence: float = 0.95


@dataclass(frozen=True, slots=True)
class BallFinding:
    """One ball under one clause: its raw value, what it is, and the chance that it is inside by itself."""

    ball: str
    box: str
    as_read: float
    truth: Truth
    probability_inside: float


@dataclass(frozen=True, slots=True)
class WholeBall:
    """The clause over the whole ball, unseen form included.

    Parameters
    ----------
    probability_met : float
        Under the stated model of unseen form.
    truth : Truth
        The clause's statistic over the whole ball.
    probability_low, probability_high : float
        Range of that probability over the other ways of sharing the form among the harmonics: the pull of the prior.
    """

    probability_met: float
    truth: Truth
    probability_low: float
    probability_high: float


@dataclass(frozen=True, slots=True)
class Population:
    """Balls like these: the box or batch that the sample stands for.

    Parameters
    ----------
    share_outside : Truth
        Share of such balls that lie outside the clause's limits (each-ball clauses).
    outside_seen : float
        Count of balls of the sample that are outside, averaged over the draws.
    share_bound : float
        Upper 95 % bound of the share outside, by counting alone (exact binomial, the count taken in each draw).
    low, high : float
        Interval that holds 95 % of such balls with 95 % confidence.
    """

    share_outside: Truth
    outside_seen: float
    share_bound: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Settle:
    """One change that might settle an undecided clause.

    Parameters
    ----------
    change : str
        What to do, in words.
    probability_decided, probability_met, probability_not_met : float
        Share of simulated truths for which the clause would then be decided, and how.
    minutes : float
        Work at the bench; NaN where it cannot be said.
    enough : bool
        Whether it reaches 80 %.
    """

    change: str
    probability_decided: float
    probability_met: float
    probability_not_met: float
    minutes: float
    enough: bool


@dataclass(frozen=True, slots=True)
class VariantFinding:
    """The clause under one reading of its text."""

    text: str
    lower: float | None
    upper: float | None
    as_read: float | None
    outside: int
    truth: Truth | None
    probability_met: float | None
    decision: Decision


@dataclass(frozen=True, slots=True)
class ClauseFinding:
    """One clause, judged. Values in `unit`; None where nothing could be said.

    Parameters
    ----------
    id, text, quantity, unit : str
        The clause.
    ball, sample : str
        Its two reductions; ``"answers"`` for yes/no results.
    lower, upper : float or None
        Limits in `unit`.
    lower_text, upper_text : str
        Limits as the source writes them, with unit; empty where there is none.
    strict : bool
        The limit itself is outside.
    allowed_outside : int
        For each-ball clauses.
    seen, source : str
        How the number was seen, and where.
    as_read : float or None
        The statistic of the raw values.
    outside : int
        How many raw balls lie outside (each-ball clauses).
    truth : Truth or None
        The statistic freed of the instrument.
    bound : float or None
        One-sided bound at `risk` toward the nearer limit.
    probability_met : float or None
        Chance that the clause is met.
    decision : Decision
        Met, not met, undecided, not tested.
    margin : float or None
        Distance of the truth's median inside the nearer limit; negative: beyond it.
    scope : str
        ``axes read``, ``as prescribed`` or ``not applicable``.
    whole_ball : WholeBall or None
        None where form plays no part.
    population : Population or None
        None for fewer than four balls and for clauses on the sample.
    variants : tuple of VariantFinding
        Empty unless the text is ambiguous; then the clause as it stands first, and every variant.
    settle : tuple of Settle
        Cheapest sufficient change first; empty unless undecided.
    balls : tuple of BallFinding
        Every ball; empty when not asked for.
    notes : tuple of str
        Why it could not be tested, what flipped under another assumption, what must be known.
    """

    id: str
    text: str
    quantity: str
    unit: str
    ball: str
    sample: str
    lower: float | None
    upper: float | None
    lower_text: str
    upper_text: str
    strict: bool
    allowed_outside: int
    seen: str
    source: str
    as_read: float | None
    outside: int
    truth: Truth | None
    bound: float | None
    probability_met: float | None
    decision: Decision
    margin: float | None
    scope: str
    whole_ball: WholeBall | None = None
    population: Population | None = None
    variants: tuple[VariantFinding, ...] = ()
    settle: tuple[Settle, ...] = ()
    balls: tuple[BallFinding, ...] = ()
    notes: tuple[str, ...] = ()


CANCELS = "the same for both: cancels"
"""Note of a budget line of which nothing that matters is left in a difference."""


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One input of a budget.

    Parameters
    ----------
    name : str
        As the measurement equation calls it; in a difference with the product behind a blank where it is one's own.
    words : str
        As a person calls it.
    kind : str
        ``A``: from repeated readings, ``B``: by other means.
    u : float
        Its standard uncertainty, in `u_unit`.
    u_unit : str
        Unit of the input.
    sensitivity : float
        By how much the result moves with it, unit of the result per `u_unit`.
    contribution : float
        Size of sensitivity times u, in the unit of the result.
    dof : float
        Degrees of freedom behind `u`; infinite where it is taken as known.
    share : float
        Of the variance of the result, 0 to 1; the shares of a budget sum to 1.
    note : str
        Such as that it cancels in a difference; empty where there is nothing to say.
    """

    name: str
    words: str
    kind: str
    u: float
    u_unit: str
    sensitivity: float
    contribution: float
    dof: float
    share: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class FirstOrderCheck:
    """The interval of a budget held against a simulation of the same equation (JCGM 101:2008, 8.1).

    Parameters
    ----------
    low, high : float
        Simulated symmetric 95 % interval.
    d_low, d_high, delta : float
        How far the budget's ends are from it, and how far they may be.
    validated : bool
        Both ends keep the tolerance.
    settled : bool
        The simulation stood still to a fifth of the tolerance (8.2); otherwise `validated` is provisional.
    draws : int
        How many.
    """

    low: float
    high: float
    d_low: float
    d_high: float
    delta: float
    validated: bool
    settled: bool
    draws: int


@dataclass(frozen=True, slots=True)
class BudgetFinding:
    """What the uncertainty of one result is made of. Values in `unit`.

    Parameters
    ----------
    of : str
        ``one reading``, ``mean of one ball``, ``mean of these balls``, ``mean of balls like these`` or ``difference
        of means``.
    unit : str
        Of the result.
    value, u : float
        The result and its combined standard uncertainty.
    dof : float
        Effective degrees of freedom (Welch-Satterthwaite).
    factor, expanded : float
        Coverage factor k and U = k u.
    confidence : float
        Of `expanded`.
    lines : tuple of BudgetLine
        Largest contribution first, lines that cancel last.
    dominant : str
        Name of the line that has more than half of the variance, in a difference of the lines of one kind; empty where
        none has.
    sentence : str
        What dominates, and what to do about it.
    drawn_u, drawn_expanded : float or None
        SD of the engine's own draws of the same mean, and half the width of their central 95 %; None where the draws
        answer no such question.
    check : FirstOrderCheck or None
        None where it was not made.
    notes : tuple of str
        What the budget leaves out, or where it and the draws part.
    """

    of: str
    unit: str
    value: float
    u: float
    dof: float
    factor: float
    expanded: float
    confidence: float
    lines: tuple[BudgetLine, ...]
    dominant: str
    sentence: str
    drawn_u: float | None = None
    drawn_expanded: float | None = None
    check: FirstOrderCheck | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class QuantityFinding:
    """One quantity of one product: what it was read with and how it spreads. Values in `unit`.

    Parameters
    ----------
    quantity, unit : str
        What.
    balls, readings, axes : int
        Counts; `axes` is the largest number of places read on a ball.
    mean, ball_sd : Truth
        Mean of the balls and the SD between them, freed of the instrument.
    noise_sd, shared_sd : float
        SD of one displayed reading of one place, and of the errors shared by all readings.
    form_sd : Truth or None
        Typical SD between the places of one ball; None where one place was read.
    variation_raw, variation : Truth or None
        Mean of (largest minus smallest) over the balls, as read and freed of the instrument.
    budgets : tuple of BudgetFinding
        What the uncertainty of a reading and of the means is made of, from one reading up.
    """

    quantity: str
    unit: str
    balls: int
    readings: int
    axes: int
    mean: Truth
    ball_sd: Truth
    noise_sd: float
    shared_sd: float
    form_sd: Truth | None
    variation_raw: float | None
    variation: Truth | None
    budgets: tuple[BudgetFinding, ...] = ()


@dataclass(frozen=True, slots=True)
class Outlier:
    """A ball far from its fellows by the generalized extreme Studentized deviate test; shown, never dropped."""

    quantity: str
    unit: str
    ball: str
    value: float
    statistic: float
    critical: float


@dataclass(frozen=True, slots=True)
class Influence:
    """A single reading without which a clause would be decided otherwise, or whose leaving moves it most."""

    clause: str
    ball: str
    axis: str
    repeat: int
    value: float
    decision_without: Decision
    probability_without: float


@dataclass(frozen=True, slots=True)
class WithoutCorrections:
    """The same judgement on the readings as first written, before corrections and exclusions."""

    decision: ProductDecision
    probability_met: float | None
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProductFinding:
    """One product.

    Parameters
    ----------
    product : str
        Its name.
    balls, readings, excluded, corrected, spoiled : int
        Counts.
    decision : ProductDecision
        Joint over the clauses.
    probability_met : float or None
        Chance that every tested clause is met.
    tested, clauses_in_all : int
        Counts of clauses.
    headline : tuple of str
        The first sentence says the answer, the second how sure, the third what to do.
    clauses : tuple of ClauseFinding
        In the requirement's order.
    quantities : tuple of QuantityFinding
        In the same order.
    outliers, influence : tuples
        Shown, never acted on.
    without_corrections : WithoutCorrections or None
        None when there were none.
    notes : tuple of str
        What must be known of this product's data.
    draws : int
        Draws that its chances rest on; 0 by the simple rule.
    """

    product: str
    balls: int
    readings: int
    excluded: int
    corrected: int
    spoiled: int
    decision: ProductDecision
    probability_met: float | None
    tested: int
    clauses_in_all: int
    headline: tuple[str, ...]
    clauses: tuple[ClauseFinding, ...]
    quantities: tuple[QuantityFinding, ...] = ()
    outliers: tuple[Outlier, ...] = ()
    influence: tuple[Influence, ...] = ()
    without_corrections: WithoutCorrections | None = None
    notes: tuple[str, ...] = ()
    draws: int = 0


@dataclass(frozen=True, slots=True)
class Findings:
    """A whole judgement.

    Parameters
    ----------
    requirement : Requirement
        What the balls were held against.
    rule : str
        ``guarded`` or ``simple``.
    risk : float
        Of a false "met", stated beforehand.
    look, planned_looks : int
        Which look at these balls this is, and of how many planned.
    seed, draws : int
        Of the simulation.
    readings_digest : str
        Of the readings file.
    questions : tuple of str
        Readings that the plausibility gate asks about.
    amendments : tuple of str
        Corrections and exclusions, each with its reason.
    products : tuple of ProductFinding
        In the order of the file.
    footing : Footing
        What it rests on; what the requirement says of itself is in its notes.
    risk_of_look : float or None
        Risk that this look spends of `risk`; None: all of it, with a single look.
    """

    requirement: Requirement
    rule: str
    risk: float
    look: int
    planned_looks: int
    seed: int
    draws: int
    readings_digest: str
    questions: tuple[str, ...]
    amendments: tuple[str, ...]
    products: tuple[ProductFinding, ...]
    footing: Footing
    risk_of_look: float | None = None

    @property
    def deciding_risk(self) -> float:
        """Risk at which this look decides."""
        return self.risk if self.risk_of_look is None else self.risk_of_look
