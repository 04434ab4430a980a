"""A ball with its mass off centre on a ramp: how far it veers, and what the lean of the ramp does to that.

Lengths in any one unit, angles in radians. A ball whose mass centre lies `offset` along its spin axis, towards the
right as seen going down, veers to the right. How its mass is spread (shell or solid) does not matter: both the sideways
push and the speed at the foot of the slope carry the same factor 1 + I/(m R^2), and it cancels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Ramp", "lean_gain", "turning_radius", "veer_gain", "veer_gain_u"]


@dataclass(frozen=True, slots=True)
class Ramp:
    """A slope down which a ball rolls from rest, and a flat run-out at its foot.

    Parameters
    ----------
    slope : float
        Length along the slope from the start to its foot, or to the read line where there is no run-out; above 0.
    angle : float
        Of the slope against the horizontal, radians, between 0 and pi/2.
    run_out : float
        From the foot of the slope to the read line, on the flat; 0: the line is on the slope.
    """

    slope: float
    angle: float
    run_out: float = 0.0


def veer_gain(ramp: Ramp, radius: float) -> float:
    """Give the veer at the read line for each unit of offset along the spin axis.

    Parameters
    ----------
    ramp : Ramp
        Slope and run-out.
    radius : float
        Of the ball, in the unit of the ramp's lengths.

    Returns
    -------
    float
        (s + x)/(R tan a) + x^2/(4 R s sin a), a pure number, positive.

    Notes
    -----
    Derived for this tool. On the slope from rest a ball with the offset d goes straight at the angle psi to the right,
    tan psi = d/(R tan a). On the flat it goes on at that angle and turns on the radius (1 + b) R v^2/(g d), where
    (1 + b) v^2 = 2 g s sin a at the foot: x^2/2 over that radius is the last term. Held by integrating the motion of a
    rigid ball in three dimensions: exact on the slope, for shells and solid balls, whether or not the contact lets the
    ball pivot; with a run-out as long as the slope and a rounded foot it is 0.3 % low at 5 degrees and 1.2 % low at 10,
    for offsets of half a per cent of the radius (`docs/methods/rolling.md`).
    """
    s, x, sine = ramp.slope, ramp.run_out, math.sin(ramp.angle)
    return (s + x) / (radius * math.tan(ramp.angle)) + x * x / (4.0 * radius * s * sine)


def lean_gain(ramp: Ramp) -> float:
    """Give the veer at the read line for each radian by which slope and run-out lean to the right.

    Parameters
    ----------
    ramp : Ramp
        Slope and run-out on one board, or both leaning alike.

    Returns
    -------
    float
        (s + x)/sin a + x^2/(4 s sin a), in the unit of the ramp's lengths for a radian.

    Notes
    -----
    Derived for this tool: gravity has the part g e across a board that leans by e and g sin a along the slope; both
    move the ball through the same inertia, so its path on the slope is straight, at the angle e/sin a.
    """
    s, x, sine = ramp.slope, ramp.run_out, math.sin(ramp.angle)
    return (s + x) / sine + x * x / (4.0 * s * sine)


def veer_gain_u(
    ramp: Ramp, radius: float, *, slope_u: float, angle_u: float, run_out_u: float, radius_u: float
) -> float:
    """Give the relative standard uncertainty of `veer_gain`.

    Parameters
    ----------
    ramp, radius
        As in `veer_gain`.
    slope_u, angle_u, run_out_u, radius_u : float
        Standard uncertainties, in the units of what they belong to.

    Returns
    -------
    float
        First order (JCGM 100:2008, 5.1.2) with the slopes of the formula: a share of the gain.
    """
    s, x, a = ramp.slope, ramp.run_out, ramp.angle
    sine, tangent = math.sin(a), math.tan(a)
    gain = veer_gain(ramp, radius)
    by_slope = (1.0 / tangent - x * x / (4.0 * s * s * sine)) / radius
    by_run_out = (1.0 / tangent + x / (2.0 * s * sine)) / radius
    by_angle = -((s + x) / sine**2 + x * x * math.cos(a) / (4.0 * s * sine**2)) / radius
    parts = (by_slope * slope_u, by_run_out * run_out_u, by_angle * angle_u, gain * radius_u / radius)
    return math.hypot(*parts) / gain


def turning_radius(offset: float, radius: float, inertia: float, speed: float, gravity: float) -> float:
    """Give the radius on which a ball turns that rolls on the flat.

    Parameters
    ----------
    offset, radius : float
        Of the mass centre along the spin axis, and of the ball, m; the offset not 0.
    inertia : float
        I/(m R^2): 2/3 for a thin shell, 2/5 for a solid ball.
    speed, gravity : float
        m/s and m/s2.

    Returns
    -------
    float
        (1 + b) R v^2/(g d), m; it has the sign of the offset.

    Notes
    -----
    Torque m g d over the angular momentum about the contact, (1 + b) m R v: the rate at which the spin axis turns.
    """
    return (1.0 + inertia) * radius * speed**2 / (gravity * offset)
