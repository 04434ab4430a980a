"""How much a ball gives way between flat jaws: a thin shell after Reissner, a solid ball after Hertz.

These numbers rest on moduli and walls that a tester hardly knows, so they say whether a squeeze that was measured is
believable; they do not replace the measurement (`ballbench.physics.squeeze`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.coverage import Rectangular
from ballbench.quantities.propagation import Budget, propagate
from ballbench.quantities.uncertain import Uncertain

__all__ = [
    "HERTZ_FINE", "HERTZ_MOST", "SHELL_MOST", "STEEL_JAW", "Contact", "Expected", "Jaw", "Law", "Plausibility",
    "contact_modulus", "hertz_contact", "shell_squeeze", "shell_stiffness", "solid_squeeze", "squeeze_in_line",
    "wall_thickness",
]  # fmt: skip

Law = Literal["shell", "solid"]
Array = NDArray[np.float64]

SHELL_MOST = 0.5
"""Walls that a pole of a shell may move for the straight law to hold (own choice: the cap inverts at about two walls,
from memory, and flattens before)."""
HERTZ_FINE = 0.1
"""Contact radius over ball radius up to which Hertz's formula is good (textbook range, from memory)."""
HERTZ_MOST = 0.3
"""The same, up to which it is a few per cent off (from memory); beyond, nothing is corrected (own choice)."""


@dataclass(frozen=True, slots=True)
class Jaw:
    """What the jaws are made of: Young's modulus, GPa (``math.inf`` for rigid), and Poisson's ratio."""

    modulus: float
    poisson: float


STEEL_JAW = Jaw(206.0, 0.3)
"""Hardened steel (textbook values, from memory)."""


@dataclass(frozen=True, slots=True)
class Contact:
    """One contact of two bodies: radius of the patch, mm; approach, mm; largest pressure, MPa."""

    radius: float
    approach: float
    pressure: float


@dataclass(frozen=True, slots=True)
class Expected:
    """What a model says that a ball loses in diameter between two flat jaws.

    Parameters
    ----------
    law : str
        ``"shell"`` or ``"solid"``.
    force : float
        N.
    squeeze : Uncertain
        Loss of diameter at both contacts together, mm, from the middles of the ranges and their rectangles.
    low, high : float
        The least and the most that any values inside the ranges give, mm.
    budget : Budget
        Which of the inputs makes it uncertain.
    notes : tuple of str
        Where the model is near the end of its range.
    """

    law: Law
    force: float
    squeeze: Uncertain
    low: float
    high: float
    budget: Budget
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plausibility:
    """A measured squeeze beside a model's.

    Parameters
    ----------
    ratio : float
        Measured over expected.
    low, high : float
        Interval of the measured squeeze, mm.
    in_line : bool
        The interval meets the range of the model.
    note : str
        What that means, in one sentence.
    """

    ratio: float
    low: float
    high: float
    in_line: bool
    note: str


def shell_stiffness(modulus: ArrayLike, wall: ArrayLike, radius: ArrayLike, poisson: ArrayLike) -> Array:
    """Give the stiffness of a thin spherical shell under a point load on one pole.

    Parameters
    ----------
    modulus, wall, radius, poisson : array_like of float
        Young's modulus, GPa; wall, mm; radius to the middle of the wall, mm; Poisson's ratio. Shapes that broadcast.

    Returns
    -------
    ndarray of float
        N/mm for one pole, in the common shape; NaN where an input is.

    Notes
    -----
    Reissner (1946), k = 4 E t^2 / (R sqrt(3 (1 - nu^2))) (formula from memory; the form 8 D / l^2 with D the bending
    stiffness and l^4 = D R^2/(E t) gives the same). Holds for movements far below the wall.
    """
    e, t, r, nu = (np.asarray(item, dtype=np.float64) for item in (modulus, wall, radius, poisson))
    return np.asarray(4.0 * 1000.0 * e * t**2 / (r * np.sqrt(3.0 * (1.0 - nu**2))))


