"""A dropped ball's places in a film, fitted by its flight through air: the film's scale, impacts, speeds, rebound.

Gravity is the ruler. Between impacts the ball moves as `ballbench.physics.vertical_flight` has it, above one floor; the
film shows its height shrunk by a scale that may change along the way (a camera that looks up or down), row after row a
little later (a shutter that rolls). What is not known is fitted; what is known a little (gravity, drag, contact time)
is fitted with what is known of it as further observations.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import NotConverged
from ballbench.physics.drop_model import (
    AIR,
    CONTACT,
    DISTANCE,
    DRAG,
    DROP,
    FIRST,
    FLOOR,
    GRAVITY,
    LAUNCHES,
    ROLLING,
    SCALE,
    TILT,
    DropPriors,
    Places,
    cause_of,
    curve_of,
    faller_of,
    heights_of,
    known_beforehand,
    launches_of,
    moments_of,
    nearer_of,
    nearing_of,
    places_of,
    speeds_of,
)
from ballbench.physics.vertical_flight import (
    height_of,
    impact_speed_after,
    impact_speed_of,
    launch_for_height,
)

__all__ = ["CHANGING", "SCATTER", "DropFit", "DropPriors", "Told", "fit_drop"]

Array = NDArray[np.float64]
_ROUNDS = 4
_LEFT_OUT = 2e-4
"""Relative standard uncertainty of the ratio of two heights beside all that is fitted: by simulation (own choice)."""
_FAREST_LAG = 40
_BEYOND = 4.0
"""Places further off than so many SDs are left out (own choice); at most a tenth of all."""


@dataclass(frozen=True, slots=True)
class Told:
    """A value with its standard uncertainty, and what brings it.

    Parameters
    ----------
    value, u : float
        In one unit.
    parts : tuple of (str, float)
        By cause, what its standard uncertainty brings to the value, with its sign; squares add up to that of `u`.
    """

    value: float
    u: float
    parts: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class DropFit:
    """A fitted drop.

    Parameters
    ----------
    rebounds, drop : tuple of Told, Told
        Height of the ball's lowest point at the top of each flight, and from where it fell from rest, m.
    ratio : Told
        The first rebound over the drop: an error of gravity or of the clock cancels in it.
    impacts : tuple of Told
        Beginning of each contact, s.
    speeds : tuple of Told
        Speed at each impact, m/s.
    restitution : tuple of Told
        Launch over impact speed, impact by impact.
    scale : Told
        mm a pixel at the floor.
    tilt : Told
        Change of scale with height, 1/m.
    rolling : Told
        Time from a row to the next, s/px.
    floor : float
        Where the centre of the ball is at impact, px.
    residuals : (n,) array
        Place less fitted place, px, for all rows that were given.
    used : (n,) array of bool
        Those that were not left out.
    noise : float
        SD of a place, px.
    stamp : float
        SD of a frame's time, s.
    pattern : float
        How many neighbouring places are off alike: 1 where each is off on its own.
    own_scales : tuple of Told
        Scale (mm a pixel) that each flight alone would have, the rest as fitted.
    nearing : tuple of Told
        By what share of its distance from the camera the ball comes nearer, 1/s: in the fall, after the first impact,
        and how much more after each later one.
    nearest : float
        By what share of its distance at the first impact it comes nearer in all while it is seen; below 0: goes away.
    curve : callable
        Time in s to place in px, and NaN outside the flights.
    height : callable
        Times in s and places in px to heights of the ball's lowest point above the floor, m.
    flown : callable
        The same to the heights at which the flights have the ball when the camera reads these rows; NaN outside them.
    """

    rebounds: tuple[Told, ...]
    drop: Told
    ratio: Told
    impacts: tuple[Told, ...]
    speeds: tuple[Told, ...]
    restitution: tuple[Told, ...]
    scale: Told
    tilt: Told
    rolling: Told
    floor: float
    residuals: Array
    used: NDArray[np.bool_]
    noise: float
    stamp: float
    pattern: float
    own_scales: tuple[Told, ...]
    nearing: tuple[Told, ...]
    nearest: float
    curve: Callable[[Array], Array]
    height: Callable[[Array, Array], Array]
    flown: Callable[[Array, Array], Array]


SCATTER, LEFT_OUT = "scatter of the places", "what the fit leaves out"
CHANGING = "drag that is not the same at all speeds"


def fit_drop(
    t: Array,
    y: Array,
    flight: NDArray[np.int64],
    priors: DropPriors,
    *,
    impacts: Sequence[float],
    floor: float,
    curvature: float,
    axis: float,
    half: float,
    u: Array | None = None,
) -> DropFit:
    """Fit a drop.

    Parameters
    ----------
    t, y : (n,) arrays
        Times, s, and places of the ball's centre, px, downwards.
    flight : (n,) array of int
        0: the fall; k: after the k-th impact.
    priors : DropPriors
        What is known beforehand.
    impacts : sequence of float
        First guesses, s; as many as there are flights after the fall.
    floor, curvature : float
        First guesses: px, and px/s2.
    axis, half : float
        Where the camera's axis meets the picture, px: its middle; and from there to its edge, px.
    u : (n,) array or None
        Standard uncertainty of places that a person marked, px; NaN for all others. None: none was marked.

    Returns
    -------
    DropFit
        Uncertainties hold the scatter of the places, how alike neighbouring ones are off, and all of `priors`.

    Raises
    ------
    NotConverged
        The fit ended nowhere.
    """
    marked = np.full(t.size, math.nan) if u is None else u
    data = Places(t, y, flight, float(np.mean(y)), axis, half, np.where(np.isfinite(marked), marked, 1.0))
    theta = _start(priors, impacts, floor, curvature)
    used = np.ones(t.size, dtype=bool)
    noise, stamp, pattern = 1.0, 0.0, 1.0
    for round_ in range(_ROUNDS):
        theta, jacobian = _solved(theta, data, priors, used, rough=round_ == 0)
        away = data.y - places_of(theta, data, priors)
        speed = speeds_of(theta, data, priors)
        free = used & ~np.isfinite(marked)
        spent = _spent(jacobian, priors, len(impacts))
        noise, stamp = _scatter(away[free], speed[free], spent)
        pattern = _alike(away, flight, used)
        # few places tell their scatter badly: its own uncertainty is in theirs (JCGM 101:2008, 6.4.9.7)
        left = max(float(free.sum()) / pattern - spent, 4.0)
        larger = math.sqrt(pattern * left / (left - 2.0))
        own = np.sqrt(noise**2 + (speed * stamp) ** 2)
        data = replace(data, u=np.where(np.isfinite(marked), marked, own * larger))
        far = np.abs(away) / own
        used = (far <= max(_BEYOND, float(np.quantile(far, 0.9)))) | np.isfinite(marked)
    theta, jacobian = _solved(theta, data, priors, used, close=1e-8)
    covariance = np.asarray(np.linalg.inv(jacobian.T @ jacobian), dtype=np.float64)
    return _told(theta, covariance, data, priors, used, noise, stamp, pattern)


def _start(priors: DropPriors, impacts: Sequence[float], floor: float, curvature: float) -> Array:
    faller, flights = priors.faller, len(impacts)
    gravity = float(faller.effective_gravity)
    spans = np.diff(impacts)
    # the last flight has no end: it is guessed by the ratio of the ones before, or by 0.8 of a fall from the floor up
    launches = list(gravity * np.maximum(spans - priors.contact, 1e-3) / 2.0)
    while len(launches) < flights:
        launches.append(0.85 * launches[-1] if launches else math.nan)
    theta = np.zeros(LAUNCHES + 2 * flights + 1)
    theta[FLOOR], theta[SCALE] = floor, math.log(gravity / curvature)
    theta[FIRST], theta[CONTACT], theta[DRAG], theta[AIR] = impacts[0], priors.contact, 1.0, 1.0
    theta[GRAVITY] = float(faller.gravity)
    theta[DISTANCE], theta[DROP] = math.log(priors.distance), math.nan
    theta[LAUNCHES : LAUNCHES + flights] = launches
    which, mean, _ = known_beforehand(priors, flights)
    theta[which[which >= LAUNCHES]] = mean[which >= LAUNCHES]
    return theta


def _filled(theta: Array, data: Places, priors: DropPriors) -> Array:
    """Guess heights that are not known yet from the highest place of the flight."""
    theta = theta.copy()
    scale = math.exp(theta[SCALE])
    if math.isnan(theta[DROP]):
        fall = data.flight == 0
        curve = np.polyfit(data.t[fall] - theta[FIRST], data.y[fall], 2)
        top = np.polyval(curve, -curve[1] / (2.0 * curve[0])) if curve[0] > 0 else data.y[fall].min()
        theta[DROP] = max((theta[FLOOR] - top) * scale, 0.01)
    for k in range(LAUNCHES, LAUNCHES + launches_of(theta).size):
        if math.isnan(theta[k]):
            top = float(data.y[data.flight == k - LAUNCHES + 1].min())
            theta[k] = float(launch_for_height(max((theta[FLOOR] - top) * scale, 0.01), priors.faller))
    return theta


def _solved(
    theta: Array,
    data: Places,
    priors: DropPriors,
    used: NDArray[np.bool_],
    *,
    rough: bool = False,
    close: float = 1e-5,
) -> tuple[Array, Array]:
    """Solve for the unknowns to `close`, and give the slopes of all residuals; rough: far places count little."""
    from scipy.optimize import least_squares  # noqa: PLC0415 - loads only when a drop is fitted

    theta = _filled(theta, data, priors)
    count = launches_of(theta).size
    which, mean, u = known_beforehand(priors, count)
    units = np.ones(theta.size)
    units[[FLOOR, SCALE, FIRST, DROP]] = 1.0, 0.01, 1e-3, 0.01
    units[LAUNCHES : LAUNCHES + count] = 0.02
    units[which] = u

    def off(scaled: Array) -> Array:
        full = scaled * units
        away = (data.y - places_of(full, data, priors)) / data.u
        away = np.where(np.isfinite(away), away, 1e3)
        return np.concatenate([away[used], (full[which] - mean) / u])

    loss = "soft_l1" if rough else "linear"
    with np.errstate(all="ignore"):  # a step that is tried may leave what a ball can do; it is then turned down
        found = least_squares(
            off, theta / units, method="trf", loss=loss, x_scale="jac", max_nfev=60, ftol=close, xtol=close
        )
    if not np.all(np.isfinite(found.x)):
        raise NotConverged("the fit of a drop", float(found.cost), 0.0)
    return found.x * units, _slopes(off, found.x) / units


def _slopes(off: Callable[[Array], Array], at: Array) -> Array:
    """Differences both ways: the fit's own slopes, free of what its loss made of them."""
    columns = []
    for k in range(at.size):
        step = np.zeros(at.size)
        step[k] = 1e-4 * max(1.0, abs(at[k]) * 1e-2)
        columns.append((off(at + step) - off(at - step)) / (2.0 * step[k]))
    return np.stack(columns, axis=1)


