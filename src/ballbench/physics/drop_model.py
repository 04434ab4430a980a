"""What a film shows of a dropped ball, as a function of what is not known: scale, plate, impacts, speeds, the camera.

The unknowns stand in one array: those below by their place, then the launch speed after each impact, m/s. Several are
known a little beforehand; what is known of them counts as further observations (`known_beforehand`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.physics.vertical_flight import Faller, fall_time, flight_time_of, height_at

__all__ = [
    "CAUSES", "CONTACT", "DRAG", "DROP", "FIRST", "FLOOR", "GRAVITY", "LAUNCHES", "ROLLING", "SCALE", "TILT",
    "DropPriors", "Places", "curve_of", "faller_of", "known_beforehand", "moments_of", "places_of", "speeds_of",
]  # fmt: skip

Array = NDArray[np.float64]

FLOOR, SCALE, TILT, ROLLING, NEARING, SINKING, LENS, FIRST, DROP, CONTACT, DRAG, GRAVITY = range(12)
LAUNCHES = 12
"""Floor, px; log of m a pixel there; change of scale with height, 1/m; time a row, s/px; growth after the first impact,
1/s; sinking of the plate then, m/s; bend of the lens; first impact, s; drop, m; contact, s; drag and gravity, the first
as a factor, the second in m/s2. From place `LAUNCHES` on the launch speeds."""
CAUSES = {
    TILT: "a camera that looks up or down",
    ROLLING: "rows read one after the other",
    NEARING: "a ball that comes nearer",
    SINKING: "a camera above or below a ball that comes nearer",
    LENS: "a lens that bends the picture",
    CONTACT: "contact time",
    DRAG: "drag",
    GRAVITY: "gravity of the place",
}  # fmt: skip


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
    nearing, nearing_u : float
        Change of scale by coming nearer after the first impact, 1/s.
    sinking_u : float
        Of the speed with which the plate seems to sink then, m/s: what comes nearer to a camera that looks down at it
        sinks in the picture; its mean is 0.
    """

    faller: Faller
    drag_u: float
    gravity_u: float
    contact: float
    contact_u: float
    tilt_u: float = 0.2
    rolling_u: float = 0.0
    lens_u: float = 0.0
    nearing: float = 0.0
    nearing_u: float = 0.02
    sinking_u: float = 0.003


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
        Mean place; where the camera's axis meets the picture; from there to the picture's edge, px.
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


def faller_of(theta: Array, priors: DropPriors) -> Faller:
    """Give the ball with the drag and the gravity of these unknowns, (u,)."""
    known = priors.faller
    return replace(known, drag=known.drag * max(theta[DRAG], 0.0), gravity=max(theta[GRAVITY], 1.0))


def moments_of(theta: Array, faller: Faller, contact: float) -> tuple[Array, Array]:
    """Beginnings of contacts, and of flights after them, (k,) s, by the unknowns, (u,)."""
    lasting = np.asarray(flight_time_of(theta[LAUNCHES:], faller))
    begins = theta[FIRST] + np.concatenate([[0.0], np.cumsum(lasting + contact)])[:-1]
    return begins, begins + contact


def _heights(theta: Array, t: Array, flight: NDArray[np.int64], priors: DropPriors) -> Array:
    faller = faller_of(theta, priors)
    _, launches = moments_of(theta, faller, theta[CONTACT])
    heights = np.empty(t.size)
    fall = flight == 0
    let_go = theta[FIRST] - float(fall_time(theta[DROP], faller))
    heights[fall] = theta[DROP] + height_at(np.abs(t[fall] - let_go), 0.0, faller)
    for k, (begin, speed) in enumerate(zip(launches, theta[LAUNCHES:], strict=True), start=1):
        rows = flight == k
        since = t[rows] - begin
        early = np.minimum(since, 0.0)  # before the launch, where a fit may wander: straight on
        heights[rows] = height_at(np.maximum(since, 0.0), speed, faller) + speed * early
    return heights


def _shown(theta: Array, heights: Array, moments: Array, axis: float, half: float) -> Array:
    """Give the places of heights; what comes nearer grows about the camera's axis."""
    since, scale = np.maximum(moments - theta[FIRST], 0.0), math.exp(theta[SCALE])
    still = theta[FLOOR] - heights / scale / (1.0 + theta[TILT] * heights)
    away = (still - axis) * (1.0 + theta[NEARING] * since) + theta[SINKING] * since / scale
    return np.asarray(axis + away * (1.0 + theta[LENS] * (away / half) ** 2))


def places_of(theta: Array, data: Places, priors: DropPriors) -> Array:
    """Give where the film should show the ball, (n,) px, by the unknowns, (u,)."""
    moments = data.t + theta[ROLLING] * (data.y - data.middle)
    return _shown(theta, _heights(theta, moments, data.flight, priors), moments, data.axis, data.half)


def speeds_of(theta: Array, data: Places, priors: DropPriors) -> Array:
    """Speed of the ball in the picture, (n,) px/s, by differences."""
    step = 1e-5
    later, sooner = (replace(data, t=data.t + way * step) for way in (1.0, -1.0))
    return np.abs(places_of(theta, later, priors) - places_of(theta, sooner, priors)) / (2.0 * step)


def known_beforehand(priors: DropPriors) -> tuple[NDArray[np.int64], Array, Array]:
    """Which unknowns are known a little, around what, and how well: (m,) each."""
    rows = [
        (TILT, 0.0, priors.tilt_u), (ROLLING, 0.0, max(priors.rolling_u, 1e-12)),
        (NEARING, priors.nearing, max(priors.nearing_u, 1e-9)), (SINKING, 0.0, max(priors.sinking_u, 1e-9)),
        (LENS, 0.0, max(priors.lens_u, 1e-9)), (CONTACT, priors.contact, priors.contact_u),
        (DRAG, 1.0, priors.drag_u),
        (GRAVITY, float(priors.faller.gravity), priors.gravity_u),
    ]  # fmt: skip
    which, mean, u = zip(*rows, strict=True)
    return np.array(which), np.array(mean), np.array(u)


def curve_of(theta: Array, data: Places, priors: DropPriors) -> Callable[[Array], Array]:
    """Give the function from times, (m,) s, to places, (m,) px; NaN before the release and after the last flight."""
    faller = faller_of(theta, priors)
    contacts, launches = moments_of(theta, faller, theta[CONTACT])
    last = float(launches[-1] + flight_time_of(theta[-1], faller))
    let_go = theta[FIRST] - float(fall_time(theta[DROP], faller))
    ends = np.concatenate([contacts, [last]])

    def place(times: Array) -> Array:
        flight = np.searchsorted(contacts, times, side="right")
        found = _shown(theta, np.maximum(_heights(theta, times, flight, priors), 0.0), times, data.axis, data.half)
        return np.where((times >= let_go) & (times <= ends[-1]), found, math.nan)

    return place