def shell_squeeze(
    force: float, diameter: Rectangular, wall: Rectangular, modulus: Rectangular, poisson: Rectangular
) -> Expected:
    """Give how much a hollow ball loses in diameter between flat jaws, according to Reissner.

    Parameters
    ----------
    force : float
        Of the jaws, N, above 0.
    diameter, wall : Rectangular
        Ranges of the outer diameter and of the wall, mm.
    modulus, poisson : Rectangular
        Ranges of Young's modulus, GPa, and of Poisson's ratio.

    Returns
    -------
    Expected
        Never NaN.

    Raises
    ------
    BadRequest
        A range that no ball has, or a force that moves a pole by more than half a wall.

    Notes
    -----
    Two poles: 2 F/k with `shell_stiffness`, the radius that of the middle of the wall. A plate presses like a point
    as long as its patch is small.
    """
    _check(force, modulus, poisson, ("diameter", diameter), ("wall", wall))
    if wall.high >= diameter.low / 2.0:
        raise BadRequest(
            Fault("shell_squeeze, wall", f"up to {wall.high} mm", "less than half the diameter", "give mm")
        )

    def lost(diameter: float, wall: float, modulus: float, poisson: float) -> float:
        return 2.0 * force / float(shell_stiffness(modulus, wall, (diameter - wall) / 2.0, poisson))

    given = {
        "diameter": diameter.uncertain("mm"), "wall": wall.uncertain("mm"), "modulus": modulus.uncertain("GPa"),
        "poisson": poisson.uncertain(),
    }  # fmt: skip
    budget = propagate(lost, given, unit="mm")
    low = lost(diameter.low, wall.high, modulus.high, poisson.high)
    high = lost(diameter.high, wall.low, modulus.low, poisson.low)
    if budget.result.value / 2.0 > SHELL_MOST * given["wall"].value:
        found = f"{budget.result.value / 2.0:.3g} mm at each pole of a wall of {given['wall'].value:.3g} mm"
        rule = f"up to {SHELL_MOST:g} walls: beyond, the law is not straight"
        raise BadRequest(Fault("shell_squeeze, force", found, rule, "press less"))
    soft = high / 2.0 > SHELL_MOST * wall.low
    notes = ("The softest ball of these ranges would leave the straight law: press less.",) if soft else ()
    return Expected("shell", force, budget.result, low, high, budget, notes)


def contact_modulus(modulus: float, poisson: float, other: Jaw) -> float:
    """Give the modulus of a contact of two bodies.

    Parameters
    ----------
    modulus, poisson : float
        Young's modulus of the ball, GPa, and its Poisson's ratio.
    other : Jaw
        The other body.

    Returns
    -------
    float
        GPa; 1/E* = (1 - nu1^2)/E1 + (1 - nu2^2)/E2.

    Notes
    -----
    Hertz; textbook formula, from memory.
    """
    return 1.0 / ((1.0 - poisson**2) / modulus + (1.0 - other.poisson**2) / other.modulus)


def hertz_contact(force: float, radius: float, modulus: float) -> Contact:
    """Give patch, approach and pressure of one contact.

    Parameters
    ----------
    force : float
        N, not negative.
    radius : float
        Relative radius, mm: that of the ball against a flat, R1 R2/(R1 + R2) for two balls.
    modulus : float
        Of the contact, GPa (`contact_modulus`).

    Returns
    -------
    Contact
        Radius of the patch and approach in mm, pressure in MPa.

    Raises
    ------
    BadRequest
        Arguments outside these ranges.

    Notes
    -----
    Hertz: a = (3 F R/(4 E*))^(1/3), approach a^2/R, pressure 3 F/(2 pi a^2); in handbook form a = 0.721 (P K C)^(1/3),
    y = 1.040 (P^2 C^2/K)^(1/3) with K the diameter and C = 1/E* (Roark, table 14.1, seen). Frictionless and linear.
    """
    if not (force >= 0.0 and radius > 0.0 and modulus > 0.0):
        found = f"force {force} N, radius {radius} mm, modulus {modulus} GPa"
        raise BadRequest(Fault("hertz_contact", found, "a force from 0, the others above 0", "change the arguments"))
    patch = (0.75 * force * radius / (1000.0 * modulus)) ** (1.0 / 3.0)
    pressure = 1.5 * force / (math.pi * patch**2) if patch > 0.0 else 0.0
    return Contact(patch, patch**2 / radius, pressure)