def _spent(jacobian: Array, priors: DropPriors, flights: int) -> float:
    """How many places the unknowns use up: their number less what is known of them beforehand.

    The trace of the matrix that makes fitted places of places. All rows of the slopes have it together as large as the
    number of unknowns; those of what is known beforehand have the variance after the fit over that before.
    """
    which, _, u = known_beforehand(priors, flights)
    kept = np.diag(np.linalg.pinv(jacobian.T @ jacobian))[which] / u**2
    return float(jacobian.shape[1] - np.clip(kept, 0.0, 1.0).sum())


def _scatter(away: Array, speed: Array, spent: float) -> tuple[float, float]:
    """SD of a place, px, and of a frame's time, s: squares of residuals against squares of speeds.

    Residuals of n places to which m unknowns were fitted are smaller than what is wrong with them: by (n - m)/n in the
    square.
    """
    if away.size < 8:
        return max(float(np.sqrt(np.mean(away**2))), 0.02) if away.size else 0.5, 0.0
    squares = np.minimum(away**2, (5.0 * 1.4826 * np.median(np.abs(away)) + 1e-9) ** 2)
    squares *= away.size / max(away.size - spent, 2.0)
    fast = speed**2
    spread = np.var(fast)
    slope = float(np.cov(fast, squares)[0, 1] / spread) if spread > 0 else 0.0
    slope_u = float(np.std(squares) / math.sqrt(spread * away.size)) if spread > 0 else math.inf
    if slope < 2.0 * slope_u:  # no more than chance makes of it
        return max(float(np.sqrt(squares.mean())), 0.02), 0.0
    rest = float(squares.mean() - slope * fast.mean())
    return math.sqrt(max(rest, 0.02**2)), math.sqrt(slope)


