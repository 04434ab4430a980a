"""The squeeze of each make from readings at two forces or more."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from ballbench.errors import BadRequest, Fault
from ballbench.findings.qualification import SqueezeFound
from ballbench.findings.qualifying.entry import widened
from ballbench.physics.jaw_contact import Expected, shell_squeeze, solid_squeeze, squeeze_in_line
from ballbench.physics.jaw_forces import JawForces, forces_together, hung_forces, separate_forces
from ballbench.physics.squeeze import Repeatability, ZeroForce, squeeze_of_make, to_zero_force
from ballbench.quantities.coverage import Rectangular
from ballbench.quantities.uncertain import Uncertain
from ballbench.records.bench import Instrument
from ballbench.records.force_readings import ForceReading

__all__ = ["FORCE_U", "FRICTION", "MASS_U", "SLIDE_U", "BallMaterial", "Hanging", "squeeze_found"]

Law = Literal["shell", "solid"]
_ByPull = dict[tuple[bool, float], list[float]]
"""Readings, mm, by what pulled: whether it hung, and its mass in g, else the force in N."""

FORCE_U = 0.05
"""Relative standard uncertainty of a force that was read in newtons, each by itself (own choice)."""
FRICTION = 0.3
"""Pull that the slide just resists, N, where it is not said (own choice: the slide of a caliper in order)."""
SLIDE_U, MASS_U = 2.0, 0.5
"""Standard uncertainties of the slide's mass and of each hung mass, g (own choices: kitchen scales)."""

WORTH_SAYING = 1.05
"""How much wider an uncertainty is made before a note says so (own choice)."""


@dataclass(frozen=True, slots=True)
class BallMaterial:
    """What a ball is made of, as ranges: Young's modulus, GPa; Poisson's ratio; wall of a shell, mm, or None."""

    modulus: Rectangular
    poisson: Rectangular
    wall: Rectangular | None = None


@dataclass(frozen=True, slots=True)
class Hanging:
    """How weights hang on the slide.

    Parameters
    ----------
    slide : float or None
        Mass of the slide and its jaw, g, which pulls with every weight; None: the stated masses hold it already.
    friction : float
        Pull that the slide just resists, N.
    """

    slide: float | None = None
    friction: float = FRICTION


def squeeze_found(
    readings: Sequence[ForceReading], tool: Instrument, law: Law, at_force: float | None = None,
    force_u: float = FORCE_U, material: BallMaterial | None = None, hanging: Hanging | None = None,
) -> tuple[SqueezeFound, ...]:  # fmt: skip
    """Find the squeeze of every make.

    Parameters
    ----------
    readings : sequence of ForceReading
        mm and N.
    tool : Instrument
        Its repeatability is that of every reading.
    law : str
        ``shell``: in proportion to the force; ``solid``: to its two thirds power.
    at_force : float or None
        Force of ordinary readings, N; None: the smallest that was read.
    force_u : float
        Relative standard uncertainty of every force in newtons, independent of one another.
    material : BallMaterial or None
        Of the balls; with it each make is held against the model of its law, and pressing too far is refused.
    hanging : Hanging or None
        How weights hang whose forces were written as masses: friction, slide and gravity are shared by all of them.

    Returns
    -------
    tuple of SqueezeFound
        One a make, in the order of the file; `sd` is widened for its degrees of freedom, for a bench file has no room
        for them.

    Raises
    ------
    BadRequest
        A ball with fewer than two forces, forces too near to each other, a ball that seems to grow; which ball is said.
    """
    usual = None if at_force is None else Uncertain(at_force, force_u * at_force, unit="N")
    return tuple(
        _of_make(
            product,
            [ball for ball, _ in places],
            list(_balls(places, tool, law, usual, force_u, material, hanging or Hanging())),
            law,
            material,
        )
        for product, places in _places(readings).items()
    )


def _places(readings: Sequence[ForceReading]) -> dict[str, dict[tuple[str, str], _ByPull]]:
    """Sort the readings by make, then by ball and place, then by what pulled."""
    found: dict[str, dict[tuple[str, str], _ByPull]] = {}
    for row in readings:
        place = found.setdefault(row.product, {}).setdefault((row.ball, row.axis), {})
        hangs = math.isfinite(row.hung)
        place.setdefault((hangs, row.hung if hangs else row.force), []).append(row.value)
    return found


