"""What the stretches of a limb are worth: which are dropped, how gaps are filled, how noisy the rest is."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ballbench.images.edge_fit import UNLIKE, EdgeFit
from ballbench.images.ray_search import all_round
from ballbench.images.view import angles

__all__ = ["CUT", "SHORT", "dropped_stretches", "filled", "noise_of", "on_points", "runs"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_FAR = 5.0  # robust SDs off the smooth line (own choice)
_LEAST_FAR = 0.1  # pixels: never dropped for less (own choice)
SHORT = math.radians(2.0)
"""A longer run beside the line is the ball's own shape, and kept (own choice)."""
_FAINT = 0.2  # of the median step's height (own choice)
_UNSURE = 5.0  # times the median uncertainty (own choice)
CUT = 0.25
"""Share of the lighter side that is as light as the file can hold, from which on its light is unknown (own choice)."""
_SMALL_GAP = math.radians(3.0)


def dropped_stretches(radius: Floats, line: Floats, fit: EdgeFit) -> tuple[Flags, int]:
    """Say which stretches show no edge of the ball.

    Parameters
    ----------
    radius : (m,) float array
        Of each stretch, pixels; NaN for none.
    line : (k,) float array
        Smooth closed line through them, harmonics.
    fit : EdgeFit
        The edge.

    Returns
    -------
    dropped : (m,) bool array
        Without an edge, over-exposed, with a step unlike its neighbours', or alone beside the line.
    odd : int
        Degrees at which a longer run stands beside the line, which is kept; 0 for none.
    """
    size = radius.size
    theta = angles(size)
    bad = ~np.isfinite(radius) | ~np.isfinite(fit.u)
    height = np.abs(fit.outer - fit.inner)
    bad |= ~(height > _FAINT * float(np.median(height)))
    bad |= ~(fit.u < _UNSURE * float(np.nanmedian(fit.u)))
    bad |= ~(fit.misfit < UNLIKE)
    bad |= fit.clipped > CUT
    off = radius - all_round(line, size)
    good = off[~bad]
    scale = 1.4826 * float(np.median(np.abs(good - np.median(good)))) if good.size else math.inf
    far = ~bad & (np.abs(off) > max(_FAR * scale, _LEAST_FAR))
    longest = max(1, int(SHORT * size / (2.0 * math.pi)))
    odd = 0
    for start, length in runs(far):
        places = (start + np.arange(length)) % size
        if length <= longest:
            bad[places] = True
        else:
            odd = max(1, round(math.degrees(theta[places[length // 2]])))
    return bad, odd


def runs(flags: Flags) -> list[tuple[int, int]]:
    """Give start and length of each run of true values round the turn."""
    if not flags.any() or flags.all():
        return [(0, flags.size)] if flags.any() else []
    first = int(np.flatnonzero(~flags)[0])
    turned = np.roll(flags, -first)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], turned.astype(np.int8), [0]))))
    return [((int(a) + first) % flags.size, int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def filled(radius: Floats, line: Floats, u: Floats, kept: Flags) -> tuple[Floats, Floats]:
    """Fill dropped stretches from the smooth line.

    Parameters
    ----------
    radius, u : (m,) float array
        Of each stretch, pixels.
    line : (k,) float array
        Smooth closed line, harmonics.
    kept : (m,) bool array
        Where the edge was seen.

    Returns
    -------
    radius, u : (m,) float array
        Without gaps. A gap of up to three degrees is known to twice the median uncertainty; a wider one only as well as
        the ball is round (own choices).
    """
    if kept.all():
        return radius, u
    size = radius.size
    smooth = all_round(line, size)
    whole, sure = np.where(kept, radius, smooth), np.where(kept, u, 2.0 * float(np.median(u[kept])))
    for start, length in runs(~kept):
        if length * 2.0 * math.pi / size > _SMALL_GAP:
            places = (start + np.arange(length)) % size
            sure[places] = np.maximum(sure[places], float(np.std(radius[kept])))
    return whole, sure


def noise_of(radius: Floats, u: Floats, kept: Flags) -> tuple[Floats, float]:
    """Hold the stated uncertainties against the scatter that the outline shows.

    Parameters
    ----------
    radius, u : (m,) float array
        Of each stretch, pixels, without gaps.
    kept : (m,) bool array
        Where the edge was seen.

    Returns
    -------
    u : (m,) float array
        Multiplied so that the scatter about the lower harmonics is as large as it says.
    correlated : float
        Mean square of the harmonics just above the lower ones, over that of independent noise, at least 1.

    Notes
    -----
    The ball's own shape is taken to lie in the lower harmonics, an eighth of the stretches, at most 48; finer texture
    of the ball counts as noise, which errs to the safe side. In them the noise is taken to be that of the harmonics
    just above. Compression works in blocks of pixels and makes neighbours err together.
    """
    size = radius.size
    order = min(48, size // 8)
    parts = np.fft.rfft(radius - radius.mean())
    parts[: order + 1] = 0.0
    left = np.fft.irfft(parts, n=size)
    share = float(kept.mean())
    above = float(np.mean(np.abs(parts[order + 1 : min(2 * order, size // 2 - 1) + 1]) ** 2)) / (size * share)
    typical = float(np.median(u[kept])) ** 2
    ratio = math.sqrt(float(np.mean((left[kept] / u[kept]) ** 2)) + above / typical * (2.0 * order + 1.0) / size)
    correlated = above / (ratio**2 * typical) if ratio > 0.0 else 1.0
    return u * max(ratio, _LEAST_RATIO), max(correlated, 1.0)


_LEAST_RATIO = 0.7  # fewer than this no scatter argues the fit's own uncertainty down to (own choice)


def on_points(radius: Floats, u: Floats, kept: Flags, points: int) -> tuple[Floats, Floats, Flags]:
    """Give the outline at more points than it has stretches.

    Parameters
    ----------
    radius, u : (m,) float array
        Of each stretch, pixels, without gaps.
    kept : (m,) bool array
        Where the edge was seen.
    points : int
        Wanted, m or more.

    Returns
    -------
    radius, u : (points,) float array
        By the trigonometric polynomial through the stretches, each harmonic freed of the mean over a stretch; u of the
        nearest stretch.
    kept : (points,) bool array
        Of the nearest stretch.
    """
    size = radius.size
    parts = np.fft.rfft(radius)
    n = np.arange(parts.size)
    averaged = np.sinc(n / size)
    parts[: size // 4] /= averaged[: size // 4]
    if size == points:
        return np.fft.irfft(parts, n=points), u, kept
    more = np.zeros(points // 2 + 1, dtype=complex)
    more[: min(parts.size, more.size)] = parts[: more.size] * (points / size)
    if size % 2 == 0 and size // 2 < more.size:
        more[size // 2] *= 0.5
    nearest = np.rint(np.arange(points) * (size / points)).astype(np.intp) % size
    return np.fft.irfft(more, n=points), u[nearest], kept[nearest]
