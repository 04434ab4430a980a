"""What a film shows of a dropped ball, as a function of what is not known: scale, plate, impacts, speeds, the camera.

The unknowns stand in one array: those below by their place, then the launch speed after each impact, m/s, then by what
share the ball comes nearer a second in its fall, and after the first impact, and by how much more after each later one.
Several are known a little beforehand; what is known of them counts as further observations (`known_beforehand`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.physics.vertical_flight import Faller, fall_time, flight_time_of, height_at

__all__ = [
    "AIR", "CAUSES", "CONTACT", "DISTANCE", "DRAG", "DROP", "FIRST", "FLOOR", "GRAVITY", "LAUNCHES", "NEARER",
    "ROLLING", "SCALE", "TILT", "DropPriors", "Places", "cause_of", "curve_of", "faller_of", "heights_of",
    "known_beforehand", "launches_of", "moments_of", "nearer_of", "nearing_of", "places_of", "speeds_of",
]  # fmt: skip

Array = NDArray[np.float64]

FLOOR, SCALE, TILT, ROLLING, SMEAR, AXIS, DISTANCE, LENS, FIRST, DROP, CONTACT, DRAG, AIR, GRAVITY = range(14)
LAUNCHES = 14
"""Floor, px; log of m a pixel there; change of scale with height, 1/m; time a row, s/px; how much lower a moving ball
is seen, s (of its speed); where the camera's axis is off the middle, px; log of the camera's distance, m; bend of the
lens; first impact, s; drop, m; contact, s; drag and displaced air, as factors; gravity, m/s2. From place `LAUNCHES` on
the launch speeds, then the shares by which the ball comes nearer, 1/s."""
CAUSES = {
    TILT: "a camera that looks up or down",
    ROLLING: "rows read one after the other",
    SMEAR: "a smear that is seen off its middle",
    AXIS: "a picture that was cropped off its middle",
    DISTANCE: "the distance of the camera",
    LENS: "a lens that bends the picture",
    CONTACT: "contact time",
    DRAG: "drag",
    AIR: "buoyancy and carried air",
    GRAVITY: "gravity of the place",
}
NEARER = "a ball that comes nearer"


@dataclass(frozen=True, slots=True)
class DropPriors:
    """What is known beforehand, each with its standard uncertainty.

    Parameters
    ----------
    faller : Faller
        The ball in its air, with the usual drag coefficient and gravity.
    drag_u, gravity_u : float
        Standard uncertainties of drag coefficient (relative, air density and mass included) and gravity (m/s2).
    contact, contact_u : float
        How long an impact lasts, s.
    tilt_u : float
        Of the change of scale along the way, 1/m; its mean is 0.
    rolling_u : float
        Of the time between neighbouring rows, s/px; its mean is 0.
    lens_u : float
        Of the share by which a lens moves what stands at the edge of the picture away from its middle; its mean is 0.
    smear_u : float
        Of the time by whose way a moving ball seems lower than it is, s: its smear is not seen where its middle is,
        since its foot is darker than its top; the mean is 0.
    axis_u : float
        Of how far the camera's axis is off the picture's middle, px; its mean is 0.
    distance, distance_u : float
        Of the camera from the fall, m, and of the logarithm of it.
    nearing : tuple of (float, float)
        By what share of its distance the ball comes nearer, 1/s, and its uncertainty: in the fall, after the first
        impact, and by how much more after each later one; of those that are not there 0 and 0.02.
    air_u : float
        Relative standard uncertainty of the displaced air's share in the ball's mass: by its density, the ball's
        diameter and mass. Buoyancy and carried air go with it, and with them the pull that is the film's ruler.
    drag_told, drag_told_u : float
        By how much the drag coefficient is larger than the bend of a way tells, relative, and how sure that is: it
        tells how drag changes with the speed, and the coefficient is not quite the same at all speeds.
    """

    faller: Faller
    drag_u: float
    gravity_u: float
    contact: float
    contact_u: float
    tilt_u: float = 0.2
    rolling_u: float = 0.0
    lens_u: float = 0.0
    smear_u: float = 0.0
    axis_u: float = 0.0
    distance: float = 1.0
    distance_u: float = 0.5
    nearing: tuple[tuple[float, float], ...] = ()
    air_u: float = 1e-6
    drag_told: float = 0.0
    drag_told_u: float = 0.0


@dataclass(frozen=True, slots=True)
class Places:
    """Where the ball was seen.

    Parameters
    ----------
    t, y : (n,) arrays
        Times, s, and places along the fall, px, downwards.
    flight : (n,) array of int
        0: the fall; k: after the k-th impact.
    middle, axis, half : float
        Mean place; the picture's middle; from there to the picture's edge, px.
    u : (n,) array
        Standard uncertainty of a place, px.
    """

    t: Array
    y: Array
    flight: NDArray[np.int64]
    middle: float
    axis: float
    half: float
    u: Array


def _impacts(theta: Array) -> int:
    return (theta.size - LAUNCHES - 1) // 2


def launches_of(theta: Array) -> Array:
    """Launch speeds among the unknowns, (k,) m/s."""
    return theta[LAUNCHES : LAUNCHES + _impacts(theta)]


def nearing_of(theta: Array) -> Array:
    """Shares a second by which the ball comes nearer: in its fall, after it, and how that changes, (k + 1,) 1/s."""
    return theta[LAUNCHES + _impacts(theta) :]


def faller_of(theta: Array, priors: DropPriors) -> Faller:
    """Give the ball with the drag, the displaced air and the gravity of these unknowns, (u,)."""
    known, air = priors.faller, min(max(theta[AIR], 0.1), 10.0)
    return replace(
        known, drag=known.drag * max(theta[DRAG], 0.0) / air, air_density=known.air_density * air,
        gravity=max(theta[GRAVITY], 1.0),
    )  # fmt: skip


def moments_of(theta: Array, priors: DropPriors) -> tuple[Array, Array]:
    """Beginnings of contacts, and of flights after them, (k,) s, by the unknowns, (u,)."""
    contact = theta[CONTACT]
    lasting = np.asarray(flight_time_of(launches_of(theta), faller_of(theta, priors)))
    begins = theta[FIRST] + np.concatenate([[0.0], np.cumsum(lasting + contact)])[:-1]
    return begins, begins + contact


def _heights(theta: Array, t: Array, flight: NDArray[np.int64], priors: DropPriors) -> Array:
    faller = faller_of(theta, priors)
    _, launches = moments_of(theta, priors)
    heights = np.empty(t.size)
    fall = flight == 0
    let_go = theta[FIRST] - float(fall_time(theta[DROP], faller))
    # what seems lower by a share of its speed is where it will be soon, or, rising, where it was just before
    heights[fall] = theta[DROP] + height_at(np.abs(t[fall] + theta[SMEAR] - let_go), 0.0, faller)
    pull = float(faller.effective_gravity)
    for k, (begin, speed) in enumerate(zip(launches, launches_of(theta), strict=True), start=1):
        rows = flight == k
        since = t[rows] - begin
        since += np.where(pull * since > speed, theta[SMEAR], -theta[SMEAR])
        early = np.minimum(since, 0.0)  # before the launch, where a fit may wander: straight on
        heights[rows] = height_at(np.maximum(since, 0.0), speed, faller) + speed * early
    return heights


def nearer_of(theta: Array, moments: Array, priors: DropPriors) -> Array:
    """Give by what share of its distance the ball has come nearer since the first impact, (n,)."""
    begins, _ = moments_of(theta, priors)
    falling, *changes = nearing_of(theta)
    came = falling * np.minimum(moments - theta[FIRST], 0.0)
    for change, begin in zip(changes, begins, strict=True):
        came += change * np.maximum(moments - begin, 0.0)
    return np.asarray(came)


def _pinhole(theta: Array, data: Places) -> tuple[float, float, float]:
    """Give the axis, px, the floor's place above it, px, and the pixels a metre that heights count with there."""
    axis = data.axis + theta[AXIS]
    below = axis - theta[FLOOR]
    return axis, below, math.exp(-theta[SCALE]) + below * theta[TILT]


