"""The edge below a pixel: a blurred step fitted to the pixels themselves, one stretch of the limb after the other.

No pixel is interpolated. Each belongs to one stretch, and a stretch's step has its own place and its own light on both
sides, by least squares; the blur and the slopes of the light on both sides change slowly round the ball.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from ballbench.images.ray_search import all_round, harmonics_at, light_at
from ballbench.images.view import View, angles

__all__ = ["LEAST_WINDOW", "UNLIKE", "WINDOW", "EdgeFit", "fit_edge", "pixels_along"]

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

UNLIKE = 6.0
"""Times the mean square that is usual round the ball: what leaves so much is no step of the limb (own choice)."""
_TABLE = 4096  # angles at which a line is worked out, to be read between them
_SECTORS = 24
_FLANK = 1.5  # SDs of the blur from the edge on to which its flanks begin (own choice)
WINDOW = 4.5  # SDs of the blur on both sides of the edge that are looked at
LEAST_WINDOW = 4.5  # the same in pixels
_FEWEST = 7  # pixels that a stretch needs: its step has three unknowns (own choice)
_BLUR_ORDER = 2
_LEAST_BLUR = 0.3
_SLOPE_ORDER = 2
_BESIDE = 2.8  # SDs of the blur from the step on (own choice)
_MARKED = 5.0  # standard uncertainties from which on a slope of the light beside the edge is believed (own choice)


@dataclass(frozen=True, slots=True)
class EdgeFit:
    """Steps along the limb.

    Parameters
    ----------
    place : (m,) float array
        Of the step, pixels outwards from the line that was given; NaN where there are too few pixels.
    u : (m,) float array
        Standard uncertainty of it.
    inner, outer : (m,) float array
        Light on both sides.
    misfit : (m,) float array
        Mean square of what the step leaves, over the median of the sectors.
    blur : (m,) float array
        SD of the step's blur, pixels.
    clipped : (m,) float array
        Share of pixels on the lighter side that are as light as the file can hold, in the sector about each stretch.
    """

    place: Floats
    u: Floats
    inner: Floats
    outer: Floats
    misfit: Floats
    blur: Floats
    clipped: Floats


@dataclass(frozen=True, slots=True)
class _Pixels:
    """Pixels near the limb, ordered by stretch; `first` begins each stretch that has any."""

    off: Floats
    light: Floats
    stretch: Places
    first: Places
    present: Places
    sector: Places

    def sums(self, values: Floats) -> Floats:
        return np.add.reduceat(values, self.first, axis=-1)


def pixels_along(
    picture: NDArray[Any], view: View, line: Floats, reach: float, most: int = 0
) -> tuple[Floats, Floats, Floats]:
    """Give every pixel near a closed line.

    Parameters
    ----------
    picture : (h, w) array
        The whole picture.
    view : View
        About the ball.
    line : (2 m + 1,) float array
        Radius as harmonics, pixels.
    reach : float
        How far from the line, pixels.
    most : int
        How many are enough: about as many are taken, evenly; 0 for all.

    Returns
    -------
    theta, off, light : (n,) float array
        Where they are about the ball, radians, how far outwards from the line, pixels, and their light.
    """
    theta = angles(_TABLE)
    radius = all_round(line, _TABLE)
    margin = reach + 1.0
    x, y = view.shown(theta, radius)
    rows, columns = _band(x - view.x, y - view.y, margin, view, picture.shape)
    every = max(1, rows.size // most) if most else 1
    rows, columns = rows[::every], columns[::every]
    at, rho = view.about(columns.astype(np.float64), rows.astype(np.float64))
    off = rho - _interpolated(at, radius)
    near = np.abs(off) <= reach
    rows, columns = rows[near], columns[near]
    return at[near], off[near], light_at(picture, rows, columns)


def _band(
    x: Floats, y: Floats, margin: float, view: View, shape: tuple[int, ...]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Give rows and columns of the pixels within a ring that holds the line, row by row, without looking at others."""
    distance = np.hypot(x, y)
    inner, outer = max(float(distance.min()) - margin, 0.0), float(distance.max()) + margin
    rows = np.arange(max(0, math.ceil(view.y - outer)), min(shape[0] - 1, math.floor(view.y + outer)) + 1)
    away = rows - view.y
    wide = np.sqrt(np.maximum(outer**2 - away**2, 0.0))
    narrow = np.sqrt(np.maximum(inner**2 - away**2, 0.0))
    left, right = np.ceil(view.x - wide), np.floor(view.x + wide)
    hole_left = np.floor(view.x - narrow)
    hole_right = np.maximum(np.ceil(view.x + narrow), hole_left + 1)
    starts = np.concatenate((left, hole_right)).clip(0, shape[1])
    ends = np.concatenate((hole_left, right)).clip(-1, shape[1] - 1)
    counts = np.maximum(ends - starts + 1, 0).astype(np.intp)
    where = np.repeat(np.arange(counts.size), counts)
    within = np.arange(where.size) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.concatenate((rows, rows))[where], starts.astype(np.intp)[where] + within


