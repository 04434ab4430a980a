"""A ball that rises and falls straight through still air: drag, buoyancy and the air that it must carry along.

Exact for a constant drag coefficient. The ball of mass m that displaces the mass a of air moves by
(m + a/2) dv/dt = -(m - a) g - rho A Cd |v| v / 2: buoyancy takes a off the weight, and a sphere that speeds up in air
carries half the displaced air along (the added mass of a sphere, Lamb, Hydrodynamics, art. 92; from memory). So the
ball flies as one without either, under the gravity g (m - a)/(m + a/2), its drag spread over m + a/2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault, NotConverged

__all__ = [
    "Faller",
    "fall_time",
    "flight_time_of",
    "height_at",
    "height_of",
    "impact_speed_after",
    "impact_speed_of",
    "launch_for_height",
    "launch_speed_of",
]

Array = NDArray[np.float64]

_WORTH_SAYING = 0.002
"""Displaced air as a share of the mass from which leaving it out would show: 0.3 % in g (own choice)."""
_ROUNDS = 80
_CLOSE = 1e-8
"""A relative step this small leaves an error of its square: the figures of double precision."""


@dataclass(frozen=True, slots=True)
class Faller:
    """A ball that falls and rises straight through still air.

    Every field is one number, or an array that broadcasts against whatever else is given.

    Parameters
    ----------
    mass : float or array
        kg, the true mass: a balance's reading with the buoyancy of the air added back.
    diameter : float or array
        m.
    drag : float or array
        Drag coefficient, the same at every speed; 0: none.
    air_density : float or array
        kg/m3; 0: no air.
    gravity : float or array
        m/s2, of the place.
    displaces : bool
        False leaves buoyancy and carried air out, and keeps the drag.

    Raises
    ------
    BadRequest
        A mass, diameter or gravity that is not above 0, a drag or density below 0, a ball that floats in the air.
    """

    mass: float | Array
    diameter: float | Array
    drag: float | Array
    air_density: float | Array
    gravity: float | Array
    displaces: bool = True

    def __post_init__(self) -> None:
        faults = [
            Fault(f"Faller, {name}", f"{np.min(value):g}", "a number above 0", f"give the {name} in SI units")
            for name, value in (("mass", self.mass), ("diameter", self.diameter), ("gravity", self.gravity))
            if not (np.all(np.isfinite(value)) and np.all(np.asarray(value) > 0.0))
        ]
        faults += [
            Fault(
                f"Faller, {name}", f"{np.min(value):g}", "a number from 0 up", f"correct the {name.replace('_', ' ')}"
            )
            for name, value in (("drag", self.drag), ("air_density", self.air_density))
            if not (np.all(np.isfinite(value)) and np.all(np.asarray(value) >= 0.0))
        ]
        if not faults and np.any(np.asarray(self.displaced) >= self.mass):
            found = "a ball that is lighter than the air in its place"
            faults.append(Fault("Faller, mass", found, "a ball that falls", "check mass and diameter, and their units"))
        if faults:
            raise BadRequest(faults)

    @property
    def displaced(self) -> float | Array:
        """Mass of the air in whose place the ball is, kg."""
        return self.air_density * math.pi * self.diameter**3 / 6.0 if self.displaces else 0.0 * self.mass

    @property
    def effective_gravity(self) -> float | Array:
        """With what the ball starts to fall from rest, m/s2."""
        return self.gravity * (self.mass - self.displaced) / (self.mass + self.displaced / 2.0)

    @property
    def drag_length(self) -> float | Array:
        """Way over which drag alone takes the speed down by the factor e, m; ``inf`` without drag."""
        pull = self.air_density * math.pi * self.diameter**2 / 4.0 * self.drag
        with np.errstate(divide="ignore"):
            return np.divide(2.0 * (self.mass + self.displaced / 2.0), pull)

    @property
    def terminal_speed(self) -> float | Array:
        """Speed of a long fall, m/s; ``inf`` without drag."""
        return np.sqrt(self.effective_gravity * self.drag_length)

    @property
    def buoyant(self) -> bool:
        """Whether the displaced air is over 0.2 % of the mass, so that leaving it out would show."""
        return bool(np.any(np.asarray(self.displaced) > _WORTH_SAYING * np.asarray(self.mass)))


def flight_time_of(v0: ArrayLike, faller: Faller) -> Array:
    """Give how long a ball is in the air that leaves a floor and comes back to it.

    Parameters
    ----------
    v0 : array_like, any shape
        Launch speed, m/s, from 0 up.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        s; NaN where `v0` is NaN or below 0.

    Notes
    -----
    With x = v0/vt: (vt/g) (atan x + asinh x), the rise and the fall; 2 v0/g without drag. Own derivation.
    """
    v0 = _from_zero(v0)
    x = v0 / faller.terminal_speed
    return v0 / faller.effective_gravity * _share(np.arctan(x) + np.arcsinh(x), x, 2.0)


def launch_speed_of(flight_time: ArrayLike, faller: Faller) -> Array:
    """Give the launch speed of a flight that took so long: the inverse of `flight_time_of`.

    Parameters
    ----------
    flight_time : array_like, any shape
        From leaving the floor to touching it again, s.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        m/s; NaN where the time is NaN or below 0.

    Raises
    ------
    NotConverged
        A flight so long that the equation cannot be solved in double precision.

    Notes
    -----
    Newton's steps on atan x + asinh x from the drag-free answer; the function is concave, so that they rise to the
    root without passing it.
    """
    time = _from_zero(flight_time)
    gravity, terminal = faller.effective_gravity, faller.terminal_speed
    wanted = gravity * time / terminal
    x = wanted / 2.0
    for _ in range(_ROUNDS):
        root = np.hypot(1.0, x)
        step = (wanted - np.arctan(x) - np.arcsinh(x)) / (1.0 / root**2 + 1.0 / root)
        x = x + step
        left = float(np.max(np.abs(step) / np.maximum(x, 1e-300), initial=0.0, where=np.isfinite(x)))
        if left < _CLOSE:
            break
    else:
        raise NotConverged("the launch speed of a flight", left, _CLOSE)
    return gravity * time / 2.0 * _share(2.0 * x, wanted, 1.0)


def height_of(v0: ArrayLike, faller: Faller) -> Array:
    """Give how high a ball rises that is launched straight up.

    Parameters
    ----------
    v0 : array_like, any shape
        m/s, from 0 up.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        m; NaN where `v0` is NaN or below 0.

    Notes
    -----
    vt^2/(2 g) ln(1 + (v0/vt)^2); v0^2/(2 g) without drag.
    """
    v0 = _from_zero(v0)
    q = (v0 / faller.terminal_speed) ** 2
    return v0**2 / (2.0 * faller.effective_gravity) * _share(np.log1p(q), q, 1.0)


def launch_for_height(height: ArrayLike, faller: Faller) -> Array:
    """Give the launch speed of a ball that rises so high: the inverse of `height_of`.

    Parameters
    ----------
    height : array_like, any shape
        m, from 0 up.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        m/s; NaN where the height is NaN or below 0.
    """
    q, free = _fallen(height, faller)
    return free * np.sqrt(_share(np.expm1(q), q, 1.0))


def impact_speed_after(height: ArrayLike, faller: Faller) -> Array:
    """Give the speed of a ball that was let go at rest and fell so far.

    Parameters
    ----------
    height : array_like, any shape
        m, from 0 up.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        m/s; NaN where the height is NaN or below 0.

    Notes
    -----
    vt sqrt(1 - exp(-2 g H/vt^2)); sqrt(2 g H) without drag.
    """
    q, free = _fallen(height, faller)
    return free * np.sqrt(_share(-np.expm1(-q), q, 1.0))


def impact_speed_of(v0: ArrayLike, faller: Faller) -> Array:
    """Give the speed with which a ball comes back to the floor that it left with the speed `v0`.

    Parameters
    ----------
    v0 : array_like, any shape
        m/s, from 0 up.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        m/s, v0/sqrt(1 + (v0/vt)^2); NaN where `v0` is NaN or below 0.
    """
    v0 = _from_zero(v0)
    return v0 / np.hypot(1.0, v0 / faller.terminal_speed)


def fall_time(height: ArrayLike, faller: Faller) -> Array:
    """Give how long a ball falls that was let go at rest.

    Parameters
    ----------
    height : array_like, any shape
        m, from 0 up.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        s; NaN where the height is NaN or below 0.

    Notes
    -----
    (vt/g) acosh(exp(g H/vt^2)), written as asinh(sqrt(exp(2 g H/vt^2) - 1)) so that short falls keep their digits;
    sqrt(2 H/g) without drag.
    """
    q, free = _fallen(height, faller)
    return free / faller.effective_gravity * _share(np.arcsinh(np.sqrt(np.expm1(q))), np.sqrt(q), 1.0)


def height_at(time: ArrayLike, v0: ArrayLike, faller: Faller) -> Array:
    """Give the height above the start of a ball that started so long ago.

    Parameters
    ----------
    time : array_like, any shape
        Since the start, s, from 0 up.
    v0 : array_like, any shape
        Speed at the start, m/s: up is positive, 0 is let go at rest, down is negative.
    faller : Faller
        The ball and the air.

    Returns
    -------
    array
        m, negative below the start; NaN where the time is below 0 or something is NaN.

    Notes
    -----
    With a = g t/vt and L = vt^2/g: on the way up L ln(cos a + (v0/vt) sin a), on the way down, from the speed w,
    -L ln(cosh a + (w/vt) sinh a). Own derivation.
    """
    time, v0, gravity, terminal = np.broadcast_arrays(
        _from_zero(time), np.asarray(v0, dtype=np.float64), faller.effective_gravity, faller.terminal_speed
    )
    rising = np.maximum(v0, 0.0)
    x = rising / terminal
    to_top = rising / gravity * _share(np.arctan(x), x, 1.0)
    before = np.minimum(time, to_top)
    down = np.maximum(-v0, 0.0)
    return _risen(before, rising, gravity, terminal) - _sunk(time - before, down, gravity, terminal)


def _risen(time: Array, v0: Array, gravity: Array, terminal: Array) -> Array:
    """Height won by a ball that still rises."""
    a = gravity * time / terminal
    with np.errstate(invalid="ignore", over="ignore"):
        dragged = terminal**2 / gravity * np.log1p(v0 / terminal * np.sin(a) - 2.0 * np.sin(a / 2.0) ** 2)
    return np.where(np.isinf(terminal), v0 * time - gravity * time**2 / 2.0, dragged)


def _sunk(time: Array, down: Array, gravity: Array, terminal: Array) -> Array:
    """Way down of a ball that starts with the speed `down`; written so that a long fall does not overflow."""
    a, y = gravity * time / terminal, down / terminal
    with np.errstate(invalid="ignore", over="ignore"):
        short = np.log1p(y * np.sinh(np.minimum(a, 1.0)) + 2.0 * np.sinh(np.minimum(a, 1.0) / 2.0) ** 2)
        long = a + np.log((1.0 + y) / 2.0 + (1.0 - y) / 2.0 * np.exp(-2.0 * a))
        dragged = terminal**2 / gravity * np.where(a < 1.0, short, long)
    return np.where(np.isinf(terminal), down * time + gravity * time**2 / 2.0, dragged)


def _fallen(height: ArrayLike, faller: Faller) -> tuple[Array, Array]:
    """Give 2 g H/vt^2, and the speed sqrt(2 g H) of a fall without drag."""
    height = _from_zero(height)
    free = np.sqrt(2.0 * faller.effective_gravity * height)
    return (free / faller.terminal_speed) ** 2, free


def _share(above: Array, below: Array, at_zero: float) -> Array:
    """Divide two functions that vanish together, with the limit where they do."""
    small = np.abs(below) < 1e-150
    return np.where(small, at_zero, above / np.where(small, 1.0, below))


def _from_zero(values: ArrayLike) -> Array:
    values = np.asarray(values, dtype=np.float64)
    return np.where(values >= 0.0, values, math.nan)
