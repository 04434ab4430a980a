"""How large a ball is that nothing presses: readings at two or more forces, drawn out to no force.

A thin shell gives way in proportion to the force, a solid ball to its power 2/3 (Hertz). Either is a straight line in
g = F or g = F^(2/3), y = D - s g, whose end at g = 0 is the diameter without force.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.physics.jaw_contact import HERTZ_FINE, HERTZ_MOST, SHELL_MOST, Law
from ballbench.physics.jaw_forces import JawForces
from ballbench.quantities.propagation import effective_dof
from ballbench.quantities.uncertain import Uncertain

__all__ = ["APART", "LEAST_RATIO", "Repeatability", "Shares", "ZeroForce", "squeeze_of_make", "to_zero_force"]

Array = NDArray[np.float64]

LEAST_RATIO = 1.5
"""Largest over smallest force from which a line is drawn (own choice: at this ratio the uncertainty of a reading comes
out 3.6 times as large, at 2 it is 2.2 times, at 3 it is 1.6 times)."""
APART = 4.0
"""Standard uncertainties of their difference by which the two outer forces must differ (own choice: nearer, first
order no longer holds)."""
_BACKWARD = 3.0  # standard uncertainties by which a ball may seem to grow under force (own choice)
_POOR = 0.05  # chance of such residuals under which the line is said to fit badly (common practice, no source)
_ROUNDS = 4  # the slope weighs the forces' uncertainty, which moves the slope: settled long before (own choice)
_EXPONENTS: dict[str, float] = {"shell": 1.0, "solid": 2.0 / 3.0}


@dataclass(frozen=True, slots=True)
class Repeatability:
    """SD of displayed readings at one force and place, mm, jaws reset between them, and its degrees of freedom."""

    sd: float
    dof: float = math.inf


@dataclass(frozen=True, slots=True)
class Shares:
    """Where a standard uncertainty comes from, mm: readings, forces, and what all readings have in common."""

    readings: float
    forces: float
    shared: float


@dataclass(frozen=True, slots=True)
class ZeroForce:
    """A ball without force, from readings under force.

    Parameters
    ----------
    law : str
        ``"shell"`` or ``"solid"``.
    diameter : Uncertain
        At no force, mm. What all readings share, such as the calibration, is in it in full.
    diameter_shares : Shares
        Parts of its uncertainty.
    slope : Uncertain
        mm/N for a shell, mm/N^(2/3) for a solid ball: diameter lost.
    force : float
        N, to which `squeeze` belongs.
    squeeze : Uncertain
        How much smaller the ball reads at `force`, mm: the correction that is added to ordinary readings. What all
        readings share cancels in it.
    squeeze_shares : Shares
        Parts of its uncertainty.
    chi2, fit_dof, p_fit : float
        Weighted squares of the residuals, their degrees of freedom, and the chance of such ones or larger; `p_fit` is
        NaN for two forces, through which any line goes.
    notes : tuple of str
        What a reader must know.
    """

    law: Law
    diameter: Uncertain
    diameter_shares: Shares
    slope: Uncertain
    force: float
    squeeze: Uncertain
    squeeze_shares: Shares
    chi2: float
    fit_dof: int
    p_fit: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Line:
    """Weights that make end and slope out of the mean readings, and what went into them."""

    means: Array
    spread: Array  # variance of each mean, mm^2
    noise_dof: float
    g: Array
    g_square: Array
    end: Array
    rise: Array
    chi2: float

    @property
    def slope(self) -> float:
        return float(self.rise @ self.means)


def to_zero_force(
    readings: Sequence[Sequence[float]],
    forces: JawForces,
    law: Law,
    *,
    step: float,
    repeatability: Repeatability | None = None,
    shared_u: float = 0.0,
    wall: float | None = None,
    at_force: Uncertain | None = None,
) -> ZeroForce:
    """Draw readings of one ball at one place under several forces out to no force.

    Parameters
    ----------
    readings : sequence of sequence of float
        Diameters, mm: one sequence for each force, each with one reading at least.
    forces : JawForces
        N, in the same order.
    law : str
        ``"shell"`` for a thin hollow ball, ``"solid"`` for a solid one.
    step : float
        Display step, mm, above 0.
    repeatability : Repeatability or None
        None: pooled over the readings at each force, of which one force must then have three, or two forces two.
    shared_u : float
        Standard uncertainty, mm, of what strikes every reading alike: the calibration, a zero set once.
    wall : float or None
        Of a shell, mm. Without it nothing says whether the ball was pressed too far.
    at_force : Uncertain or None
        Force of ordinary readings, N; the smallest of `forces` when left out.

    Returns
    -------
    ZeroForce
        Only `p_fit` may be NaN.

    Raises
    ------
    BadRequest
        Numbers that cannot be; forces too near to each other; a ball that seems to grow under force; a pole of a shell
        moved by more than half its wall; a solid ball pressed beyond Hertz.

    Notes
    -----
    Two forces: D = (g2 y1 - g1 y2)/(g2 - g1), so u^2 = (g2^2 u1^2 + g1^2 u2^2)/(g2 - g1)^2 from the readings. More: the
    line of least squares, weighted by the covariance of the readings with s^2 times that of g added (effective
    variance; textbook method, from memory). Uncertainties by JCGM 100:2008, 5.2.2; degrees of freedom by G.2b. A mean
    of readings whose SD is under half a step keeps step/sqrt(12), for their rounding is one and the same (own choice).
    """
    _check(readings, forces, law, step, repeatability, shared_u, wall, at_force)
    line = _fit(readings, forces, law, step, repeatability)
    most = max(forces.values) if at_force is None else max(*forces.values, at_force.value)
    _refuse(line, law, wall, most ** _EXPONENTS[law])
    noise, pulls = math.sqrt(float(line.end**2 @ line.spread)), _force_part(line, line.end)
    diameter = _uncertain(float(line.end @ line.means), Shares(noise, pulls, shared_u), line.noise_dof)
    rise_noise = math.sqrt(float(line.rise**2 @ line.spread))
    slope = _uncertain(line.slope, Shares(rise_noise, _force_part(line, line.rise), 0.0), line.noise_dof, law)
    force, squeeze, shares = _at(line, law, forces, at_force)
    fit_dof = len(readings) - 2
    p_fit = math.nan
    if fit_dof:
        known = math.isinf(line.noise_dof)
        p_fit = float(
            stats.chi2.sf(line.chi2, fit_dof) if known else stats.f.sf(line.chi2 / fit_dof, fit_dof, line.noise_dof)
        )
    notes = _notes(line, law, wall, slope, p_fit)
    if most > max(forces.values):
        notes += ("The squeeze was asked for at a larger force than any that was read.",)
    return ZeroForce(
        law, diameter, Shares(noise, pulls, shared_u), slope, force, squeeze, shares, line.chi2, fit_dof, p_fit, notes
    )


def squeeze_of_make(places: Sequence[ZeroForce], balls: Sequence[str] | None = None) -> Uncertain:
    """Give the squeeze of a make from several of its balls.

    Parameters
    ----------
    places : sequence of ZeroForce
        Pressed at one force, with the same weights or the same hand.
    balls : sequence of str or None
        Which ball each place is of; None: every place is a ball of its own.

    Returns
    -------
    Uncertain
        Mean squeeze of the balls, mm, each the mean of its places; standard uncertainty from the scatter of the balls,
        never less than from the noise of their readings, and, not averaged away, from the forces that they share. With
        one ball the scatter of balls is not known, and noise stands for it.

    Raises
    ------
    BadRequest
        Fewer than two places, different forces, or not one ball for each place.

    Notes
    -----
    JCGM 100:2008, 4.2.3; G.2b for the degrees of freedom, which are those of the larger of scatter and noise. The walls
    of balls differ: their scatter is in the readings as part of the balls' size.
    """
    of = [str(number) for number in range(len(places))] if balls is None else list(balls)
    faults = []
    if len(places) < 2:
        faults.append(Fault("squeeze_of_make", f"{len(places)} ball", "two or more", "press more balls of the make"))
    if len(of) != len(places):
        faults.append(Fault("squeeze_of_make", f"{len(of)} names of balls", f"{len(places)}", "name each place's ball"))
    if len({place.force for place in places}) > 1:
        found = ", ".join(f"{force:g} N" for force in sorted({place.force for place in places}))
        faults.append(Fault("squeeze_of_make", found, "one force", "ask for the squeeze at one force"))
    if faults:
        raise BadRequest(faults)
    own = [[place for place, name in zip(places, of, strict=True) if name == ball] for ball in dict.fromkeys(of)]
    values = np.array([np.mean([place.squeeze.value for place in ball]) for ball in own])
    noises = [math.sqrt(sum(p.squeeze_shares.readings**2 for p in ball)) / len(ball) for ball in own]
    scatter = float(values.std(ddof=1)) / math.sqrt(values.size) if values.size > 1 else 0.0
    noise = math.hypot(*noises) / values.size
    dof = values.size - 1.0 if scatter > noise else min(_noise_dof(place) for place in places)
    pulls = float(np.mean([np.mean([place.squeeze_shares.forces for place in ball]) for ball in own]))
    parts = (max(scatter, noise), pulls)
    return Uncertain(float(values.mean()), math.hypot(*parts), effective_dof(parts, (dof, math.inf)), "mm")


def _noise_dof(place: ZeroForce) -> float:
    """Degrees of freedom of the readings' part, out of those of the whole (JCGM 100:2008, G.2b, turned round)."""
    u = place.squeeze.u
    return math.inf if u == 0.0 else max(place.squeeze.dof * (place.squeeze_shares.readings / u) ** 4, 1.0)