def _alike(away: Array, flight: NDArray[np.int64], used: NDArray[np.bool_]) -> float:
    """How many times a place counts too often since its neighbours are off alike: from 1 up.

    1 + 2 (r1 + r2 + ...), correlations of residuals within flights at lags 1, 2 and so on up to the first that is not
    above 0 (the integrated autocorrelation time; from memory).
    """
    total = float(np.mean(away[used] ** 2)) if used.any() else 0.0
    if total <= 0.0:
        return 1.0
    times = 1.0
    for lag in range(1, min(_FAREST_LAG, away.size)):
        same = (flight[lag:] == flight[:-lag]) & used[lag:] & used[:-lag]
        if same.sum() < 10:
            break
        alike = float(np.mean(away[lag:][same] * away[:-lag][same])) / total
        if alike <= 0.0:
            break
        times += 2.0 * min(alike, 1.0)
    return times


def _told(
    theta: Array, covariance: Array, data: Places, priors: DropPriors, used: NDArray[np.bool_], noise: float,
    stamp: float, pattern: float,
) -> DropFit:  # fmt: skip
    count = launches_of(theta).size
    which, _, prior_u = known_beforehand(priors, count)
    drag_variance = float(covariance[DRAG, DRAG])
    weight = max(1.0 - drag_variance / priors.drag_u**2, 0.0)

    def value_of(make: Callable[[Array], float]) -> Told:
        slope = np.empty(theta.size)
        for k in range(theta.size):
            step = np.zeros(theta.size)
            step[k] = 1e-3 * math.sqrt(covariance[k, k])
            slope[k] = (make(theta + step) - make(theta - step)) / (2.0 * step[k])
        variance = float(slope @ covariance @ slope)
        # what each prior brings: the answer's slope to its mean, times its own uncertainty
        brought = [
            (cause_of(int(k), count), float(slope @ covariance[:, k] / u)) for k, u in zip(which, prior_u, strict=True)
        ]
        rest = math.sqrt(max(variance - sum(part**2 for _, part in brought), 0.0))
        # what the places say of drag has its weight beside what was known, and the rest of the fit moves along with it
        goes = float(slope @ covariance[:, DRAG]) / drag_variance * weight
        changing = goes * priors.drag_told_u
        parts = (*brought, (CHANGING, changing), (SCATTER, rest))
        value = float(make(theta)) + goes * priors.drag_told
        return Told(value, math.hypot(math.sqrt(variance), changing), parts)

    def launch(k: int) -> Callable[[Array], float]:
        return lambda full: float(full[LAUNCHES + k])

    def arriving(full: Array, k: int) -> float:
        faller = faller_of(full, priors)
        if k == 0:
            return float(impact_speed_after(full[DROP], faller))
        return float(impact_speed_of(full[LAUNCHES + k - 1], faller))

    own = tuple(_own_scale(theta, data, priors, used, k) for k in range(count + 1))
    places = data.y - places_of(theta, data, priors)
    curve = curve_of(theta, data, priors)
    return DropFit(
        rebounds=tuple(
            value_of(lambda full, k=k: float(height_of(full[LAUNCHES + k], faller_of(full, priors))))  # type: ignore[misc]
            for k in range(count)
        ),
        drop=value_of(lambda full: float(full[DROP])),
        ratio=_left_out(
            value_of(lambda full: float(height_of(full[LAUNCHES], faller_of(full, priors)) / full[DROP]))
        ),
        impacts=tuple(
            value_of(lambda full, k=k: float(moments_of(full, priors)[0][k]))  # type: ignore[misc]
            for k in range(count)
        ),
        speeds=tuple(value_of(lambda full, k=k: arriving(full, k)) for k in range(count)),  # type: ignore[misc]
        restitution=tuple(
            value_of(lambda full, k=k: launch(k)(full) / arriving(full, k))  # type: ignore[misc]
            for k in range(count)
        ),
        scale=value_of(lambda full: 1e3 * math.exp(full[SCALE])),
        tilt=value_of(lambda full: float(full[TILT])),
        rolling=value_of(lambda full: float(full[ROLLING])),
        floor=float(theta[FLOOR]), residuals=places, used=used, noise=noise, stamp=stamp, pattern=pattern,
        own_scales=own,
        nearing=tuple(value_of(lambda full, k=k: float(nearing_of(full)[k])) for k in range(count + 1)),  # type: ignore[misc]
        nearest=_nearest(nearer_of(theta, data.t, priors)),
        curve=curve,
        height=lambda times, places: heights_of(theta, times, places, data, priors),
        flown=lambda times, places: heights_of(
            theta, times, curve(times + theta[ROLLING] * (places - data.middle)), data, priors
        ),
    )  # fmt: skip


