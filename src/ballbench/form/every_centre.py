"""Every place where the centre of a narrowest ring, or of a largest circle inside, can be: for few points, all tried.

Where an outline is far from round, a ring that no small move makes narrower need not be the narrowest. About a centre
the furthest point is the same over a cell of the plane, and so is the nearest. The narrowest ring stands where a border
between two cells of furthest points crosses one between two cells of nearest points: two outer and two inner contacts.
The largest circle inside stands on a corner where three cells of nearest points meet. All borders and corners of a few
points are soon worked out.

Source: the cells are those of Voronoi diagrams (computational geometry, textbook; from memory); worked out for this
tool, held against searches of another kind.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FEW", "inscribed_centres", "ring_centres"]

Floats = NDArray[np.float64]

FEW = 60
"""Points up to which every centre is tried (own choice): some hundredths of a second, or, where many points lie equally
far, half a second and 300 MB."""
_LEVEL = 1e-9
"""Of the size of the outline, squared: how far a border may overlap a point's own side (own choice, roundings)."""


def ring_centres(xy: Floats) -> Floats:
    """Give the centres about which no small move makes a ring narrower, best first.

    Parameters
    ----------
    xy : (n, 2) float array
        Points about their mean, not all on a line.

    Returns
    -------
    (k, 2) float array
        First those that the points surround, the narrowest ring first; then the others likewise.
    """
    far, near = _borders(xy, furthest=True), _borders(xy, furthest=False)
    det = _cross(far.way[:, None], near.way[None])
    gap = near.start[None] - far.start[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        along_far = _cross(gap, near.way[None]) / det
        along_near = _cross(gap, far.way[:, None]) / det
    slack = _LEVEL * float(np.abs(xy).max())
    crossed = np.isfinite(along_far) & np.isfinite(along_near)
    crossed &= (along_far >= far.low[:, None] - slack) & (along_far <= far.high[:, None] + slack)
    crossed &= (along_near >= near.low - slack) & (along_near <= near.high + slack)
    which, other = np.nonzero(crossed)
    centres = far.start[which] + along_far[crossed][:, None] * far.way[which]
    centres = centres[_alternate(xy, centres, far.pair[which], near.pair[other])]
    widths = np.ptp(np.hypot(xy[:, 0] - centres[:, :1], xy[:, 1] - centres[:, 1:]), axis=1)
    return np.asarray(centres[np.lexsort((widths, ~_surrounded(xy, centres)))])


def inscribed_centres(xy: Floats) -> Floats:
    """Give the centres about which no small move makes a circle inside larger, the largest circle first.

    Parameters
    ----------
    xy : (n, 2) float array
        Points about their mean, not all on a line.

    Returns
    -------
    (k, 2) float array
        Those whose nearest points surround them.
    """
    borders = _borders(xy, furthest=False)
    ends = np.concatenate(
        [(borders.start + end[:, None] * borders.way)[np.isfinite(end)] for end in (borders.low, borders.high)]
    )
    distance = np.hypot(xy[:, 0] - ends[:, :1], xy[:, 1] - ends[:, 1:])
    radius = distance.min(axis=1)
    touching = distance <= radius[:, None] + _LEVEL * float(np.abs(xy).max())
    held = np.array([_surrounded(xy[near], end[None])[0] for near, end in zip(touching, ends, strict=True)], dtype=bool)
    return np.asarray(ends[held][np.argsort(-radius[held], kind="stable")])


@dataclass(frozen=True, slots=True)
class _Borders:
    """Borders between cells: a point of each, its direction, of length 1, and its ends along it, which may be endless.

    `pair` has the two points, indices (m, 2), whose cells it parts.
    """

    start: Floats
    way: Floats
    low: Floats
    high: Floats
    pair: NDArray[np.intp]


def _borders(xy: Floats, *, furthest: bool) -> _Borders:
    """Give the borders between the cells of furthest or of nearest points.

    On the line of equal distance from two points every other point asks for one side of a place: no nearer than the
    two, or no further.
    """
    pair = np.column_stack(np.triu_indices(len(xy), 1))
    apart = xy[pair[:, 1]] - xy[pair[:, 0]]
    length = np.hypot(apart[:, 0], apart[:, 1])
    pair, apart = pair[length > 0.0], apart[length > 0.0] / length[length > 0.0, None]
    one = xy[pair[:, 0]]
    start, way = (one + xy[pair[:, 1]]) / 2.0, np.column_stack([-apart[:, 1], apart[:, 0]])
    # |start + t way - p|^2 less the same for the two points is straight in t: slope t + level
    gap = xy[None] - one[:, None]
    slope = -2.0 * np.einsum("mnk,mk->mn", gap, way)
    level = (xy**2).sum(axis=1)[None] - (one**2).sum(axis=1)[:, None] - 2.0 * np.einsum("mnk,mk->mn", gap, start)
    if furthest:
        slope, level = -slope, -level
    size = float(np.abs(xy).max())
    flat = np.abs(slope) <= 1e-12 * size
    with np.errstate(divide="ignore", invalid="ignore"):
        place = -level / slope
    low = np.where(~flat & (slope > 0.0), place, -np.inf).max(axis=1)
    high = np.where(~flat & (slope < 0.0), place, np.inf).min(axis=1)
    good = (low <= high + _LEVEL * size) & ~(flat & (level < -_LEVEL * size**2)).any(axis=1)
    return _Borders(start[good], way[good], low[good], high[good], pair[good])


def _cross(one: Floats, other: Floats) -> Floats:
    return np.asarray(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0])


def _alternate(xy: Floats, centres: Floats, outer: NDArray[np.intp], inner: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Say of each centre whether two outer and two inner contacts, (k, 2) indices each, lie around it in turn."""
    held = xy[np.column_stack([outer, inner])] - centres[:, None]
    held /= np.maximum(np.hypot(held[..., 0], held[..., 1]), 1e-300)[..., None]
    a, c, b, d = (held[:, k] for k in range(4))
    return np.asarray(
        (_cross(d - b, a - b) * _cross(d - b, c - b) < 0.0) & (_cross(c - a, b - a) * _cross(c - a, d - a) < 0.0)
    )


def _surrounded(xy: Floats, centres: Floats) -> NDArray[np.bool_]:
    """Say of each centre whether no half circle about it holds all points."""
    if not len(centres):
        return np.zeros(0, dtype=bool)
    angles = np.sort(np.arctan2(xy[:, 1] - centres[:, 1:], xy[:, 0] - centres[:, :1]), axis=1)
    gaps = np.diff(angles, axis=1, append=angles[:, :1] + 2.0 * np.pi)
    return np.asarray(gaps.max(axis=1) <= np.pi + 1e-7)