def _check(
    readings: Sequence[Sequence[float]],
    forces: JawForces,
    law: str,
    step: float,
    repeatability: Repeatability | None,
    shared_u: float,
    wall: float | None,
    at_force: Uncertain | None,
) -> None:
    """Say all that is wrong with what was given."""
    faults = []
    if law not in _EXPONENTS:
        faults.append(Fault("to_zero_force, law", str(law), "shell or solid", "say what the ball is"))
    if len(readings) != len(forces.values) or not all(len(at) for at in readings):
        found = f"{len(readings)} sets for {len(forces.values)} forces"
        faults.append(Fault("to_zero_force, readings", found, "readings at each force", "give a set for each force"))
    for place, at in enumerate(readings, 1):
        faults += [
            Fault(f"to_zero_force, force {place}", f"{value} mm", "a diameter above 0 mm", "correct the reading")
            for value in at
            if not (math.isfinite(value) and value > 0.0)
        ]
    sizes: list[tuple[str, float, str]] = [("step", step, "the display step in mm")]
    sizes += [("wall", wall, "the wall in mm")] if wall is not None else []
    sizes += [("at_force", at_force.value, "the force in N")] if at_force is not None else []
    faults += [
        Fault(f"to_zero_force, {name}", f"{value:g}", "a finite number above 0", f"give {what}")
        for name, value, what in sizes
        if not (math.isfinite(value) and value > 0.0)
    ]
    if not (math.isfinite(shared_u) and shared_u >= 0.0):
        faults.append(Fault("to_zero_force, shared_u", f"{shared_u:g}", "a finite number from 0", "give mm"))
    if repeatability is not None and not (
        math.isfinite(repeatability.sd) and repeatability.sd >= 0.0 and repeatability.dof > 0.0
    ):
        found = f"SD {repeatability.sd:g}, {repeatability.dof:g} degrees of freedom"
        faults.append(
            Fault("to_zero_force, repeatability", found, "an SD from 0, degrees of freedom above 0", "give mm")
        )
    if repeatability is None and sum(len(at) - 1 for at in readings) < 2:
        found = "too few repeats to find the noise from"
        todo = "read three times at a force or twice at two, or give the instrument's repeatability"
        faults.append(Fault("to_zero_force, readings", found, "two degrees of freedom", todo))
    faults += _too_near(forces)
    if faults:
        raise BadRequest(faults)