def _interpolated(theta: Floats, table: Floats) -> Floats:
    """Read a table of equal steps over a turn between its entries."""
    place = theta * (table.size / (2.0 * math.pi))
    low = place.astype(np.intp)
    share = place - low
    low %= table.size
    return table[low] * (1.0 - share) + table[(low + 1) % table.size] * share


def fit_edge(
    theta: Floats, off: Floats, light: Floats, stretches: int, blur: float, guess: tuple[float, float], rounds: int = 4
) -> EdgeFit:
    """Fit a step to each stretch.

    Parameters
    ----------
    theta : (n,) float array
        Of the pixels, radians, 0 to 2 pi.
    off : (n,) float array
        Their distance outwards from a line near the edge, pixels.
    light : (n,) float array
        Their light.
    stretches : int
        How many the turn is cut into, m; stretch k is about the angle 2 pi k/m.
    blur : float
        First guess of the blur's SD, pixels.
    guess : (float, float)
        First guess of the light inside and outside.
    rounds : int
        How often everything is moved; the slopes of the light in the last round only.

    Returns
    -------
    EdgeFit
        Of each stretch.

    Notes
    -----
    light = inner + (outer - inner) Phi((off - place)/blur): the step of a straight edge through a Gaussian blur, in
    which the square of the pixel has its part. Gauss-Newton steps; uncertainty from what the fit leaves, pooled over
    sectors and zones of the edge, carried through the fit.
    """
    stretch = np.rint(theta * (stretches / (2.0 * math.pi))).astype(np.intp) % stretches
    state = _State(stretches, blur, guess)
    order = np.argsort(stretch.astype(np.uint16 if stretches < 2**16 else np.intp), kind="stable")
    theta, off, light, stretch = theta[order], off[order], light[order], stretch[order]
    for turn in range(rounds):
        window = max(WINDOW * float(np.median(state.blur)), LEAST_WINDOW)
        near = np.abs(off - state.place[stretch]) <= window
        pixels = _pixels(off[near], light[near], stretch[near], stretches)
        state.step(pixels, blur_too=turn > 0, slopes_too=turn == rounds - 1)
    state.step(pixels, blur_too=False, slopes_too=False)
    return state.result(pixels)