def _nearest(came: Array) -> float:
    """Give by how much a ball came nearer in all, in the order of time; below 0 where it was nearest before."""
    least, most = int(np.argmin(came)), int(np.argmax(came))
    return float(came[most] - came[least]) * (1.0 if most >= least else -1.0)


def _left_out(told: Told) -> Told:
    """Add what the fit leaves out of a ratio, in which nearly all that it knows of cancels."""
    more = _LEFT_OUT * told.value
    return Told(told.value, math.hypot(told.u, more), (*told.parts, (LEFT_OUT, more)))


def _own_scale(theta: Array, data: Places, priors: DropPriors, used: NDArray[np.bool_], k: int) -> Told:
    """Give the scale that one flight alone asks for: by how much its curve must be drawn out, times and floor free.

    Linear: places against the fitted height, a constant and the time, by least squares.
    """
    rows = (data.flight == k) & used
    heights = (theta[FLOOR] - places_of(theta, data, priors))[rows]
    since = data.t[rows] - data.t[rows].mean()
    design = np.column_stack([heights, np.ones(heights.size), since])
    weights = 1.0 / data.u[rows]
    if rows.sum() < 5:
        return Told(1e3 * math.exp(theta[SCALE]), math.inf)
    inverse = np.linalg.pinv((design * weights[:, None]).T @ (design * weights[:, None]))
    found = inverse @ (design * weights[:, None]).T @ ((theta[FLOOR] - data.y[rows]) * weights)
    scale = 1e3 * math.exp(theta[SCALE]) / max(float(found[0]), 1e-3)
    return Told(scale, scale * math.sqrt(max(float(inverse[0, 0]), 0.0)))
