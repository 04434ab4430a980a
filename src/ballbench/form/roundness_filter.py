"""The Gaussian filter of a closed profile: what counts as form, by undulations per revolution.

A profile's undulations of n to a turn pass with the share 2^-((n/nc)^2): all of the slow ones, half at the cut-off nc,
next to none at three times that. So form is stated with its cut-off, and texture and edge noise stay out of it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault

__all__ = ["CUTOFFS", "POINTS_PER_UNDULATION", "filtered", "points_needed", "transmission"]

Floats = NDArray[np.float64]

CUTOFFS = (15.0, 50.0, 150.0)
"""Usual cut-offs, undulations per revolution (ISO 12181-2; from memory, the standard was not opened)."""
POINTS_PER_UNDULATION = 7
"""Points for each undulation at the cut-off, at least (ISO 12181-2; from memory)."""


def transmission(n: ArrayLike, cutoff: float) -> Floats:
    """Give the share of an undulation's amplitude that passes.

    Parameters
    ----------
    n : array_like of float
        Undulations per revolution, from 0.
    cutoff : float
        The cut-off, undulations per revolution, above 0.

    Returns
    -------
    float array
        In the shape of `n`, 0 to 1.

    Raises
    ------
    BadRequest
        A cut-off that is none.

    Notes
    -----
    exp(-pi (a n/nc)^2) with a = sqrt(ln 2/pi), which is 2^-((n/nc)^2): ISO 16610-21 for closed profiles, as ISO 12181-2
    takes it up (from memory; that half of the amplitude passes at the cut-off was seen quoted).
    """
    _check(cutoff)
    return np.asarray(np.exp2(-((np.asarray(n, dtype=np.float64) / cutoff) ** 2)))


def points_needed(cutoff: float) -> int:
    """Give the points around that a cut-off needs at least.

    Raises
    ------
    BadRequest
        A cut-off that is none.
    """
    _check(cutoff)
    return math.ceil(POINTS_PER_UNDULATION * cutoff)


def filtered(radius: ArrayLike, cutoff: float, seen: ArrayLike | None = None) -> Floats:
    """Give the slow part of closed profiles.

    Parameters
    ----------
    radius : (..., n) array_like of float
        Radii at equally spaced angles over the whole turn, in any unit of length.
    cutoff : float
        Undulations per revolution.
    seen : (n,) array_like of bool or None
        Which points were seen; None: all.

    Returns
    -------
    (..., n) float array
        In the same unit. NaN where fewer than half of the weight lies on points that were seen.

    Raises
    ------
    BadRequest
        Fewer points than `points_needed`, or no point seen.

    Notes
    -----
    With all points seen the spectrum is multiplied by `transmission`, which is exact. With gaps the weighted mean of
    the points seen is taken, with the same Gaussian weights (the zeroth-order regression by which such gaps are
    usually bridged; own derivation), on what is left when the mean is taken off.
    """
    values = np.asarray(radius, dtype=np.float64)
    n = values.shape[-1] if values.ndim else 0
    if n < points_needed(cutoff):
        found, rule = f"{n} points around", f"at least {points_needed(cutoff)} for {cutoff:g} undulations"
        raise BadRequest(Fault("radius", found, rule, "take more points, or a lower cut-off"))
    if seen is None:
        return _through(values, cutoff)
    mask = np.asarray(seen, dtype=bool)
    if mask.all():
        return _through(values, cutoff)
    if not mask.any():
        raise BadRequest(Fault("seen", "no point", "points that were seen", "look at the outline"))
    held = np.where(mask, values, 0.0)
    mean = held.sum(axis=-1, keepdims=True) / int(mask.sum())
    above = _through(np.where(mask, values - mean, 0.0), cutoff)
    weight = _through(mask.astype(np.float64), cutoff)
    return np.asarray(np.where(weight >= 0.5, mean + above / np.maximum(weight, 0.5), np.nan))


def _through(values: Floats, cutoff: float) -> Floats:
    n = values.shape[-1]
    spectrum = np.fft.rfft(values, axis=-1) * transmission(np.arange(n // 2 + 1), cutoff)
    return np.asarray(np.fft.irfft(spectrum, n, axis=-1))


def _check(cutoff: float) -> None:
    if not (math.isfinite(cutoff) and cutoff > 0.0):
        rule = "undulations per revolution, a number above 0"
        raise BadRequest(Fault("cutoff", f"{cutoff}", rule, "give 15, 50 or 150"))
