"""What vees tell of form: frozen results. Lengths in mm, angles in degrees; form is crest to trough of the radius.

Nothing here computes. `forms.py` fills these records, `words.py` says them in sentences.
"""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.footing import Footing
from ballbench.findings.form_clauses import FormClause
from ballbench.form.vee_block import LobeForm, Setting
from ballbench.specs import Requirement

__all__ = ["BallForm", "SectionForm", "VeeFindings", "VeeProduct", "VeeUsed"]


@dataclass(frozen=True, slots=True)
class VeeUsed:
    """One vee that a section was turned in.

    Parameters
    ----------
    angle, angle_u : float
        Between the flanks, and its standard uncertainty.
    setting : str
        ``summit`` or ``rider``.
    range, added, u : float
        Largest less smallest indication, the mean where it was turned again; what noise adds to it at most on average;
        and the standard uncertainty of the range with half of that taken off, what noise adds reckoned in.
    readings : int
        How often it was laid in and turned.
    floor : float
        Range that the indicator shows of a ball without any form; in nineteen cases of twenty no vee of the section
        shows more.
    """

    angle: float
    angle_u: float
    setting: Setting
    range: float
    added: float
    u: float
    readings: int
    floor: float


@dataclass(frozen=True, slots=True)
class SectionForm:
    """What is known of the form of one section of a ball.

    Parameters
    ----------
    section : str
        The great circle's name; may be empty.
    vees : tuple of VeeUsed
        By angle.
    lobes_known : int
        Crests that somebody counted; 0: nobody.
    by_lobes : tuple of LobeForm
        For each number of lobes that was thought possible.
    low, high : float
        The form lies between them, 95 %, if one of these numbers of lobes is all there is; NaN where none fits.
    beyond_noise : float
        The form is at least this if noise added as much to the range as it may: `low` less the floor at the same
        lobes (less what was taken off already), the smallest of all that fit; NaN where none fits.
    form, u, lobes : float, float, int
        One form with its standard uncertainty, where one number of lobes is left; else NaN, NaN, 0.
    blind : tuple of int
        Numbers of lobes that no vee here shows: of these the form could be anything.
    floor : float
        Form that a round ball seems to have at most, by noise alone, at the lobes that are shown worst among those
        that fit; NaN where none fits.
    told_from_round : bool
        Some vee moved the indicator by more than its floor.
    notes : tuple of str
        What a reader must know of this section alone.
    """

    section: str
    vees: tuple[VeeUsed, ...]
    lobes_known: int
    by_lobes: tuple[LobeForm, ...]
    low: float
    high: float
    beyond_noise: float
    form: float
    u: float
    lobes: int
    blind: tuple[int, ...]
    floor: float
    told_from_round: bool
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BallForm:
    """One ball: its sections, and between what its largest form lies; NaN where nothing fits."""

    ball: str
    sections: tuple[SectionForm, ...]
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class VeeProduct:
    """One product.

    Parameters
    ----------
    product : str
        Its name.
    balls : tuple of BallForm
        In the order of the file.
    counted : int
        Balls with a form: those behind median and largest.
    median_low, median_high, largest_low, largest_high : float
        Between what the median and the largest form of these balls lie; NaN where there is none.
    one_form : int
        Balls of which every section has one form.
    odd : tuple of str
        Balls that are told from round, and of which one odd number of lobes is left.
    blind : tuple of int
        Numbers of lobes that were not shown at some ball.
    """

    product: str
    balls: tuple[BallForm, ...]
    counted: int
    median_low: float
    median_high: float
    largest_low: float
    largest_high: float
    one_form: int
    odd: tuple[str, ...]
    blind: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class VeeFindings:
    """All that a file of vee readings told.

    Parameters
    ----------
    products : tuple of VeeProduct
        In the order of the file.
    clauses : tuple of FormClause
        Empty without a requirement, or where it says nothing of form.
    lobes : int
        Crests that hold for all balls, as the person said; 0: not said.
    readings : int
        Rows.
    readings_digest : str
        SHA-256 of the file.
    seed : int
        Of the simulated floors.
    requirement : Requirement or None
        What the balls were held against; None: nothing.
    footing : Footing
        What it rests on.
    sentences : tuple of str
        The answer in words.
    """

    products: tuple[VeeProduct, ...]
    clauses: tuple[FormClause, ...]
    lobes: int
    readings: int
    readings_digest: str
    seed: int
    requirement: Requirement | None
    footing: Footing
    sentences: tuple[str, ...] = ()
