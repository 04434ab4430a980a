"""With what force the jaws closed, and which errors the forces have in common.

An error that all forces share in proportion (gravity, the scale of a spring balance) leaves the diameter at zero force
where it is. One that they share as so many newtons (friction, the mass of the slide) moves it. So forces travel with
their covariance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.uncertain import Uncertain

__all__ = ["GRAVITY", "JawForces", "forces_together", "hung_forces", "separate_forces"]

GRAVITY = Uncertain(9.80665, 0.015, unit="m/s2")
"""Standard acceleration (a definition), with the spread of 9.780 to 9.832 m/s2 over the Earth at sea level as a
rectangle (from memory). Give the local value where it is known."""


@dataclass(frozen=True, slots=True)
class JawForces:
    """The forces of a squeeze test.

    Parameters
    ----------
    values : tuple of float
        N, one for each set of readings, all above 0.
    covariance : tuple of tuple of float
        N^2, in the same order.

    Raises
    ------
    BadRequest
        No force, a force that is not above 0, or a covariance of another shape.
    """

    values: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        size = len(self.values)
        faults = [
            Fault(f"force {place}", f"{value:g} N", "a finite number above 0", "leave out what did not press the ball")
            for place, value in enumerate(self.values, 1)
            if not (math.isfinite(value) and value > 0.0)
        ]
        if np.shape(self.covariance) != (size, size) or size == 0:
            found = f"{size} forces, covariance of shape {np.shape(self.covariance)}"
            faults.append(Fault("forces", found, "a row and a column for each force", "give one for each force"))
        elif not np.all(np.isfinite(self.covariance)) or float(np.linalg.eigvalsh(self.covariance).min()) < -1e-9:
            faults.append(Fault("forces, covariance", "no covariance matrix", "finite, never negative", "check it"))
        if faults:
            raise BadRequest(faults)


def separate_forces(forces: Sequence[Uncertain]) -> JawForces:
    """Take forces whose errors have nothing in common.

    Parameters
    ----------
    forces : sequence of Uncertain
        N.

    Returns
    -------
    JawForces
        With a diagonal covariance.
    """
    square = np.diag([force.u**2 for force in forces])
    return JawForces(tuple(force.value for force in forces), tuple(map(tuple, square.tolist())))


def forces_together(*groups: JawForces) -> JawForces:
    """Put forces side by side whose errors have nothing in common from one group to the next.

    Parameters
    ----------
    *groups : JawForces
        One at least; inside a group errors stay as they are shared.

    Returns
    -------
    JawForces
        In the order of the groups.
    """
    values = tuple(value for group in groups for value in group.values)
    square, start = np.zeros((len(values), len(values))), 0
    for group in groups:
        own = slice(start, start + len(group.values))
        square[own, own] = group.covariance
        start += len(group.values)
    return JawForces(values, tuple(map(tuple, square.tolist())))


def hung_forces(
    masses: Sequence[float], slide: Uncertain, friction: float, *, mass_u: float = 0.0, gravity: Uncertain = GRAVITY
) -> JawForces:
    """Give the forces of weights that are hung on the slide of a caliper held upright.

    Parameters
    ----------
    masses : sequence of float
        Hung on the slide, g, from 0.
    slide : Uncertain
        Mass of the slide and its jaw, g, which always pulls.
    friction : float
        Pull that the slide just resists, N, from 0. How much of it holds the slide when the jaws have come to rest is
        not known: anything from none of it to all of it.
    mass_u : float
        Standard uncertainty of each hung mass, g.
    gravity : Uncertain
        Local acceleration, m/s2.

    Returns
    -------
    JawForces
        N: (m + slide) g/1000 - friction/2, with the covariance of slide, friction and gravity, which all forces share.

    Raises
    ------
    BadRequest
        Arguments outside these ranges, or weights that friction alone can hold.

    Notes
    -----
    Friction as a rectangle from 0 to its full value (own choice; JCGM 100:2008, 4.3.7). Buoyancy of the weights, 0.015
    per cent, is left out.
    """
    faults = [
        Fault(f"hung_forces, {name}", f"{value:g}", "a finite number from 0", f"give {what}")
        for name, value, what in (
            *((f"mass {place}", mass, "g") for place, mass in enumerate(masses, 1)),
            ("slide", slide.value, "g"), ("friction", friction, "N"), ("mass_u", mass_u, "g"),
        )
        if not (math.isfinite(value) and value >= 0.0)
    ]  # fmt: skip
    if not 9.7 <= gravity.value <= 9.9:
        faults.append(Fault("hung_forces, gravity", f"{gravity.value}", "9.7 to 9.9 m/s2", "give it in m/s2"))
    if faults:
        raise BadRequest(faults)
    pulling = (np.asarray(masses, dtype=np.float64) + slide.value) / 1000.0
    weights = pulling * gravity.value
    held = [
        Fault(f"hung_forces, mass {place}", f"{weight:.3g} N with the slide", f"more than the friction, {friction:g} N",
              "hang more, or clean and oil the slide")
        for place, weight in enumerate(weights.tolist(), 1)
        if weight <= friction
    ]  # fmt: skip
    if held:
        raise BadRequest(held)
    common = (gravity.value * slide.u / 1000.0) ** 2 + friction**2 / 12.0
    own = (gravity.value * mass_u / 1000.0) ** 2
    square = common + np.outer(pulling, pulling) * gravity.u**2 + own * np.eye(pulling.size)
    return JawForces(tuple((weights - friction / 2.0).tolist()), tuple(map(tuple, square.tolist())))
