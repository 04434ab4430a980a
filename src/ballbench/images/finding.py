"""From a photograph's gray levels to the outline of the ball in it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.images.camera_limits import camera_notes, oval_left
from ballbench.images.deep_dents import FOLLOWED_U, followed
from ballbench.images.edge_fit import LEAST_WINDOW, WINDOW, EdgeFit, fit_edge, pixels_along
from ballbench.images.outline import Outline, no_outline
from ballbench.images.ray_search import RoughEdge, all_round, closed_line, limb_fall, rough_edge
from ballbench.images.refusals import (
    LEAST_RADIUS,
    MOST_ANGLE,
    edge_refusal,
    frame_refusal,
    place_refusal,
    shape_refusal,
    widest_gap,
)
from ballbench.images.round_things import REDUCED, RoundThing, round_things
from ballbench.images.stretches import CUT, dropped_stretches, filled, noise_of, on_points
from ballbench.images.view import View, angles, view_of
from ballbench.records.media.camera_file import Camera

__all__ = ["FEWEST_POINTS", "outline_of"]

Floats = NDArray[np.float64]

FEWEST_POINTS = 64
_SOME_CUT = 0.03  # of the lighter side: worth saying (own choice)
_FALL = 0.2  # of the step's height: light that the ball loses towards its limb, worth saying (own choice)
_ARC = 2.2  # pixels of limb that a stretch needs, for its three unknowns (own choice)
_LINE_ORDER = 48  # harmonics of the line that the stretches are held against (own choice)
_PASSES = 4
_NEAR_ENOUGH = 1.0  # pixels that the middle may be off when rays were laid, for them not to be laid again
_LONGER, _ENOUGH = 4, 60  # so many times longer are the stretches of the first pass, with about so many pixels each
_FIRST_ROUNDS, _ROUNDS = 3, 2
_SPARSE = 4  # pixels a stretch: with fewer the place is not worth a fit
_SETTLED = 0.05  # pixels: an eccentricity e changes a radius by e^2/(4 R) beyond its first harmonic
_NEAR = 0.25  # how far off, in radii, a radius that a person gave may be (own choice)


@dataclass(frozen=True, slots=True)
class _Limb:
    """The limb in stretches, about a view that stands on its middle."""

    view: View
    radius: Floats
    line: Floats
    fit: EdgeFit
    fall: float


def outline_of(
    gray: NDArray[Any],
    *,
    camera: Camera | None = None,
    points: int = 1440,
    near: tuple[float, float] | None = None,
    radius: float | None = None,
    least_radius: float = LEAST_RADIUS,
) -> Outline:
    """Trace the ball in a photograph.

    Parameters
    ----------
    gray : (h, w) array
        Linear light, 0 to 1, floats; or unsigned integers as a file codes them, which are turned to light where they
        are needed and spare time.
    camera : Camera or None
        The lens, where it is known.
    points : int
        Of the outline.
    near : (float, float) or None
        x and y (down) of the ball's middle, pixels, when a person says which thing is meant; None: it is found.
    radius : float or None
        Its radius, pixels, with `near`.
    least_radius : float
        Smallest radius that is accepted, pixels.

    Returns
    -------
    Outline
        The limb with its uncertainty, or the reason why not.

    Raises
    ------
    BadRequest
        No picture of two dimensions, too few points, or a place without a radius.
    """
    _check(gray, points, near, radius)
    if near is None:
        things = round_things(gray)
        refused = frame_refusal(things)
        if refused:
            return no_outline(refused)
        thing, reach = things[0], 2.5 * max(1.0, max(gray.shape) / REDUCED) + 0.03 * things[0].radius
    else:
        assert radius is not None  # noqa: S101 - checked above; the type says otherwise
        thing, reach = RoundThing(near[0], near[1], radius, 1.0, 1.0), max(4.0, _NEAR * radius)
    refused = place_refusal(thing.x, thing.y, thing.radius, gray.shape, least_radius)
    if refused:
        return no_outline(refused)
    view = view_of(thing.x, thing.y, camera)
    found = _roughly(gray, view, thing.radius, reach)
    if found is None:
        return no_outline(frame_refusal(()))
    view, rough = found
    refused = place_refusal(view.x, view.y, float(rough.line[0]), gray.shape, least_radius)
    if refused:
        return no_outline(refused)
    stretches = min(points, int(2.0 * math.pi * float(rough.line[0]) / _ARC))
    limb = _limb(gray, view, rough, stretches)
    if limb is None:
        return no_outline(frame_refusal(()))
    return _outline(gray, limb, points, meant=near is not None)


def _check(gray: NDArray[Any], points: int, near: tuple[float, float] | None, radius: float | None) -> None:
    faults = []
    if gray.ndim != 2 or min(gray.shape) < 2 or gray.dtype.kind not in "uf":
        faults.append(
            Fault("gray", f"{gray.dtype} of shape {gray.shape}", "rows and columns of levels", "give gray levels")
        )
    if points < FEWEST_POINTS:
        faults.append(Fault("points", str(points), f"{FEWEST_POINTS} or more", "ask for more points"))
    if (near is None) != (radius is None) or (radius is not None and not radius > 0.0):
        faults.append(Fault("near", "a place without a radius, or the reverse", "both or neither", "give both"))
    if faults:
        raise BadRequest(faults)


def _roughly(gray: NDArray[Any], view: View, radius: float, reach: float) -> tuple[View, RoughEdge] | None:
    """Lay rays, move to the middle of what they meet, lay them again."""
    first = rough_edge(gray, view, radius, reach)
    if first is None:
        return None
    view, middle = _centred(view, first)
    if math.hypot(*first.line[1:3]) < _NEAR_ENOUGH:
        return view, middle
    radius = float(first.line[0])
    again = rough_edge(gray, view, radius, max(4.0, 0.02 * radius, 2.0 * float(np.abs(first.line[3:]).sum())))
    return None if again is None else _centred(view, again)


def _centred(view: View, rough: RoughEdge) -> tuple[View, RoughEdge]:
    """Move the view to the middle of the line."""
    line = rough.line.copy()
    line[1:3] = 0.0
    return view.moved(float(rough.line[1]), float(rough.line[2])), replace(rough, line=line)


def _limb(gray: NDArray[Any], view: View, rough: RoughEdge, stretches: int) -> _Limb | None:
    """Fit the edge to some of the pixels in long stretches, move to its middle, fit it to all of them in short ones."""
    line, blur, guess = rough.line, rough.width, (rough.inner, rough.outer)
    for turn in range(_PASSES):
        first = turn == 0
        count = max(stretches // _LONGER, 64) if first else stretches
        reach = max(WINDOW * blur, LEAST_WINDOW) + (2.0 if first else 1.0)
        at, off, light = pixels_along(gray, view, line, reach, _ENOUGH * count if first else 0)
        if at.size < _SPARSE * count:
            return None
        fit = fit_edge(at, off, light, count, blur, guess, _FIRST_ROUNDS if first else _ROUNDS)
        if np.count_nonzero(np.isfinite(fit.place)) < count // 4:
            return None
        theta = angles(count)
        radius = all_round(line, count) + fit.place
        smooth, _ = closed_line(theta, radius, min(_LINE_ORDER, count // 8), least=0.1)
        shift = math.hypot(*smooth[1:3])
        if (turn and shift < _SETTLED) or turn == _PASSES - 1:
            break
        view = view.moved(float(smooth[1]), float(smooth[2]))
        blur = float(np.median(fit.blur))
        guess = (float(np.median(fit.inner)), float(np.median(fit.outer)))
        line = smooth.copy()
        line[1:3] = 0.0
    radius += fit.blur**2 / (2.0 * float(line[0]))  # a blurred disc is half as light at so much within its edge
    return _Limb(view, radius, smooth, fit, limb_fall(gray, view, float(line[0])))


def _outline(gray: NDArray[Any], limb: _Limb, points: int, *, meant: bool) -> Outline:
    """Judge the stretches, and put the outline together."""
    fit, mean, shape = limb.fit, float(limb.line[0]), gray.shape
    dropped, odd = dropped_stretches(limb.radius, limb.line, fit)
    deep = followed(gray, limb.view, limb.radius, limb.line, fit, dropped)
    beyond = np.isfinite(deep)
    kept = ~dropped | beyond
    view = limb.view
    notes = camera_notes(view, mean, shape)
    centre = (view.x, view.y)
    refused = edge_refusal(fit, kept, mean, shaded=limb.fall > _FALL)
    if not refused and view.camera is not None and view.axis_angle > MOST_ANGLE:
        refused = (
            f"The ball stands {view.axis_angle:.1f} degrees off the camera's axis, at most {MOST_ANGLE:g} are "
            "measured: put it in the middle of the picture."
        )
    oval, bound = oval_left(view, mean, shape)
    refused = refused or ("" if meant else bound)
    if refused:
        return no_outline(refused, notes)
    known = np.where(beyond, deep, np.where(kept, limb.radius, np.nan))
    line, _ = closed_line(angles(kept.size), known, (limb.line.size - 1) // 2, least=0.1)
    radius, u = filled(known, line, np.where(beyond, FOLLOWED_U, fit.u), kept)
    u, correlated = noise_of(radius, u, kept)
    refused = "" if meant else shape_refusal(radius, u, kept)
    if refused:
        return no_outline(refused, notes)
    theta = angles(points)
    radius, u, seen = on_points(radius, u, kept, points)
    sine = math.nan if view.camera is None else mean * float(view.axis[2]) / view.camera.focal
    return Outline(
        theta=theta,
        radius=radius,
        u=u,
        kept=seen,
        centre=centre,
        axis_angle=view.axis_angle,
        edge_width=2.563 * float(np.median(fit.blur)),
        coverage=float(kept.mean()),
        stretches=fit.place.size,
        correlated=correlated * points / fit.place.size,
        oval=oval,
        scale_factor=1.0 / math.sqrt(1.0 - sine**2) if sine < 1.0 else math.nan,
        distance=1.0 / sine if sine > 0.0 else math.nan,
        notes=(*notes, *_edge_notes(limb, kept, beyond, odd)),
    )


def _edge_notes(limb: _Limb, kept: NDArray[np.bool_], beyond: NDArray[np.bool_], odd: int) -> tuple[str, ...]:
    """Say what a reader must know of the edge."""
    notes, fit = [], limb.fit
    gone = int(np.count_nonzero(~kept))
    if gone:
        words = f"{gone} of {kept.size} stretches of the edge were dropped (print, dust, or something before the ball)"
        gap = math.degrees(widest_gap(kept))
        notes.append(f"{words}; the widest gap is {gap:.1f} degrees, filled in smoothly.")
    if beyond.any():
        at = round(math.degrees(float(angles(kept.size)[int(np.flatnonzero(beyond)[beyond.sum() // 2])])))
        notes.append(
            f"A deep dent is at {at} degrees: its points are known to {FOLLOWED_U:g} pixel each. A highlight or print "
            "as light as the background looks the same: look there."
        )
    elif odd:
        notes.append(f"A bump or dent of more than two degrees stands out at {odd} degrees; it is kept.")
    most = float(fit.clipped.max())
    if most > CUT:
        notes.append("Over-exposed stretches of the edge were dropped: expose darker.")
    elif most > _SOME_CUT:
        notes.append(f"Up to {100 * most:.0f} % of the lighter side is as light as the file can hold: expose darker.")
    if limb.fall > _FALL:
        notes.append(
            "The ball's light falls off towards its limb, which moves the edge by a part of a pixel: back-light the "
            "ball."
        )
    return tuple(notes)
