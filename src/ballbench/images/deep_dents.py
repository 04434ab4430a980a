"""A dent so deep that its edge lies beyond the window about the smooth line: looked for on rays.

What hides the limb (a post, print) and what the ball lacks both leave stretches without a step where the line is. The
ball's own edge is a step of the same height a little further in, with the ball's light on one side and that of
the background on the other; a post has no such step.

A highlight or a print as light as the background looks like a dent from afar. Where the limb itself still shows under
it, as a step at the line, it is none: under a dent there is background on both sides of the line. One that hides the
limb wholly is not told from a dent. What sticks out so far is not followed: dust and fluff do, and balls hardly.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from ballbench.images.edge_fit import EdgeFit
from ballbench.images.ray_search import all_round, light_along
from ballbench.images.stretches import SHORT, runs
from ballbench.images.view import View, angles

__all__ = ["FOLLOWED_U", "followed"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

FOLLOWED_U = 0.3
"""Standard uncertainty of a point that was found on a ray, pixels: the nearest pixel is off by up to a half (own
choice)."""
_REACH = 0.10  # of the radius: farther from the line nothing is looked for, and nothing is measured (own choice)
_ALIKE = 0.3  # of the step's height: how far the light on both sides may be from the usual (own choice)
_SHOWS = 0.04
"""Of the step's height: a limb shows by so much more or less light outside the line than inside it (own choice)."""
_MOST_OF = 0.7  # share of a run on which the step must be found, for it to be the ball's (own choice)


def followed(picture: NDArray[Any], view: View, radius: Floats, line: Floats, fit: EdgeFit, dropped: Flags) -> Floats:
    """Look for the edge where it was not seen.

    Parameters
    ----------
    picture : (h, w) array
        The whole picture.
    view : View
        About the ball.
    radius : (m,) float array
        Of each stretch, pixels.
    line : (k,) float array
        Smooth closed line, harmonics.
    fit : EdgeFit
        The edge.
    dropped : (m,) bool array
        Where it was not seen.

    Returns
    -------
    (m,) float array
        Radius where the ball's own step was found in a run of more than two degrees, and no limb is left at the line;
        NaN elsewhere.
    """
    size = radius.size
    found = np.full(size, np.nan)
    seen = ~dropped
    if not dropped.any() or not seen.any():
        return found
    inner, outer = float(np.median(fit.inner[seen])), float(np.median(fit.outer[seen]))
    blur, start = float(np.median(fit.blur[seen])), all_round(line, size)
    theta = angles(size)
    for first, length in runs(dropped):
        if length <= SHORT * size / (2.0 * math.pi):
            continue
        places = (first + np.arange(length)) % size
        steps, jump = _steps(picture, view, theta[places], start[places], (inner, outer), blur)
        clear = steps < -_beside(blur)  # so deep that no blur of the line itself reaches it
        deep = steps < -2.0 * _beside(blur)
        shows = deep.any() and abs(float(np.median(jump[deep]))) > _SHOWS
        if clear.any() and not shows and np.count_nonzero(np.isfinite(steps)) >= _MOST_OF * length:
            found[places] = start[places] + steps
    return found


def _steps(
    picture: NDArray[Any], view: View, theta: Floats, start: Floats, sides: tuple[float, float], blur: float
) -> tuple[Floats, Floats]:
    """Give how far outwards from the start the step stands on each ray, NaN where there is none like the ball's.

    Also how much lighter it is beyond the start than before it, in steps.
    """
    away = math.ceil(_REACH * float(np.median(start)))
    beside = _beside(blur)
    steps = np.arange(-away - beside, away + beside + 1)
    light, inside = light_along(picture, view, theta, start, steps)
    share = (light - sides[0]) / (sides[1] - sides[0])
    slope = ndimage.gaussian_filter1d(share, max(blur, 1.0), axis=1, order=1, mode="nearest")
    slope[:, :beside] = slope[:, -beside:] = -np.inf
    slope[~inside] = -np.inf
    best = slope.argmax(axis=1)
    rows = np.arange(len(theta))
    good = np.isfinite(slope[rows, best]) & (np.abs(share[rows, best - beside]) < _ALIKE)
    good &= np.abs(share[rows, best + beside] - 1.0) < _ALIKE
    # the step's middle by area: as much light as a sharp step there would let through
    near = best[:, None] + np.arange(-beside, beside + 1)
    middle = steps[0] + best + beside + 0.5 - np.clip(share[rows[:, None], near], -_ALIKE, 1.0 + _ALIKE).sum(axis=1)
    jump = share[:, away + 2 * beside] - share[:, away]
    return np.where(good & (middle < 0.0), middle, np.nan), jump


def _beside(blur: float) -> int:
    """Give how many pixels from a step the light is that of its side."""
    return math.ceil(3.0 * blur) + 1
