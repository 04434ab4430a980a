"""What is round in a picture: votes of the gradients for a centre, on a reduced picture.

Every pixel with a slope votes for all points along the slope's line, both ways: the centre of a circle gets the votes
of its whole edge, whatever its radius, and whether it is darker or lighter than what lies behind it. A seam, print, a
shadow or a straight edge vote for no common point.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

__all__ = ["REDUCED", "RoundThing", "reduced", "round_things"]

Floats = NDArray[np.float64]

REDUCED = 320
"""Longest side of the reduced picture, pixels: a ball that fills a third of it has a hundred across (own choice)."""
_LEAST_RADIUS = 6.0  # reduced pixels: smaller things have too few slopes to vote (own choice)
_VOTERS = 5000  # slopes that vote at most (own choice)
_MOST = 0.6  # largest radius, of the picture's longest side: a ball that is whole has at most half (own choice)
_SECTORS = 72
_ALONG = math.cos(math.radians(15.0))  # a slope within 15 degrees of the radius belongs to the edge (own choice)
_CANDIDATES = 12
_NOISE = 4.0  # a slope counts from so many robust SDs of all slopes on (own choice)


@dataclass(frozen=True, slots=True)
class RoundThing:
    """A circle that was found.

    Parameters
    ----------
    x, y, radius : float
        Pixels of the picture that was given, y down.
    coverage : float
        Share of the turn with an edge on the circle, 0 to 1.
    strength : float
        Mean slope of the edge, of the largest in the picture.
    """

    x: float
    y: float
    radius: float
    coverage: float
    strength: float


def reduced(picture: NDArray[np.generic]) -> tuple[Floats, int]:
    """Give a picture made smaller by means over squares, every other row, and by how much.

    Parameters
    ----------
    picture : (h, w) array
        Any numbers.

    Returns
    -------
    small : (h // step, w // step) float array
        0 to 1.
    step : int
        Side of a square, pixels.
    """
    step = max(1, max(picture.shape) // REDUCED)
    high, wide = (side // step for side in picture.shape)
    rows = range(0, step, 2) if step > 3 else range(step)
    kind = np.uint32 if picture.dtype.kind == "u" else np.float32
    total = np.zeros((high, wide * step), dtype=kind)
    for row in rows:
        total += picture[row : high * step : step, : wide * step]
    small = total.reshape(high, wide, step).sum(axis=2, dtype=np.float64)
    largest = float(2 ** (8 * picture.dtype.itemsize) - 1) if picture.dtype.kind == "u" else 1.0
    return small / (len(rows) * step * largest), step


def round_things(picture: NDArray[np.generic]) -> tuple[RoundThing, ...]:
    """Find circles.

    Parameters
    ----------
    picture : (h, w) array
        Gray levels: unsigned integers, or floats from 0 to 1.

    Returns
    -------
    tuple of RoundThing
        Best first; circles that lie inside or upon a better one are left out.
    """
    small, step = reduced(picture)
    if min(small.shape) < 3 * _LEAST_RADIUS:
        return ()
    smooth = ndimage.gaussian_filter(small, 1.0)
    slope_y, slope_x = np.gradient(smooth)
    size = np.hypot(slope_x, slope_y)
    voters = _voters(size, slope_x, slope_y)
    if voters.size < 20:
        return ()
    y, x = np.divmod(voters, small.shape[1])
    strength = size.ravel()[voters]
    unit_x, unit_y = slope_x.ravel()[voters] / strength, slope_y.ravel()[voters] / strength
    votes = _votes(small.shape, x, y, unit_x, unit_y)
    found = [
        thing
        for row, column in _peaks(votes)
        if (thing := _around(column, row, x, y, unit_x, unit_y, strength, small.shape)) is not None
    ]
    found.sort(key=lambda thing: -_worth(thing))
    chosen: list[RoundThing] = []
    for thing in found:
        if all(math.hypot(thing.x - c.x, thing.y - c.y) > 0.8 * max(c.radius, thing.radius) for c in chosen):
            chosen.append(thing)
    shift = (step - 1) / 2.0
    return tuple(
        RoundThing(t.x * step + shift, t.y * step + shift, t.radius * step, t.coverage, t.strength) for t in chosen
    )


def _worth(thing: RoundThing) -> float:
    """Coverage above all; of two alike the one with the clearer edge."""
    return thing.coverage + 0.1 * thing.strength


def _voters(size: Floats, slope_x: Floats, slope_y: Floats) -> NDArray[np.intp]:
    """Give the flat places of the slopes that vote: clear of the noise, on the crest of their edge, not too many."""
    clear = size > _NOISE * 1.2 * float(np.median(size)) + 1e-4
    clear &= size > 0.02 * float(size.max())
    clear[:2] = clear[-2:] = False
    clear[:, :2] = clear[:, -2:] = False
    flat = np.flatnonzero(clear)
    if flat.size == 0:
        return flat
    values, wide = size.ravel(), size.shape[1]
    own = values[flat]
    step_x = np.rint(slope_x.ravel()[flat] / own).astype(np.intp)
    step_y = np.rint(slope_y.ravel()[flat] / own).astype(np.intp)
    step = step_y * wide + step_x
    flat = flat[(own >= values[flat + step]) & (own > values[flat - step])]
    if flat.size > _VOTERS:
        flat = np.sort(flat[np.argpartition(values[flat], -_VOTERS)[-_VOTERS:]])
    return flat


def _votes(shape: tuple[int, ...], x: NDArray[np.intp], y: NDArray[np.intp], ux: Floats, uy: Floats) -> Floats:
    """Count the votes for every pixel."""
    radii = np.arange(_LEAST_RADIUS, _MOST * max(shape), dtype=np.float32)[:, None]
    total = np.zeros(shape[0] * shape[1])
    start_x, start_y = x.astype(np.float32) + np.float32(0.5), y.astype(np.float32) + np.float32(0.5)
    for sign in (1.0, -1.0):
        column = np.floor(start_x + radii * (sign * ux).astype(np.float32)).astype(np.int32)
        row = np.floor(start_y + radii * (sign * uy).astype(np.float32)).astype(np.int32)
        inside = (column >= 0) & (column < shape[1]) & (row >= 0) & (row < shape[0])
        total += np.bincount((row * shape[1] + column)[inside], minlength=total.size)
    return np.asarray(ndimage.gaussian_filter(total.reshape(shape), 1.5))


def _peaks(votes: Floats) -> list[tuple[int, int]]:
    """Give row and column of the highest peaks."""
    crest = (votes == ndimage.maximum_filter(votes, size=9)) & (votes > 0.15 * votes.max())
    rows, columns = np.nonzero(crest)
    order = np.argsort(-votes[rows, columns])[:_CANDIDATES]
    return [(int(rows[k]), int(columns[k])) for k in order]


def _around(
    cx: float, cy: float, x: NDArray[np.intp], y: NDArray[np.intp], ux: Floats, uy: Floats, strength: Floats,
    shape: tuple[int, ...],
) -> RoundThing | None:  # fmt: skip
    """Fit a circle about a peak of votes; None where there is none."""
    radius = 0.0
    tolerance = 2.0
    for turn in range(4):
        away_x, away_y = x - cx, y - cy
        distance = np.hypot(away_x, away_y) + 1e-9
        radial = np.abs(away_x * ux + away_y * uy) > _ALONG * distance
        if turn == 0:
            radius = _radius(distance[radial], away_x[radial], away_y[radial], strength[radial])
            if radius == 0.0:
                return None
        near = radial & (np.abs(distance - radius) < max(tolerance, 0.02 * radius))
        if np.count_nonzero(near) < 12:
            return None
        weight = strength[near]
        design = np.column_stack((away_x[near] / distance[near], away_y[near] / distance[near], np.ones(weight.size)))
        shift = np.linalg.lstsq(design * weight[:, None], (distance[near] - radius) * weight, rcond=None)[0]
        cx, cy, radius = cx + float(shift[0]), cy + float(shift[1]), radius + float(shift[2])
        if not (0 < radius < max(shape)):
            return None
    sectors = ((np.arctan2(y[near] - cy, x[near] - cx) / (2.0 * math.pi) + 1.0) * _SECTORS).astype(int) % _SECTORS
    coverage = np.unique(sectors).size / _SECTORS
    best = np.zeros(_SECTORS)
    np.maximum.at(best, sectors, strength[near])
    return RoundThing(cx, cy, radius, coverage, float(np.median(best[best > 0])) / float(strength.max()))


def _radius(distance: Floats, away_x: Floats, away_y: Floats, strength: Floats) -> float:
    """Give the radius at which most of the turn has an edge; 0 for none."""
    if distance.size < 12:
        return 0.0
    sector = ((np.arctan2(away_y, away_x) / (2.0 * math.pi) + 1.0) * _SECTORS).astype(int) % _SECTORS
    ring = np.rint(distance).astype(int)
    seen = np.zeros((ring.max() + 3, _SECTORS))
    np.maximum.at(seen, (ring, sector), strength)
    seen[1:-1] = np.maximum(seen[1:-1], np.maximum(seen[:-2], seen[2:]))
    share = np.count_nonzero(seen, axis=1) / _SECTORS
    worth = share + 0.1 * seen.mean(axis=1) / float(strength.max())
    worth[: int(_LEAST_RADIUS)] = 0.0
    best = int(worth.argmax())
    return float(best) if share[best] >= 0.3 else 0.0
