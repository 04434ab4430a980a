"""What all flights of a test share, drawn once: the ball, the air, gravity, drag, contact time, drop height.

Every array has the estimates in its first place and draws behind it (JCGM 101:2008, 7.2), so that one pass gives the
value and its spread. Errors that are shared stay shared: over the drops of a ball, over the balls of a test.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.bouncing.results import BounceSettings, Spread
from ballbench.physics.air import weighed_in_air
from ballbench.physics.sphere_drag import flight_drag
from ballbench.physics.vertical_flight import Faller
from ballbench.quantities.uncertain import Uncertain

__all__ = ["DRAWS", "SharedDraws", "named_rng", "share", "spread_of"]

Array = NDArray[np.float64]

DRAWS = 8000
"""An end of a 95 % interval then scatters by about 2 % of its half width (own choice)."""


@dataclass(frozen=True, slots=True)
class SharedDraws:
    """Estimates and draws of what is shared, each of shape (M,), SI units.

    Parameters
    ----------
    mass, diameter, air, gravity, contact : array
        kg, m, kg/m3, m/s2, s; the contact is that of the first impact.
    slowing : array
        With which power of the speed contacts get longer as the ball gets slower.
    height : array or None
        Drop height, m; None: not known.
    drag : array
        The stated drag coefficient, or the factor on that of a smooth sphere.
    stated : bool
        Which of the two.
    toughness : float
        Kinematic viscosity of the air, m2/s.
    """

    mass: Array
    diameter: Array
    air: Array
    gravity: Array
    contact: Array
    slowing: Array
    height: Array | None
    drag: Array
    stated: bool
    toughness: float

    def faller(self, speeds: Array) -> Faller:
        """Give the ball in the air, (M, K), for K flights whose largest speeds, m/s, are about these.

        The coefficient of a flight is the same whatever its ball's other draws are; above the range of the curve for
        smooth spheres it keeps the value at its end.
        """
        if self.stated:
            drag = self.drag[:, None]
        else:
            drag = self.drag[:, None] * flight_drag(speeds, float(self.diameter[0]), self.toughness)
        return Faller(self.mass[:, None], self.diameter[:, None], drag, self.air[:, None], self.gravity[:, None])


def share(settings: BounceSettings, viscosity: float, seed: int, draws: int = DRAWS) -> SharedDraws:
    """Draw what is shared.

    Parameters
    ----------
    settings : BounceSettings
        What is known, with its uncertainty; every input is taken as normal.
    viscosity : float
        Dynamic viscosity of the air, Pa s.
    seed : int
        Each input has its own stream, so that one that is added or left out changes no other.
    draws : int
        How many.

    Returns
    -------
    SharedDraws
        `draws` + 1 long.
    """

    def drawn(name: str, known: Uncertain, scale: float = 1.0) -> Array:
        steps = named_rng(seed, name).standard_normal(draws)
        least = 0.05 * known.value  # nothing here can turn negative, however coarsely it is known
        return np.concatenate(([known.value], np.maximum(known.value + known.u * steps, least))) * scale

    diameter, air = drawn("diameter", settings.diameter, 1e-3), drawn("air", settings.air_density)
    if settings.weighed is None:
        mass = drawn("mass", settings.mass, 1e-3)
    else:
        mass = weighed_in_air(drawn("mass", settings.weighed, 1e-3), diameter, air)
    height, slowing = settings.drop_height, settings.slowing
    drag = settings.drag or Uncertain(1.0, settings.drag_u)
    return SharedDraws(
        mass=mass,
        diameter=diameter,
        air=air,
        gravity=drawn("gravity", settings.gravity),
        contact=drawn("contact", settings.contact),
        slowing=np.concatenate(
            ([slowing.value], slowing.value + slowing.u * named_rng(seed, "slowing").standard_normal(draws))
        ),
        height=None if height is None else drawn("drop height", height, 1e-3),
        drag=drawn("drag", drag),
        stated=settings.drag is not None,
        toughness=viscosity / settings.air_density.value,
    )


def named_rng(seed: int, *names: str) -> np.random.Generator:
    """Give a generator that depends on the seed and the names alone."""
    digest = hashlib.sha256("\0".join(names).encode()).digest()[:8]
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence([seed, int.from_bytes(digest, "big")])))


def spread_of(values: Array, scale: float = 1.0) -> Spread:
    """Give estimate, SD and central 95 % interval of an array (M,) whose first place is the estimate."""
    drawn = values[1:]
    if not np.all(np.isfinite(values)):
        return Spread(float(values[0]) * scale, math.nan, math.nan, math.nan)
    low, high = np.quantile(drawn, (0.025, 0.975))
    return Spread(float(values[0]) * scale, float(np.std(drawn)) * scale, float(low) * scale, float(high) * scale)