def _pixels(off: Floats, light: Floats, stretch: Places, stretches: int) -> _Pixels:
    first = np.flatnonzero(np.diff(stretch, prepend=-1))
    present = stretch[first]
    counts = np.diff(first, append=stretch.size)
    enough = counts >= _FEWEST
    if not enough.all():
        keep = np.repeat(enough, counts)
        return _pixels(off[keep], light[keep], stretch[keep], stretches)
    return _Pixels(off, light, stretch, first, present, present * _SECTORS // stretches)


class _State:
    """What is known of every stretch while the fit goes on."""

    def __init__(self, stretches: int, blur: float, guess: tuple[float, float]) -> None:
        self.theta = angles(stretches)
        self.place = np.zeros(stretches)
        self.inner, self.outer = np.full(stretches, guess[0]), np.full(stretches, guess[1])
        self.blur = np.full(stretches, blur)
        self.slope_in, self.slope_out = np.zeros(stretches), np.zeros(stretches)

    def model(self, pixels: _Pixels) -> tuple[Floats, Floats, Floats, Floats]:
        """Give for every pixel its distance in blurs, the step, the bell, and what the step leaves of its light."""
        s = pixels.stretch
        blur = self.blur[s]
        z = (pixels.off - self.place[s]) / blur
        step = special.ndtr(z)
        bell = np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        fitted = self.inner[s] + (self.outer - self.inner)[s] * step
        if self.slope_in.any() or self.slope_out.any():
            fitted += blur * (self.slope_in[s] * (z * (1.0 - step) - bell) + self.slope_out[s] * (z * step + bell))
        return z, step, bell, pixels.light - fitted

    def step(self, pixels: _Pixels, *, blur_too: bool, slopes_too: bool) -> None:
        """Move everything once towards what leaves least."""
        z, step, bell, left = self.model(pixels)
        s = pixels.stretch
        height = (self.outer - self.inner)[s]
        along = -height * bell / self.blur[s]
        moves, inverse = _solved(pixels, along, step, left)
        limit = 2.0 * np.median(self.blur)
        self.place[pixels.present] += np.clip(moves[0], -limit, limit)
        self.inner[pixels.present] += moves[1]
        self.outer[pixels.present] += moves[2]
        if blur_too:
            wider = -height * bell * z / self.blur[s]
            self._blur(pixels, wider - _shared(pixels, (along, 1.0 - step, step), inverse, wider), left)
        if slopes_too:
            self._slopes(pixels, z, left)

    def _blur(self, pixels: _Pixels, along: Floats, left: Floats) -> None:
        """Move the blur, which changes as 1, cos 2 theta, sin 2 theta, by what the stretches' own unknowns leave."""
        columns = harmonics_at(self.theta, _BLUR_ORDER)[:, [0, 3, 4]]
        power = pixels.sums(along * along)
        push = pixels.sums(along * left)
        design = columns[pixels.present]
        normal = design.T @ (power[:, None] * design)
        move = np.linalg.solve(normal + 1e-9 * np.trace(normal) * np.eye(3), design.T @ push)
        typical = float(np.median(self.blur))
        self.blur = np.maximum(self.blur + np.clip(columns @ move, -0.4 * typical, 0.6 * typical), _LEAST_BLUR)

    def _slopes(self, pixels: _Pixels, z: Floats, left: Floats) -> None:
        """Fit the slopes of the light on both sides, which change as 1, cos theta, sin theta, cos 2 theta, ...

        From pixels off the step only: in the step a slope and a wider blur look alike.
        """
        columns = harmonics_at(self.theta, _SLOPE_ORDER)
        design = columns[pixels.present]
        row = np.repeat(np.arange(pixels.present.size), np.diff(pixels.first, append=pixels.stretch.size))
        for name, beside in (("slope_in", z < -_BESIDE), ("slope_out", z > _BESIDE)):
            weight = beside.astype(np.float64)
            count = np.maximum(pixels.sums(weight), 1.0)
            away = weight * (pixels.off - (pixels.sums(weight * pixels.off) / count)[row])
            power, push = pixels.sums(away * away), pixels.sums(away * left)
            normal = design.T @ (power[:, None] * design)
            normal += 1e-9 * (np.trace(normal) + 1e-30) * np.eye(columns.shape[1])
            inverse = np.asarray(np.linalg.inv(normal), dtype=np.float64)
            noise = float(np.sum(weight * left**2)) / max(float(weight.sum()), 1.0)
            before = np.linalg.lstsq(columns, getattr(self, name), rcond=None)[0]
            move = inverse @ (design.T @ push)
            scores = design * (push - power * (design @ move))[:, None]
            variance = np.maximum(np.diag(inverse) * noise, _by_sectors(pixels.sector, scores, inverse))
            part = _believed(before + move, np.sqrt(variance))
            setattr(self, name, columns @ part)

    def result(self, pixels: _Pixels) -> EdgeFit:
        """Give what was found, with its uncertainty."""
        z, step, bell, left = self.model(pixels)
        s = pixels.stretch
        height = (self.outer - self.inner)[s]
        along = -height * bell / self.blur[s]
        _, inverse = _solved(pixels, along, step, left)
        counts = np.diff(pixels.first, append=s.size)
        row = np.repeat(np.arange(pixels.present.size), counts)
        weight = inverse[:, 0, 0][row] * along + inverse[:, 0, 1][row] * (1.0 - step) + inverse[:, 0, 2][row] * step
        zone, sector = np.digitize(z, (-_FLANK, _FLANK)), pixels.sector[row]
        square = left**2 * (counts / np.maximum(counts - 3.0, 1.0))[row]
        usual = np.median(_means(sector * 3 + zone, square, 3 * _SECTORS).reshape(_SECTORS, 3), axis=0)
        unlike = pixels.sums(left**2) / np.maximum(pixels.sums(usual[zone]), 1e-30)
        alike = (unlike < UNLIKE)[row]
        pooled = _means((sector * 3 + zone)[alike], square[alike], 3 * _SECTORS).reshape(_SECTORS, 3)
        pooled = np.where(pooled > 0.0, pooled, usual)
        stretches = self.theta.size
        place, u, misfit = (np.full(stretches, np.nan) for _ in range(3))
        place[pixels.present] = self.place[pixels.present]
        u[pixels.present] = np.sqrt(pixels.sums(weight**2 * pooled[sector, zone]))
        misfit[pixels.present] = unlike
        lighter = np.where(self.outer > self.inner, 1.0, -1.0)[s] * z > _FLANK
        full = _means(sector[lighter], (pixels.light >= _FULL)[lighter].astype(np.float64), _SECTORS)
        clipped = full[np.arange(stretches) * _SECTORS // stretches]
        return EdgeFit(place, u, self.inner, self.outer, misfit, self.blur, clipped)


def _means(cell: Places, values: Floats, cells: int) -> Floats:
    """Give the mean of the values in each cell; 0 where there are none."""
    return np.asarray(np.bincount(cell, values, minlength=cells) / np.maximum(np.bincount(cell, minlength=cells), 1))


def _by_sectors(sector: Places, scores: Floats, inverse: Floats) -> Floats:
    """Give the variance of least-squares unknowns, whatever makes neighbours in a sector err together.

    From the scatter of the sectors' sums of scores, in place of that of single pixels (Liang and Zeger, Biometrika 73,
    1986, from memory): a file's coding leaves ripples beside the edge that many stretches share, and that look like
    slopes.
    """
    sums = np.stack([np.bincount(sector, one, minlength=_SECTORS) for one in scores.T])
    freed = _SECTORS / (_SECTORS - scores.shape[1])
    return np.asarray(freed * np.diag(inverse @ (sums @ sums.T) @ inverse), dtype=np.float64)


def _believed(part: Floats, u: Floats) -> Floats:
    """Give the parts of a slope that stand out, each number of waves a turn by itself; 0 for the others."""
    ratio = np.abs(part) / np.maximum(u, 1e-300)
    waves = np.repeat(np.maximum(ratio[1::2], ratio[2::2]), 2)
    return np.where(np.concatenate((ratio[:1], waves)) > _MARKED, part, 0.0)


_FULL = 0.985  # light of the level 253 of 255: what clips is spread by the file's compression (own choice)


def _solved(pixels: _Pixels, along: Floats, step: Floats, left: Floats) -> tuple[Floats, Floats]:
    """Give the moves of place, inner and outer light of each stretch, (3, k), and the inverses, (k, 3, 3)."""
    base = (along, 1.0 - step, step)
    normal = np.empty((pixels.first.size, 3, 3))
    push = np.empty((pixels.first.size, 3))
    for i in range(3):
        push[:, i] = pixels.sums(base[i] * left)
        for j in range(i, 3):
            normal[:, i, j] = normal[:, j, i] = pixels.sums(base[i] * base[j])
    scale = np.sqrt(np.einsum("kii->ki", normal)) + 1e-12
    scaled = normal / (scale[:, :, None] * scale[:, None, :]) + 1e-7 * np.eye(3)
    inverse = np.linalg.inv(scaled) / (scale[:, :, None] * scale[:, None, :])
    return np.einsum("kij,kj->ik", inverse, push), inverse


def _shared(pixels: _Pixels, base: tuple[Floats, Floats, Floats], inverse: Floats, shape: Floats) -> Floats:
    """Give the part of a shape that place and light of its stretch can make."""
    push = np.stack([pixels.sums(part * shape) for part in base], axis=1)
    moves = np.einsum("kij,kj->ik", inverse, push)
    row = np.repeat(np.arange(pixels.present.size), np.diff(pixels.first, append=pixels.stretch.size))
    return np.asarray(moves[0][row] * base[0] + moves[1][row] * base[1] + moves[2][row] * base[2])