def solid_squeeze(
    force: float, diameter: Rectangular, modulus: Rectangular, poisson: Rectangular, jaw: Jaw = STEEL_JAW
) -> Expected:
    """Give how much a solid ball loses in diameter between flat jaws, according to Hertz.

    Parameters
    ----------
    force : float
        Of the jaws, N, above 0.
    diameter : Rectangular
        Range of the diameter, mm.
    modulus, poisson : Rectangular
        Ranges of Young's modulus, GPa, and of Poisson's ratio.
    jaw : Jaw
        Hardened steel when left out.

    Returns
    -------
    Expected
        Never NaN.

    Raises
    ------
    BadRequest
        A range that no ball has, or a force whose patch is wider than `HERTZ_MOST` of the ball.

    Notes
    -----
    The approach of `hertz_contact` at both jaws.
    """
    _check(force, modulus, poisson, ("diameter", diameter))

    def lost(diameter: float, modulus: float, poisson: float) -> float:
        return 2.0 * hertz_contact(force, diameter / 2.0, contact_modulus(modulus, poisson, jaw)).approach

    given = {
        "diameter": diameter.uncertain("mm"), "modulus": modulus.uncertain("GPa"), "poisson": poisson.uncertain(),
    }  # fmt: skip
    budget = propagate(lost, given, unit="mm")
    wide = math.sqrt(budget.result.value / given["diameter"].value)  # a/R from the approach a^2/R
    if wide > HERTZ_MOST:
        found = f"a patch of {wide:.2g} ball radii"
        raise BadRequest(Fault("solid_squeeze, force", found, f"up to {HERTZ_MOST:g}, where Hertz holds", "press less"))
    notes = (f"The patch is {wide:.2g} ball radii: Hertz is a few per cent off.",) if wide > HERTZ_FINE else ()
    low = lost(diameter.high, modulus.high, poisson.high)
    high = lost(diameter.low, modulus.low, poisson.low)
    return Expected("solid", force, budget.result, low, high, budget, notes)


def squeeze_in_line(measured: Uncertain, expected: Expected, confidence: float = 0.95) -> Plausibility:
    """Hold a measured squeeze against a model's.

    Parameters
    ----------
    measured : Uncertain
        Loss of diameter at the force of `expected`, mm.
    expected : Expected
        From `shell_squeeze` or `solid_squeeze`.
    confidence : float
        Of the interval of the measured squeeze, between 0 and 1.

    Returns
    -------
    Plausibility
        NaN in the interval where `measured` has no degrees of freedom; it is not in line then.
    """
    low, high = measured.interval(confidence)
    inside = low <= expected.high and high >= expected.low
    span = f"{expected.low:.3g} to {expected.high:.3g} mm at {expected.force:.3g} N"
    note = (
        f"In line with a {expected.law} of these ranges ({span})."
        if inside
        else f"Not in line with a {expected.law} of these ranges ({span}): check force, jaws, wall and material."
    )
    return Plausibility(measured.value / expected.squeeze.value, low, high, inside, note)


def wall_thickness(mass: Uncertain, diameter: Uncertain, density: Uncertain) -> Budget:
    """Give the mean wall of a hollow ball.

    Parameters
    ----------
    mass : Uncertain
        Balance reading, g. The air inside an unpressurised ball weighs what it displaces, so nothing is added.
    diameter : Uncertain
        Outer diameter, mm.
    density : Uncertain
        Of the wall, g/cm3.

    Returns
    -------
    Budget
        Wall, mm.

    Raises
    ------
    BadRequest
        A value that is not above 0, or a mass that even a solid ball does not have.

    Notes
    -----
    Volume of the wall m/density = (4/3) pi (R^3 - (R - t)^3), exact for an even wall.
    """
    named = (("mass", mass, "g"), ("diameter", diameter, "mm"), ("density", density, "g/cm3"))
    faults = [
        Fault(f"wall_thickness, {name}", f"{item.value} {unit}", "above 0", "change the argument")
        for name, item, unit in named
        if item.value <= 0.0
    ]
    if faults:
        raise BadRequest(faults)
    solid = density.value * math.pi / 6.0 * diameter.value**3 / 1000.0
    if mass.value > solid * (1.0 + 1e-12):
        found, rule = f"{mass.value} g", f"up to {solid:.4g} g, what a solid ball of this density weighs"
        raise BadRequest(Fault("wall_thickness, mass", found, rule, "check mass, diameter and density"))

    def wall(mass: float, diameter: float, density: float) -> float:
        radius = diameter / 2.0
        return radius - float(np.cbrt(radius**3 - 750.0 * mass / (math.pi * density)))

    return propagate(wall, {"mass": mass, "diameter": diameter, "density": density}, unit="mm")


def _check(force: float, modulus: Rectangular, poisson: Rectangular, *lengths: tuple[str, Rectangular]) -> None:
    """Say all that is out of range."""
    faults = []
    if not (math.isfinite(force) and force > 0.0):
        faults.append(Fault("force", f"{force} N", "a finite number above 0", "give the force of the jaws in N"))
    if modulus.low <= 0.0:
        faults.append(Fault("modulus", f"from {modulus.low} GPa", "above 0", "give GPa: 2.2 for a hard plastic"))
    if not (poisson.low >= 0.0 and poisson.high <= 0.5):
        faults.append(Fault("poisson", f"{poisson.low} to {poisson.high}", "from 0 to 0.5", "0.3 to 0.4 for plastics"))
    faults += [
        Fault(name, f"from {length.low} mm", "above 0", "give mm") for name, length in lengths if length.low <= 0.0
    ]
    if faults:
        raise BadRequest(faults)
