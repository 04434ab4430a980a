"""What a comparison says: frozen results. Values in the quantity's base unit; ratios and percentages are pure."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.footing import Footing
from ballbench.findings.results import BallFinding, BudgetFinding, Truth

__all__ = ["ComparedProduct", "Comparison", "Consequence", "Pair"]


@dataclass(frozen=True, slots=True)
class ComparedProduct:
    """One product: counts, mean, SD between balls, mean diameter variation raw and freed of noise, every ball."""

    product: str
    balls: int
    readings: int
    mean: Truth
    sd: Truth
    form: Truth | None
    form_raw: float | None
    balls_found: tuple[BallFinding, ...]


@dataclass(frozen=True, slots=True)
class Consequence:
    """What a difference in diameter means for the ball: per cent by which the first is larger than the second."""

    name: str
    percent: Truth


@dataclass(frozen=True, slots=True)
class Pair:
    """Two products held against each other.

    Parameters
    ----------
    a, b : str
        Names; the difference is a minus b.
    difference : Truth
        Of the means of balls like these, shared instrument error cancelling.
    sd_ratio, form_ratio : Truth or None
        a over b.
    share_a_rounder : float or None
        Chance that a ball of a shows less diameter variation than a ball of b.
    told_apart : bool
        After adjustment for the number of pairs.
    p, p_adjusted : float
        Two-sided tail share of the draws, alone and adjusted (Holm).
    welch_p, rank_p, spread_p : float
        Second opinions on the ball averages: Welch's t, a rank test, Brown-Forsythe.
    smallest_told : float
        Smallest true difference that a sample like this tells apart four times in five.
    consequences : tuple of Consequence
        Circumference, area, volume; empty unless the quantity is a diameter.
    notes : tuple of str
        What does not cancel.
    budget : BudgetFinding or None
        What the uncertainty of the difference is made of, lines that cancel among them; None where it was not made.
    """

    a: str
    b: str
    difference: Truth
    sd_ratio: Truth
    form_ratio: Truth | None
    share_a_rounder: float | None
    told_apart: bool
    p: float
    p_adjusted: float
    welch_p: float
    rank_p: float
    spread_p: float
    smallest_told: float
    consequences: tuple[Consequence, ...]
    notes: tuple[str, ...] = ()
    budget: BudgetFinding | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """A whole comparison."""

    quantity: str
    unit: str
    seed: int
    draws: int
    readings_digest: str
    products: tuple[ComparedProduct, ...]
    pairs: tuple[Pair, ...]
    sentences: tuple[str, ...]
    footing: Footing