def _shown(theta: Array, heights: Array, moments: Array, data: Places, priors: DropPriors) -> Array:
    """Give the places of heights before a pinhole camera; what comes nearer to one that looks down sinks as well."""
    axis, below, a_metre = _pinhole(theta, data)
    came = nearer_of(theta, moments, priors)
    sunk = came * theta[TILT] * a_metre * math.exp(2.0 * theta[DISTANCE])
    above = (below + a_metre * heights + sunk) / np.maximum(1.0 + theta[TILT] * heights - came, 0.05)
    return np.asarray(axis - above * (1.0 + theta[LENS] * (above / data.half) ** 2))


def heights_of(theta: Array, t: Array, y: Array, data: Places, priors: DropPriors) -> Array:
    """Give the heights, (n,) m, that places, (n,) px, at times, (n,) s, show by the unknowns: the inverse of it all."""
    moments = t + theta[ROLLING] * (y - data.middle)
    axis, below, a_metre = _pinhole(theta, data)
    came = nearer_of(theta, moments, priors)
    sunk = came * theta[TILT] * a_metre * math.exp(2.0 * theta[DISTANCE])
    bent = axis - y
    above = bent
    for _ in range(4):  # a lens bends by per cents, so that each round takes two digits off what is left
        above = bent / (1.0 + theta[LENS] * (above / data.half) ** 2)
    return np.asarray((above * (1.0 - came) - below - sunk) / (a_metre - above * theta[TILT]))