def _too_near(forces: JawForces) -> list[Fault]:
    """Say whether the outer forces are too much alike."""
    values, square = np.array(forces.values), np.array(forces.covariance)
    low, high = int(values.argmin()), int(values.argmax())
    found = f"{values[low]:.3g} and {values[high]:.3g} N"
    if values[high] < LEAST_RATIO * values[low]:
        return [Fault("forces", found, f"a ratio of {LEAST_RATIO:g} or more", "press twice or three times as hard")]
    apart = math.sqrt(max(square[low, low] + square[high, high] - 2.0 * square[low, high], 0.0))
    if values[high] - values[low] < APART * apart:
        rule = f"{APART:g} standard uncertainties ({apart:.2g} N) between them"
        return [Fault("forces", found, rule, "know the forces better: hang weights on the slide")]
    return []


def _fit(
    readings: Sequence[Sequence[float]], forces: JawForces, law: Law, step: float, repeatability: Repeatability | None
) -> _Line:
    """Fit the line."""
    counts = np.array([len(at) for at in readings], dtype=np.float64)
    means = np.array([math.fsum(at) / len(at) for at in readings])
    if repeatability is None:
        dof = float((counts - 1.0).sum())
        squares = math.fsum(
            (value - mean) ** 2 for at, mean in zip(readings, means.tolist(), strict=True) for value in at
        )
        repeatability = Repeatability(math.sqrt(squares / dof), dof)
    spread, noise_dof = repeatability.sd**2 / counts, repeatability.dof
    if repeatability.sd < 0.5 * step:
        rounding = step**2 / 12.0
        noise_dof = math.inf if np.all(spread <= rounding) else noise_dof  # rounding has its known limits
        spread = np.maximum(spread, rounding)
    force, power = np.array(forces.values), _EXPONENTS[law]
    turn = power * force ** (power - 1.0)
    g, g_square = force**power, np.outer(turn, turn) * np.array(forces.covariance)
    design = np.column_stack([np.ones_like(g), -g])
    slope = 0.0
    weights: Array = np.zeros((2, g.size))
    inverse: Array = np.zeros((g.size, g.size))
    for _ in range(_ROUNDS):
        inverse = np.asarray(np.linalg.inv(np.diag(spread) + slope**2 * g_square), dtype=np.float64)
        weights = np.asarray(np.linalg.solve(design.T @ inverse @ design, design.T @ inverse), dtype=np.float64)
        slope = float(weights[1] @ means)
    rest = means - design @ (weights @ means)
    chi2 = float(rest @ inverse @ rest) if g.size > 2 else 0.0
    return _Line(means, spread, noise_dof, g, g_square, weights[0], weights[1], chi2)


