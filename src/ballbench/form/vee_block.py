"""Form with odd lobes: the ball is turned in a vee, and an indicator shows how far it moves.

A ball with n lobes, r = R + a cos(n theta), moves the indicator by 2 a |F| from crest to trough; its form, crest to
trough of the radius, is 2 a. F depends on n, the angle of the vee and the side of the indicator. A flat table under an
indicator is a vee of 180 degrees: it reads diameters and is blind to odd lobes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.propagation import effective_dof
from ballbench.quantities.uncertain import Uncertain

__all__ = [
    "PLAUSIBLE", "LobeForm", "Setting", "VeeForm", "VeePair", "VeeReading", "blind_lobes", "form_from_vee",
    "forms_together", "indicator_in_vee", "magnification", "vee_pairs",
]  # fmt: skip

Floats = NDArray[np.float64]
Setting = Literal["summit", "rider"]

PLAUSIBLE = tuple(range(2, 13))
"""Lobes that are thought possible where nobody counted them (own choice)."""
_BLIND = 0.05
"""Magnification under which a vee is called blind: noise would be taken twenty times (own choice)."""
_UNSURE = 3.0  # standard uncertainties of the angle: a smaller |F| may as well be 0 (own choice)
_ROUNDS = 4  # the form weighs the angles' uncertainty, which moves the form: settled long before (own choice)
_AGREES = 0.05  # chance of such a disagreement under which a number of lobes is ruled out (common practice, no source)
_UNKNOWN = (
    "The number of lobes is not known: the form lies in this band if one of these numbers of lobes is all there is. "
    "Count the crests over a turn, or read in a second vee."
)


@dataclass(frozen=True, slots=True)
class VeeReading:
    """What an indicator showed over whole turns of a ball in a vee.

    Parameters
    ----------
    range : Uncertain
        Largest less smallest indication, mm, without the indicator's own play and noise as far as known: noise makes
        every range larger, so take off what it adds on average.
    angle : Uncertain
        Between the flanks, degrees; 180 for a flat table.
    setting : str
        ``"summit"``: indicator opposite the vee; ``"rider"``: between the flanks.
    """

    range: Uncertain
    angle: Uncertain
    setting: Setting = "summit"


@dataclass(frozen=True, slots=True)
class LobeForm:
    """The form if the ball has so many lobes.

    Parameters
    ----------
    lobes : int
        n.
    factors : tuple of float
        Magnification |F| of each reading.
    form : Uncertain or None
        Crest to trough of the radius, mm; None where every reading is blind to n.
    chi2, p : float
        How badly several readings agree on it, and the chance of as bad an agreement or a worse one; 0 and NaN for one.
    agrees : bool
        False where several readings rule n out.
    """

    lobes: int
    factors: tuple[float, ...]
    form: Uncertain | None
    chi2: float
    p: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class VeeForm:
    """What a reading in a vee, or several, say about form.

    Parameters
    ----------
    by_lobes : tuple of LobeForm
        For each number of lobes that was thought possible.
    low, high : float
        Smallest and largest form among those that agree and are seen, each less and plus its expanded uncertainty, mm;
        NaN where there is none.
    confidence : float
        Of these expanded uncertainties.
    blind : tuple of int
        Numbers of lobes of which nothing can be said: the form could be anything.
    notes : tuple of str
        What a reader must know.
    """

    by_lobes: tuple[LobeForm, ...]
    low: float
    high: float
    confidence: float
    blind: tuple[int, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VeePair:
    """Two vees together: angles in degrees, the number of lobes that they see worst, and the better |F| for it."""

    first: float
    second: float
    weakest: int
    factor: float


def magnification(lobes: ArrayLike, angle: ArrayLike, setting: Setting = "summit") -> Floats:
    """Give by what the amplitude of a lobed ball is multiplied on the indicator.

    Parameters
    ----------
    lobes : array_like of int
        n from 1, of any shape.
    angle : array_like of float
        Between the flanks, degrees, above 0 to 180; a shape that broadcasts with `lobes`.
    setting : str
        ``"summit"`` or ``"rider"``.

    Returns
    -------
    ndarray of float
        F with its sign, in the common shape; the indicator's range over the form 2 a is |F|.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Summit: F = 1 + cos(n (90 deg + angle/2))/sin(angle/2) (seen in a paper of the Japan Society for Precision
    Engineering, vol. 43 no. 514; ISO 4292 has tables of it, from memory). Rider: cos(...)/sin(...) - (-1)^n (derived).
    First order: lobes low against the ball's radius over n^2, flanks and indicator touching in the section read.
    """
    n, theta = np.asarray(lobes, dtype=np.float64), np.asarray(angle, dtype=np.float64)
    faults = []
    if not np.all((n >= 1) & (n == np.rint(n))):
        faults.append(Fault("lobes", str(lobes), "whole numbers from 1", "count the crests over a turn"))
    if not np.all((theta > 0.0) & (theta <= 180.0)):
        faults.append(Fault("angle", str(angle), "above 0 to 180 degrees", "give the angle between the flanks"))
    if setting not in ("summit", "rider"):
        faults.append(Fault("setting", str(setting), "summit or rider", "say on which side the indicator is"))
    if faults:
        raise BadRequest(faults)
    half = np.radians(theta) / 2.0
    lifted = np.cos(n * (math.pi / 2.0 + half)) / np.sin(half)
    own = 1.0 if setting == "summit" else -np.where(n % 2 == 0, 1.0, -1.0)
    return np.asarray(own + lifted)


def blind_lobes(
    angle: float, lobes: Sequence[int] = tuple(range(2, 23)), setting: Setting = "summit", least: float = _BLIND
) -> tuple[int, ...]:
    """Say which numbers of lobes a vee does not show.

    Parameters
    ----------
    angle : float
        Between the flanks, degrees.
    lobes : sequence of int
        Looked at; 2 to 22 when left out.
    setting : str
        ``"summit"`` or ``"rider"``.
    least : float
        Magnification under which a vee is blind.

    Returns
    -------
    tuple of int
        Those of `lobes` with |F| under `least`. One lobe is eccentricity, which no vee shows.

    Raises
    ------
    BadRequest
        As `magnification`.
    """
    factors = np.abs(magnification(list(lobes), angle, setting))
    return tuple(n for n, factor in zip(lobes, factors.tolist(), strict=True) if factor < least)


def vee_pairs(
    angles: Sequence[float],
    lobes: Sequence[int] = tuple(range(2, 23)),
    setting: Setting = "summit",
    least: float = _BLIND,
) -> tuple[VeePair, ...]:
    """Say which two angles together are blind to none, best first.

    Parameters
    ----------
    angles : sequence of float
        Angles at hand, degrees; 180 is a flat table.
    lobes : sequence of int
        Looked at; 2 to 22 when left out.
    setting : str
        ``"summit"`` or ``"rider"``, for both.
    least : float
        Magnification under which a vee is blind.

    Returns
    -------
    tuple of VeePair
        Pairs of which one at least shows each of `lobes`, the strongest factor for their weakest number of lobes first.

    Raises
    ------
    BadRequest
        As `magnification`.
    """
    factors = np.abs(magnification(np.asarray(list(lobes))[:, np.newaxis], np.asarray(list(angles)), setting))
    found = []
    for i, first in enumerate(angles):
        for j in range(i + 1, len(angles)):
            better = np.maximum(factors[:, i], factors[:, j])
            place = int(better.argmin())
            if better[place] >= least:
                found.append(VeePair(float(first), float(angles[j]), int(lobes[place]), float(better[place])))
    return tuple(sorted(found, key=lambda pair: -pair.factor))


def form_from_vee(reading: VeeReading, lobes: int | Sequence[int] = PLAUSIBLE, confidence: float = 0.95) -> VeeForm:
    """Give the form from one vee.

    Parameters
    ----------
    reading : VeeReading
        Range, angle and setting.
    lobes : int or sequence of int
        The number of lobes where it is known, else those thought possible.
    confidence : float
        Of the expanded uncertainties in the band, between 0 and 1.

    Returns
    -------
    VeeForm
        One form, or the band over the numbers of lobes, which its notes say.

    Raises
    ------
    BadRequest
        A number of lobes or an angle that cannot be, or a negative range.

    Notes
    -----
    Form = range/|F|; range and angle propagated by JCGM 100:2008, 5.1.2, degrees of freedom by G.2b. A vee is blind to
    n where |F| is under 0.05 or under three standard uncertainties of what the angle makes of it (own choices).
    """
    return forms_together((reading,), (lobes,) if isinstance(lobes, int) else lobes, confidence)


def forms_together(
    readings: Sequence[VeeReading], lobes: Sequence[int] = PLAUSIBLE, confidence: float = 0.95
) -> VeeForm:
    """Give the form from several vees, and which numbers of lobes they allow.

    Parameters
    ----------
    readings : sequence of VeeReading
        Of one ball in one section, at least one; a diameter variation counts as a vee of 180 degrees.
    lobes : sequence of int
        Numbers of lobes thought possible, from 2.
    confidence : float
        Of the expanded uncertainties in the band, between 0 and 1.

    Returns
    -------
    VeeForm
        For each number of lobes the form that fits all readings best.

    Raises
    ------
    BadRequest
        A number of lobes or an angle that cannot be, a negative range, or no reading.

    Notes
    -----
    One number of lobes at a time: range_i = |F_i| form, weighted by the uncertainty of the range and of the angle's
    effect on it. Agreement by chi-square; by F where the uncertainties have finite degrees of freedom, the least of any
    reading (own choice), which the form has too. Several lobes at once add up in a way that ranges alone do not tell
    apart.
    """
    faults = [
        Fault(f"reading {place}, range", f"{item.range.value:g} mm", "0 or more", "give largest less smallest")
        for place, item in enumerate(readings, 1)
        if item.range.value < 0.0
    ]
    if not readings:
        faults.append(Fault("forms_together", "no reading", "one at least", "turn the ball in a vee"))
    if not lobes or any(n < 2 for n in lobes):
        todo = "one lobe is eccentricity: give the lobes that the ball may have"
        faults.append(Fault("lobes", str(tuple(lobes)), "whole numbers from 2", todo))
    if faults:
        raise BadRequest(faults)
    by_lobes = tuple(_one(readings, n) for n in lobes)
    seen = [item.form for item in by_lobes if item.form is not None and item.agrees]
    ends = [(form.value - form.expanded(confidence), form.value + form.expanded(confidence)) for form in seen]
    low = max(min(end[0] for end in ends), 0.0) if ends else math.nan
    high = max(end[1] for end in ends) if ends else math.nan
    blind = tuple(item.lobes for item in by_lobes if item.form is None)
    return VeeForm(by_lobes, low, high, confidence, blind, _notes(by_lobes, blind, len(lobes)))


def indicator_in_vee(radii: ArrayLike, angle: float, setting: Setting = "summit") -> Floats:
    """Give what the indicator shows over a turn of an outline that is known all round.

    Parameters
    ----------
    radii : (..., m) array_like of float
        Of any shape, the last axis m equal angles over a turn: distances of the tangents from the centre, or of the
        points themselves, which is the same to first order for nearly round balls.
    angle : float
        Between the flanks, degrees.
    setting : str
        ``"summit"`` or ``"rider"``.

    Returns
    -------
    (..., m) float array
        Indication less its mean, in the unit of `radii`; NaN where one of a row's radii is.

    Raises
    ------
    BadRequest
        As `magnification`, or fewer than three angles.

    Notes
    -----
    Each harmonic times its `magnification`.
    """
    values = np.asarray(radii, dtype=np.float64)
    if values.ndim == 0 or values.shape[-1] < 3:
        raise BadRequest(Fault("radii", f"shape {values.shape}", "three angles or more", "sample the turn evenly"))
    parts = np.fft.rfft(values, axis=-1)
    parts[..., 0] = 0.0
    parts[..., 1:] *= magnification(np.arange(1, parts.shape[-1]), angle, setting)
    return np.asarray(np.fft.irfft(parts, n=values.shape[-1], axis=-1))


def _one(readings: Sequence[VeeReading], n: int) -> LobeForm:
    """Fit the form for one number of lobes."""
    factors = [abs(float(magnification(n, item.angle.value, item.setting))) for item in readings]
    slopes = [_slope(item, n) for item in readings]
    if all(f < max(_BLIND, _UNSURE * slope) for f, slope in zip(factors, slopes, strict=True)):
        return LobeForm(n, tuple(factors), None, 0.0, math.nan, agrees=True)
    f, ranges = np.array(factors), np.array([item.range.value for item in readings])
    form = float(f @ ranges) / float(f @ f)
    weights = np.ones_like(f)
    if len(readings) == 1:
        parts = (readings[0].range.u / factors[0], form * slopes[0] / factors[0])
        dof = effective_dof(parts, (readings[0].range.dof, readings[0].angle.dof))
        return LobeForm(n, tuple(factors), Uncertain(form, math.hypot(*parts), dof, "mm"), 0.0, math.nan, agrees=True)
    for _ in range(_ROUNDS):
        square = np.array([item.range.u**2 for item in readings]) + (form * np.array(slopes)) ** 2
        if np.any(square == 0.0):
            todo = "give the uncertainty of each range: noise, display and play of the indicator"
            raise BadRequest(Fault("forms_together", "a range without uncertainty", "uncertainties above 0", todo))
        weights = 1.0 / square
        form = float((weights * f) @ ranges) / float((weights * f) @ f)
    chi2 = float(weights @ (ranges - f * form) ** 2)
    dof = min(
        effective_dof((item.range.u, form * slope), (item.range.dof, item.angle.dof))
        for item, slope in zip(readings, slopes, strict=True)
    )
    p = _chance(chi2, len(readings) - 1, dof)
    u = 1.0 / math.sqrt(float(weights @ f**2))
    return LobeForm(n, tuple(factors), Uncertain(form, u, dof, "mm"), chi2, p, p >= _AGREES)


def _chance(chi2: float, free: int, dof: float) -> float:
    """Give the chance of as large a sum of squares where the uncertainties have `dof` degrees of freedom."""
    return float(special.chdtrc(free, chi2) if math.isinf(dof) else special.fdtrc(free, dof, chi2 / free))


def _slope(reading: VeeReading, n: int) -> float:
    """Give how much |F| changes with one standard uncertainty of the angle: the derivative of F, exactly."""
    half = math.radians(reading.angle.value) / 2.0
    turn = n * (math.pi / 2.0 + half)
    bend = (n * math.sin(turn) * math.sin(half) + math.cos(turn) * math.cos(half)) / math.sin(half) ** 2
    return abs(bend) * math.radians(reading.angle.u) / 2.0


def _notes(by_lobes: tuple[LobeForm, ...], blind: tuple[int, ...], hypotheses: int) -> tuple[str, ...]:
    """Say what a reader must know."""
    notes = [_UNKNOWN] if hypotheses > 1 else []
    if blind:
        notes.append(f"Blind to {', '.join(map(str, blind))} lobes: of these the form could be anything.")
    out = [str(item.lobes) for item in by_lobes if not item.agrees]
    if out:
        notes.append(f"The readings do not go together with {', '.join(out)} lobes alone.")
    if len(out) == len(by_lobes):
        notes.append("No single number of lobes explains the readings: there are several at once, or more noise.")
    return tuple(notes)
