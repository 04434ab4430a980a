"""Rays across a circle that is roughly known: the strongest step on each, and one smooth closed line through them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from ballbench.images.view import View, angles
from ballbench.records.media.photo_file import linear_light

__all__ = [
    "RoughEdge",
    "all_round",
    "closed_line",
    "harmonics_at",
    "light_along",
    "light_at",
    "limb_fall",
    "rough_edge",
]

Floats = NDArray[np.float64]

_RAYS = 360
_SMOOTHING = 1.2  # of the slope along a ray, pixels (own choice)
_ORDER = 8
_AGREED = 0.85  # share of rays that must agree on which side is lighter, for the others to be held to it (own choice)
_ROUNDS = 6
_STIFF = 1e-6  # how much a bend of the line costs, so that gaps are filled smoothly (own choice)


@dataclass(frozen=True, slots=True)
class RoughEdge:
    """Where the edge is, to a pixel.

    Parameters
    ----------
    line : (2 m + 1,) float array
        Mean, cosine and sine parts of the radius, pixels.
    width : float
        SD of the edge's blur, pixels.
    seen : float
        Share of rays whose step lies on the line.
    inner, outer : float
        Light inside and outside, medians.
    """

    line: Floats
    width: float
    seen: float
    inner: float
    outer: float


def light_at(picture: NDArray[Any], rows: NDArray[np.intp], columns: NDArray[np.intp]) -> Floats:
    """Give the light of pixels at rows and columns, (n,) each, whose place must be inside the picture."""
    values = picture[rows, columns]
    return (linear_light(values) if values.dtype.kind == "u" else values).astype(np.float64)


def harmonics_at(theta: Floats, order: int) -> Floats:
    """Give the columns 1, cos theta, sin theta, cos 2 theta, ... of a closed line, in the shape (n, 2 order + 1)."""
    columns = np.empty((theta.size, 2 * order + 1))
    columns[:, 0] = 1.0
    turn = np.exp(1j * theta)
    power = np.ones_like(turn)
    for n in range(1, order + 1):
        power = power * turn
        columns[:, 2 * n - 1], columns[:, 2 * n] = power.real, power.imag
    return columns


def all_round(line: Floats, count: int) -> Floats:
    """Give a closed line at `angles(count)`, more of them than twice its harmonics, by a Fourier transform."""
    parts = np.zeros(count // 2 + 1, dtype=np.complex128)
    parts[0] = line[0] * count
    parts[1 : (line.size + 1) // 2] = (line[1::2] - 1j * line[2::2]) * (count / 2.0)
    return np.asarray(np.fft.irfft(parts, n=count))


def closed_line(
    theta: Floats, radius: Floats, order: int, weight: Floats | None = None, least: float = 0.05
) -> tuple[Floats, NDArray[np.bool_]]:
    """Lay a smooth closed line through points, those that lie far from it left out.

    Parameters
    ----------
    theta, radius : (n,) float array
        Points; NaN radius for none.
    order : int
        Highest harmonic.
    weight : (n,) float array or None
        Of each point.
    least : float
        Distance that is never far, in the unit of `radius`.

    Returns
    -------
    line : (2 order + 1,) float array
        Coefficients for `harmonics_at`.
    near : (n,) bool array
        The points that the line goes by.

    Notes
    -----
    Least squares, weighed anew by Tukey's biweight with 5 robust SDs; a bend costs as the fourth power of its order, so
    that a gap is bridged smoothly.
    """
    given = np.isfinite(radius)
    columns = harmonics_at(theta, order)
    base = np.where(given, 1.0 if weight is None else weight, 0.0)
    values = np.where(given, radius, 0.0)
    cost = _STIFF * np.repeat(np.arange(order + 1), [1] + [2] * order).astype(float) ** 4 * float(base.sum())
    start = np.median(radius[given]) if given.any() else 0.0
    line = np.zeros(2 * order + 1)
    line[0] = start
    factor = np.ones_like(base)
    near = given
    for turn in range(_ROUNDS):
        part = min(order, 2 + 2 * turn) if turn < _ROUNDS - 2 else order
        use = 2 * part + 1
        loaded = columns[:, :use] * (base * factor)[:, None]
        normal = columns[:, :use].T @ loaded + np.diag(cost[:use])
        line = np.zeros(2 * order + 1)
        line[:use] = np.linalg.solve(normal + 1e-12 * np.eye(use) * np.trace(normal), loaded.T @ values)
        off = np.where(given, radius - columns @ line, np.nan)
        scale = max(1.4826 * float(np.nanmedian(np.abs(off))), least / 5.0)
        ratio = np.where(given, off / (5.0 * scale), 2.0)
        near = np.abs(ratio) < 1.0
        factor = np.where(near, (1.0 - np.minimum(np.abs(ratio), 1.0) ** 2) ** 2, 0.0)
        if np.count_nonzero(near) < use:
            break
    return line, near


def rough_edge(picture: NDArray[Any], view: View, radius: float, reach: float) -> RoughEdge | None:
    """Look for the edge along rays.

    Parameters
    ----------
    picture : (h, w) array
        The whole picture.
    view : View
        About the ball's middle as far as it is known.
    radius : float
        Expected, pixels.
    reach : float
        How far off the edge may be, pixels.

    Returns
    -------
    RoughEdge or None
        None where fewer than a quarter of the rays meet a step.
    """
    theta = angles(_RAYS)
    steps = np.arange(-math.ceil(reach) - 6, math.ceil(reach) + 7)
    light, inside = light_along(picture, view, theta, np.full(_RAYS, radius), steps)
    slope = ndimage.gaussian_filter1d(light, _SMOOTHING, axis=1, order=1, mode="nearest")
    slope[:, :4] = slope[:, -4:] = 0.0
    slope[~inside] = 0.0
    strongest = np.abs(slope).argmax(axis=1)
    height = slope[np.arange(_RAYS), strongest]
    sign = np.sign(height)
    clear = np.abs(height) > 0.2 * np.quantile(np.abs(height), 0.8)
    agreed = abs(float(sign[clear].mean())) if clear.any() else 0.0
    if agreed > 2.0 * _AGREED - 1.0:
        side = 1.0 if sign[clear].sum() > 0 else -1.0
        strongest = (side * slope).argmax(axis=1)
        height = slope[np.arange(_RAYS), strongest]
        clear = side * height > 0.2 * np.quantile(np.abs(height), 0.8)
    found = np.where(clear, radius + steps[strongest], np.nan)
    if np.count_nonzero(clear) < _RAYS / 4:
        return None
    line, near = closed_line(theta, found, _ORDER, least=2.0)
    if np.count_nonzero(near) < _RAYS / 4:
        return None
    width, inner, outer = _blur(picture, view, theta[near], harmonics_at(theta[near], _ORDER) @ line)
    return RoughEdge(line, width, float(near.mean()), inner, outer)


def light_along(
    picture: NDArray[Any], view: View, theta: Floats, start: Floats, steps: NDArray[np.intp]
) -> tuple[Floats, NDArray[np.bool_]]:
    """Give the light of the nearest pixels on rays.

    Parameters
    ----------
    picture : (h, w) array
        The whole picture.
    view : View
        About the ball.
    theta, start : (rays,) float array
        Direction of each ray, radians, and the radius at its step 0, pixels.
    steps : (n,) int array
        Ways outwards from there, pixels, rising.

    Returns
    -------
    light : (rays, n) float array
        0 to 1.
    inside : (rays, n) bool array
        Whether a pixel of the picture is there.

    Notes
    -----
    A ray is taken as straight in the picture between its ends: no lens bends it by a pixel on so short a way.
    """
    ends = [view.shown(theta, np.maximum(start + float(end), 0.0)) for end in (steps[0], steps[-1])]
    share = ((steps - steps[0]) / (steps[-1] - steps[0])).astype(np.float32)
    (x, y), (far_x, far_y) = ends
    columns = np.rint(x[:, None] + share * (far_x - x)[:, None]).astype(np.int32)
    rows = np.rint(y[:, None] + share * (far_y - y)[:, None]).astype(np.int32)
    inside = (columns >= 0) & (columns < picture.shape[1]) & (rows >= 0) & (rows < picture.shape[0])
    np.clip(columns, 0, picture.shape[1] - 1, out=columns)
    np.clip(rows, 0, picture.shape[0] - 1, out=rows)
    return light_at(picture, rows, columns), inside


def _blur(picture: NDArray[Any], view: View, theta: Floats, radius: Floats) -> tuple[float, float, float]:
    """Give the SD of the edge's slope over all rays together, and the light on both sides."""
    reach = int(min(40.0, 0.4 * float(np.median(radius))))
    steps = np.arange(-reach, reach + 1)
    light, inside = light_along(picture, view, theta, radius, steps)
    whole = inside.all(axis=1)
    profile = np.median(light[whole] if whole.any() else light, axis=0)
    slope = np.abs(np.gradient(profile))
    crest = reach + int(slope[reach - 3 : reach + 4].argmax()) - 3
    low = high = crest
    while low > 0 and slope[low - 1] > 0.15 * slope[crest]:
        low -= 1
    while high < slope.size - 1 and slope[high + 1] > 0.15 * slope[crest]:
        high += 1
    part = slope[low : high + 1]
    place = steps[low : high + 1]
    middle = float(part @ place) / float(part.sum())
    variance = float(part @ (place - middle) ** 2) / float(part.sum())
    width = math.sqrt(max(variance - 0.5, 0.16))
    edge = 3 + math.ceil(2.5 * width)
    inner = float(np.median(profile[max(crest - edge - 3, 0) : max(crest - edge, 1)]))
    outer = float(np.median(profile[min(crest + edge + 1, profile.size - 1) : crest + edge + 4]))
    return width, inner, outer


def limb_fall(picture: NDArray[Any], view: View, radius: float) -> float:
    """Say how much light the ball loses towards its limb.

    Parameters
    ----------
    picture : (h, w) array
        The whole picture.
    view : View
        About the ball.
    radius : float
        Of it, pixels.

    Returns
    -------
    float
        Difference between the light at 0.8 and at 0.97 of the radius, median over rays, of the step from the ball to
        what lies behind it; below 0 where the limb is lighter.
    """
    theta = angles(_RAYS)
    steps = np.array([0, round(0.17 * radius), round(0.27 * radius)], dtype=np.intp)
    light, _ = light_along(picture, view, theta, np.full(_RAYS, 0.8 * radius), steps)
    middle, limb, beyond = np.median(light, axis=0)
    return float((middle - limb) / max(abs(limb - beyond), 1e-6) * np.sign(limb - beyond))