def _pulls(at: _ByPull, force_u: float, hanging: Hanging) -> tuple[JawForces, list[list[float]]]:
    """Give the forces of a place with what they have in common, and the readings under each."""
    stated = sorted(pull for hangs, pull in at if not hangs)
    masses = sorted(pull for hangs, pull in at if hangs)
    groups = []
    if stated:
        groups.append(separate_forces([Uncertain(force, force_u * force, unit="N") for force in stated]))
    if masses:
        slide = Uncertain(hanging.slide or 0.0, SLIDE_U if hanging.slide else 0.0, unit="g")
        groups.append(hung_forces(masses, slide, hanging.friction, mass_u=MASS_U))
    return forces_together(*groups), [*(at[False, force] for force in stated), *(at[True, mass] for mass in masses)]


def _balls(
    places: Mapping[tuple[str, str], _ByPull], tool: Instrument, law: Law, usual: Uncertain | None, force_u: float,
    material: BallMaterial | None, hanging: Hanging,
) -> Iterator[ZeroForce]:  # fmt: skip
    wall = None if material is None or material.wall is None else material.wall.uncertain("mm").value
    for (ball, axis), at in places.items():
        where = f"ball {ball}" + (f", {axis}" if axis else "")
        if len(at) < 2:
            hangs, pull = next(iter(at))
            found = f"one force, {pull:g} {'g' if hangs else 'N'}"
            raise BadRequest(Fault(where, found, "two forces or more", "read it once more with a weight on the slide"))
        try:
            pulls, under = _pulls(at, force_u, hanging)
            yield to_zero_force(
                under, pulls, law, step=tool.resolution, repeatability=Repeatability(tool.sd, tool.dof), wall=wall,
                at_force=usual,
            )  # fmt: skip
        except BadRequest as error:
            raise BadRequest([_at_ball(where, fault) for fault in error.faults]) from error


def _at_ball(where: str, fault: Fault) -> Fault:
    """Name the ball in place of the function that refused it."""
    return Fault(f"{where}: {fault.where.split(', ', 1)[-1]}", fault.found, fault.allowed, fault.todo)


def _of_make(
    product: str, balls: Sequence[str], places: Sequence[ZeroForce], law: Law, material: BallMaterial | None
) -> SqueezeFound:
    notes = tuple(dict.fromkeys(note for place in places for note in place.notes))
    force = places[0].force
    if len(set(balls)) == 1:
        some = "one place" if len(places) == 1 else f"{len(places)} places"
        notes = (*notes, f"{some} of one ball of {product} pressed; other balls may give way otherwise")
    if len({place.force for place in places}) > 1:
        found = ", ".join(f"{place.force:g} N" for place in places)
        todo = "name the force of ordinary readings"
        raise BadRequest(Fault(f"squeeze of {product}", f"different smallest forces, {found}", "one force", todo))
    one = places[0].squeeze if len(places) == 1 else squeeze_of_make(places, balls)
    sd = widened(one.u, one.dof)
    if sd > WORTH_SAYING * one.u:
        wider = (
            f"the standard uncertainty of the squeeze of {product} is {sd / one.u:.1f} times as large as it was found, "
            f"for it rests on {one.dof:.0f} degrees of freedom (t/1.96)"
        )
        notes = (*notes, wider)
    low = high = math.nan
    if material is not None:
        expected = _expected(product, places, law, material)
        low, high = expected.low, expected.high
        notes = (*notes, *expected.notes, f"{product}: {squeeze_in_line(one, expected).note}")
    return SqueezeFound(product, law, force, max(one.value, 0.0), sd, low, high, notes)


def _expected(product: str, places: Sequence[ZeroForce], law: Law, material: BallMaterial) -> Expected:
    """Give what the model of a ball says at the force of ordinary readings."""
    sizes = [place.diameter.value for place in places]
    reach = max(1e-6, *(place.diameter.u for place in places))
    diameter = Rectangular(min(sizes) - reach, max(sizes) + reach)
    wall = material.wall
    if law == "shell" and wall is None:
        todo = "give the wall with --wall, or leave the modulus out"
        raise BadRequest(Fault(f"{product}: model of a shell", "no wall", "a range in mm, such as 0.38-0.44", todo))
    try:
        if law == "solid" or wall is None:
            return solid_squeeze(places[0].force, diameter, material.modulus, material.poisson)
        return shell_squeeze(places[0].force, diameter, wall, material.modulus, material.poisson)
    except BadRequest as error:
        raise BadRequest([Fault(f"{product}: {f.where}", f.found, f.allowed, f.todo) for f in error.faults]) from error
