"""A rigid ball with its mass off centre that rolls without sliding, integrated in three dimensions.

From Newton and Euler alone, nothing taken from `ballbench`: with a = R n + c the way from the contact to the mass
centre, I the inertia about it and F the contact force, m dv/dt = F + m g and d(I w)/dt = -a x F + M give

    (I + m (a.a 1 - a a)) dw/dt = -w x (I w) - m a x (w x (R dn/dt + w x c) - g) + M,   dc/dt = w x c,

and the middle moves with w x R n. M = -k (w.n) n is the friction of the contact against pivoting: none, or so much
that the ball does not pivot.

Frame: x level and forward, y to the left as seen going down, z up. The surface is a slope, then a rounded foot, then
the flat, given by its angle along the path of the middle; it may lean sideways throughout, which is put into the
direction of gravity.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

G = 9.80665
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rigid:
    """Lengths in m. `offset` of the mass centre: down the slope, left, away from it, as it lies at the start.

    `inertia` is I/(m R^2); `pivots`: freely, or not at all.
    """

    offset: tuple[float, float, float]
    radius: float = 0.020
    inertia: float = 2.0 / 3.0
    pivots: bool = True


def veer(
    ball: Rigid, slope: float, angle: float, run_out: float = 0.0, lean: float = 0.0, rounding: float = 0.05
) -> float:
    """Give the veer to the right at the read line, m.

    `rounding` is the radius in m on which the middle goes round the foot; half of it counts as slope, half as flat.
    `lean` is the angle of a level line across the board against the horizontal, radians.
    """
    arc = rounding * angle if run_out else 0.0
    ends = (slope - arc / 2.0, slope + arc / 2.0) if run_out else (math.inf, math.inf)
    across, radius, one = -G * math.sin(lean), ball.radius, np.eye(3)
    gravity = np.array([0.0, across, -math.sqrt(G * G - across * across)])
    brake = 0.0 if ball.pivots else 200.0 * ball.inertia * radius**2

    def at(way: float) -> tuple[float, float]:
        if way < ends[0]:
            return angle, 0.0
        if way > ends[1]:
            return 0.0, 0.0
        return angle * (ends[1] - way) / arc, -angle / arc

    def change(_: float, s: Array) -> Array:
        w, c = s[2:5], s[5:8]
        here, bend = at(float(s[0]))
        normal = np.array([math.sin(here), 0.0, math.cos(here)])
        along = np.array([math.cos(here), 0.0, -math.sin(here)])
        v = np.cross(w, radius * normal)
        turning = radius * bend * float(v @ along) * along
        arm = radius * normal + c
        about = (ball.inertia * radius**2 - c @ c) * one + np.outer(c, c)
        whole = about + (arm @ arm) * one - np.outer(arm, arm)
        push = np.cross(arm, np.cross(w, turning + np.cross(w, c)) - gravity) + brake * (w @ normal) * normal
        turned = np.linalg.solve(whole, -np.cross(w, about @ w) - push)
        return np.array([v @ along, v[1], *turned, *np.cross(w, c)])

    tilt = np.array(
        [[math.cos(angle), 0.0, math.sin(angle)], [0.0, 1.0, 0.0], [-math.sin(angle), 0.0, math.cos(angle)]]
    )
    state = np.array([0.0, 0.0, 0.0, 0.0, 0.0, *(tilt @ np.array(ball.offset))])
    # piece by piece, so that no step of the integration goes over a bend
    for end in (ends[0], ends[1], slope + run_out) if run_out else (slope,):

        def there(_: float, s: Array, end: float = end) -> float:
            return float(s[0]) - end

        there.terminal = True  # type: ignore[attr-defined]
        method = "DOP853" if ball.pivots else "LSODA"
        found = solve_ivp(change, (0.0, 60.0), state, method=method, rtol=1e-9, atol=1e-12, events=there)
        state = np.asarray(found.y_events[0][0], dtype=np.float64)
    return -float(state[1])