def _force_part(line: _Line, weights: Array) -> float:
    """Standard uncertainty of a weighted mean of readings from the forces: each stands s dg beside the line."""
    return abs(line.slope) * math.sqrt(max(float(weights @ line.g_square @ weights), 0.0))


def _uncertain(value: float, shares: Shares, noise_dof: float, law: Law | None = None) -> Uncertain:
    """Put the parts together."""
    parts = (shares.readings, shares.forces, shares.shared)
    unit = "mm" if law is None else {"shell": "mm/N", "solid": "mm/N^(2/3)"}[law]
    return Uncertain(value, math.hypot(*parts), effective_dof(parts, (noise_dof, math.inf, math.inf)), unit)


def _at(line: _Line, law: Law, forces: JawForces, at_force: Uncertain | None) -> tuple[float, Uncertain, Shares]:
    """Give the squeeze at a force, its uncertainty and the parts of it."""
    power = _EXPONENTS[law]
    place = int(np.argmin(line.g))
    force = forces.values[place] if at_force is None else at_force.value
    g = force**power
    noise = g * math.sqrt(float(line.rise**2 @ line.spread))
    if at_force is None:
        pulls = _force_part(line, g * line.rise + np.eye(line.g.size)[place])
    else:
        pulls = math.hypot(g * _force_part(line, line.rise), line.slope * power * force ** (power - 1.0) * at_force.u)
    shares = Shares(noise, pulls, 0.0)
    return force, _uncertain(line.slope * g, shares, line.noise_dof), shares


def _refuse(line: _Line, law: Law, wall: float | None, most: float) -> None:
    """Refuse a ball that grows, and one that is pressed too far by a force whose g is `most`."""
    u = math.hypot(math.sqrt(float(line.rise**2 @ line.spread)), _force_part(line, line.rise))
    if line.slope < -_BACKWARD * u:
        found = f"readings that grow with the force, by {-line.slope * float(np.ptp(line.g)):.3g} mm"
        todo = "check which readings belong to which force, and read the same place"
        raise BadRequest(Fault("to_zero_force, readings", found, "readings that shrink, or stay", todo))
    pole = line.slope * most / 2.0
    if law == "shell" and wall is not None and pole > SHELL_MOST * wall:
        found = f"{pole:.3g} mm at each pole of a wall of {wall:.3g} mm"
        rule = f"up to {SHELL_MOST:g} walls: beyond, the line is none"
        raise BadRequest(Fault("to_zero_force, largest force", found, rule, "press less"))
    if law == "solid" and _patch(line, most) > HERTZ_MOST:
        rule = f"up to {HERTZ_MOST:g}, where Hertz holds"
        raise BadRequest(
            Fault("to_zero_force, largest force", f"a patch of {_patch(line, most):.2g} ball radii", rule, "press less")
        )


def _patch(line: _Line, g: float) -> float:
    """Give the radius of the patch in ball radii at a force: the approach is a^2/R."""
    return math.sqrt(max(line.slope * g / float(line.end @ line.means), 0.0))


def _notes(line: _Line, law: Law, wall: float | None, slope: Uncertain, p_fit: float) -> tuple[str, ...]:
    """Say what a reader must know."""
    notes = []
    if abs(line.slope) < 2.0 * slope.u:
        notes.append("No squeeze was found beyond the noise: the correction adds uncertainty and little else.")
    if law == "shell" and wall is None:
        notes.append(f"The wall is not known, so nothing says whether a pole moved by more than {SHELL_MOST:g} walls.")
    if law == "solid" and _patch(line, float(line.g.max())) > HERTZ_FINE:
        notes.append("The patch is more than a tenth of the ball's radius: Hertz is a few per cent off.")
    if p_fit < _POOR:
        notes.append(
            f"The readings do not lie on the line of a {law} ball (p = {p_fit:.2g}): another law, creep, or friction."
        )
    return tuple(notes)
