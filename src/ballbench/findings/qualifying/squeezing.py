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
from ballbench.physics.jaw_forces import separate_forces
from ballbench.physics.squeeze import Repeatability, ZeroForce, squeeze_of_make, to_zero_force
from ballbench.quantities.coverage import Rectangular
from ballbench.quantities.uncertain import Uncertain
from ballbench.records.bench import Instrument
from ballbench.records.force_readings import ForceReading

__all__ = ["FORCE_U", "BallMaterial", "squeeze_found"]

Law = Literal["shell", "solid"]

FORCE_U = 0.05
"""Relative standard uncertainty of a force, where nothing else is said: friction of the slide (own choice)."""

WORTH_SAYING = 1.05
"""How much wider an uncertainty is made before a note says so (own choice)."""


@dataclass(frozen=True, slots=True)
class BallMaterial:
    """What a ball is made of, as ranges: Young's modulus, GPa; Poisson's ratio; wall of a shell, mm, or None."""

    modulus: Rectangular
    poisson: Rectangular
    wall: Rectangular | None = None


def squeeze_found(
    readings: Sequence[ForceReading], tool: Instrument, law: Law, at_force: float | None = None,
    force_u: float = FORCE_U, material: BallMaterial | None = None,
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
        Relative standard uncertainty of every force, independent of one another.
    material : BallMaterial or None
        Of the balls; with it each make is held against the model of its law, and pressing too far is refused.

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
            list(_balls(places, tool, law, usual, force_u, material)),
            law,
            material,
        )
        for product, places in _places(readings).items()
    )


def _places(readings: Sequence[ForceReading]) -> dict[str, dict[tuple[str, str], dict[float, list[float]]]]:
    """Sort the readings by make, then by ball and place, then by force."""
    found: dict[str, dict[tuple[str, str], dict[float, list[float]]]] = {}
    for row in readings:
        place = found.setdefault(row.product, {}).setdefault((row.ball, row.axis), {})
        place.setdefault(row.force, []).append(row.value)
    return found


def _balls(
    places: Mapping[tuple[str, str], Mapping[float, list[float]]], tool: Instrument, law: Law, usual: Uncertain | None,
    force_u: float, material: BallMaterial | None,
) -> Iterator[ZeroForce]:  # fmt: skip
    wall = None if material is None or material.wall is None else material.wall.uncertain("mm").value
    for (ball, axis), at in places.items():
        forces = sorted(at)
        where = f"ball {ball}" + (f", {axis}" if axis else "")
        if len(forces) < 2:
            found = f"one force, {forces[0]:g} N"
            raise BadRequest(Fault(where, found, "two forces or more", "read it once more with a weight on the slide"))
        pulls = separate_forces([Uncertain(force, force_u * force, unit="N") for force in forces])
        try:
            yield to_zero_force(
                [at[force] for force in forces], pulls, law, step=tool.resolution,
                repeatability=Repeatability(tool.sd, tool.dof), wall=wall, at_force=usual,
            )  # fmt: skip
        except BadRequest as error:
            raise BadRequest(
                [Fault(f"{where}: {f.where}", f.found, f.allowed, f.todo) for f in error.faults]
            ) from error


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