def places_of(theta: Array, data: Places, priors: DropPriors) -> Array:
    """Give where the film should show the ball, (n,) px, by the unknowns, (u,)."""
    moments = data.t + theta[ROLLING] * (data.y - data.middle)
    return _shown(theta, _heights(theta, moments, data.flight, priors), moments, data, priors)


def speeds_of(theta: Array, data: Places, priors: DropPriors) -> Array:
    """Speed of the ball in the picture, (n,) px/s, by differences."""
    step = 1e-5
    later, sooner = (replace(data, t=data.t + way * step) for way in (1.0, -1.0))
    return np.abs(places_of(theta, later, priors) - places_of(theta, sooner, priors)) / (2.0 * step)


def known_beforehand(priors: DropPriors, flights: int) -> tuple[NDArray[np.int64], Array, Array]:
    """Which unknowns of so many flights after impacts are known a little, around what, and how well: (m,) each."""
    rows = [
        (TILT, 0.0, priors.tilt_u), (ROLLING, 0.0, max(priors.rolling_u, 1e-12)),
        (SMEAR, 0.0, max(priors.smear_u, 1e-9)), (AXIS, 0.0, max(priors.axis_u, 1e-6)),
        (DISTANCE, math.log(priors.distance), priors.distance_u), (LENS, 0.0, max(priors.lens_u, 1e-9)),
        (CONTACT, priors.contact, priors.contact_u), (DRAG, 1.0, priors.drag_u),
        (AIR, 1.0, max(priors.air_u, 1e-9)),
        (GRAVITY, float(priors.faller.gravity), priors.gravity_u),
    ]  # fmt: skip
    told = [*priors.nearing, *[(0.0, 0.02)] * (flights + 1)][: flights + 1]
    rows += [(LAUNCHES + flights + k, mean, max(u, 1e-9)) for k, (mean, u) in enumerate(told)]
    which, mean, u = zip(*rows, strict=True)
    return np.array(which), np.array(mean), np.array(u)


def cause_of(place: int, flights: int) -> str:
    """Say what an unknown is that is known a little beforehand."""
    if place < LAUNCHES:
        return CAUSES[place]
    flight = place - LAUNCHES - flights
    return NEARER + (" in its fall", "", f" otherwise after impact {flight}")[min(flight, 2)]


def curve_of(theta: Array, data: Places, priors: DropPriors) -> Callable[[Array], Array]:
    """Give the function from times, (m,) s, to places, (m,) px; NaN before the release and after the last flight."""
    faller = faller_of(theta, priors)
    contacts, launches = moments_of(theta, priors)
    last = float(launches[-1] + flight_time_of(launches_of(theta)[-1], faller))
    let_go = theta[FIRST] - float(fall_time(theta[DROP], faller))
    ends = np.concatenate([contacts, [last]])

    def place(times: Array) -> Array:
        flight = np.searchsorted(contacts, times, side="right")
        heights = np.maximum(_heights(theta, times, flight, priors), 0.0)
        found = _shown(theta, heights, times, data, priors)
        return np.where((times >= let_go) & (times <= ends[-1]), found, math.nan)

    return place
