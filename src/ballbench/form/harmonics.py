"""Lobes by number: amplitude and phase of each harmonic of an outline, how sure they are, and where the crests stand.

r = R + sum of amplitude cos(n theta + phase). Amplitudes are those of the outline before any filter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault

__all__ = ["MOST", "Harmonics", "crests_of", "harmonics_of", "noise_of_spectrum"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MOST = 50
"""The highest harmonic that is reported (own choice: a form has few lobes, the rest is texture)."""
_NOISE_ALONE = 0.05
"""Chance with which noise alone lifts any of the harmonics above its floor (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Harmonics:
    """Harmonics 1 to m of an outline.

    Parameters
    ----------
    n : (m,) int array
        Undulations to a turn.
    amplitude : (m,) float array
        As found, in the unit of the radius, from 0.
    phase : (m,) float array
        Radians, in (-pi, pi].
    u : (m,) float array
        Standard uncertainty of the cosine and of the sine coefficient from edge noise; NaN where no noise was given.
    radius : float
        R, the mean.
    """

    n: Ints
    amplitude: Floats
    phase: Floats
    u: Floats
    radius: float

    @property
    def freed(self) -> Floats:
        """Amplitudes without what noise adds to them, (m,), from 0.

        Noise makes every amplitude larger: the mean of its square is that of the truth plus twice `u` squared
        (from the two coefficients).
        """
        return np.asarray(np.sqrt(np.maximum(self.amplitude**2 - 2.0 * self.u**2, 0.0)))

    @property
    def floor(self) -> Floats:
        """Amplitude under which all harmonics of a round ball stay in nineteen cases of twenty, (m,).

        The amplitude of noise alone is Rayleigh: P(above A) = exp(-A^2/(2 u^2)).
        """
        return np.asarray(self.u * math.sqrt(-2.0 * math.log1p(-((1.0 - _NOISE_ALONE) ** (1.0 / len(self.n))))))

    @property
    def told(self) -> NDArray[np.bool_]:
        """Which harmonics noise alone does not explain, (m,)."""
        return np.asarray(self.amplitude > self.floor)

    def at(self, theta: ArrayLike, numbers: ArrayLike | None = None) -> Floats:
        """Give the sum of harmonics, without R, at angles in radians; `numbers`: of these n alone."""
        angle = np.asarray(theta, dtype=np.float64)
        chosen = np.ones(len(self.n), dtype=bool) if numbers is None else np.isin(self.n, np.asarray(numbers))
        waves = np.cos(angle[..., None] * self.n[chosen] + self.phase[chosen])
        return np.asarray(waves @ self.amplitude[chosen])


def harmonics_of(theta: ArrayLike, radius: ArrayLike, *, u: ArrayLike | None = None, most: int = MOST) -> Harmonics:
    """Give the harmonics of an outline by least squares.

    Parameters
    ----------
    theta : (k,) array_like of float
        Angles, radians, in any order and spacing.
    radius : (k,) array_like of float
        Radii there, finite.
    u : array_like of float or None
        Standard uncertainty of one radius, one number or (k,), independent from point to point; None: not known.
    most : int
        The highest harmonic, from 1.

    Returns
    -------
    Harmonics
        1 to `most`.

    Raises
    ------
    BadRequest
        Numbers that are not finite, fewer than 2 `most` + 1 points, or gaps so wide that the harmonics cannot be told
        from each other.

    Notes
    -----
    The ordinary least squares of R, a_n cos(n theta) and b_n sin(n theta) together; for evenly spaced angles these are
    the Fourier coefficients. The uncertainty of the coefficients is that of least squares (JCGM 100:2008, 5.1.2): for
    even angles u sqrt(2/k).
    """
    angle, r = np.asarray(theta, dtype=np.float64), np.asarray(radius, dtype=np.float64)
    _check(angle, r, most)
    noise = np.full(r.shape, math.nan) if u is None else np.broadcast_to(np.asarray(u, dtype=np.float64), r.shape)
    n = np.arange(1, most + 1)
    if _is_even(angle):
        step = 2.0 / len(r)
        turned = np.exp(-1j * n * angle[0])
        held = np.fft.rfft(r)[1 : most + 1] * step * turned
        spread = np.full(most, math.sqrt(2.0 * float(np.mean(noise**2)) / len(r)))
        return Harmonics(n, np.abs(held), np.angle(held), spread, float(r.mean()))
    rows = np.column_stack([np.ones_like(r), np.cos(np.outer(angle, n)), np.sin(np.outer(angle, n))])
    inverse = np.linalg.pinv(rows)
    if np.linalg.cond(rows) > 100.0:  # own choice: uncertainties grow a hundredfold
        todo = "give points all around, or ask for fewer harmonics"
        raise BadRequest(Fault("theta", "gaps in which harmonics hide", "points around the whole turn", todo))
    fit = inverse @ r
    u_all = np.sqrt((inverse**2) @ noise**2)
    a, b = fit[1 : most + 1], fit[most + 1 :]
    spread = np.sqrt((u_all[1 : most + 1] ** 2 + u_all[most + 1 :] ** 2) / 2.0)
    return Harmonics(n, np.hypot(a, b), np.arctan2(-b, a), spread, float(fit[0]))


def noise_of_spectrum(radius: ArrayLike, low: int, high: int) -> float:
    """Give the noise of one point from what an evenly spaced profile shows between two numbers of undulations.

    Parameters
    ----------
    radius : (k,) array_like of float
        Radii at equally spaced angles.
    low, high : int
        The undulations that are taken for noise alone, `low` < `high` < k/2.

    Returns
    -------
    float
        In the unit of the radius: the SD that independent noise would need to show as much there.

    Raises
    ------
    BadRequest
        No undulations between the two.

    Notes
    -----
    The median of the squared amplitudes, over ln 2 (that of an exponential distribution with mean 1), so that a few
    undulations that are real do not count; amplitude squared of noise is 4 sigma^2/k on average.
    """
    r = np.asarray(radius, dtype=np.float64)
    if not 1 <= low < high <= len(r) // 2:
        rule = f"1 to {len(r) // 2}, the first below the second"
        raise BadRequest(Fault("low, high", f"{low}, {high}", rule, "take more points, or a lower cut-off"))
    held = np.abs(np.fft.rfft(r - r.mean())[low:high] * 2.0 / len(r)) ** 2
    return math.sqrt(float(np.median(held)) / math.log(2.0) * len(r)) / 2.0


def crests_of(n: int, phase: float) -> Floats:
    """Give the angles of the crests of a harmonic, radians from 0 to 2 pi, (n,), rising."""
    return np.asarray(np.sort(np.mod((2.0 * math.pi * np.arange(n) - phase) / n, 2.0 * math.pi)))


def _is_even(angle: Floats) -> bool:
    even = angle[0] + np.arange(len(angle)) * 2.0 * math.pi / len(angle)
    return bool(np.all(np.abs(angle - even) < 1e-9))


def _check(angle: Floats, r: Floats, most: int) -> None:
    faults = []
    if angle.ndim != 1 or angle.shape != r.shape:
        faults.append(Fault("theta, radius", f"shapes {angle.shape}, {r.shape}", "one angle a radius", "give both"))
    elif not (np.all(np.isfinite(angle)) and np.all(np.isfinite(r))):
        faults.append(Fault("theta, radius", "a number that is not finite", "finite numbers", "leave the point out"))
    if most < 1 or r.size < 2 * most + 1:
        rule = "harmonics from 1, and two points for each and one more"
        faults.append(Fault("most", f"{most} with {r.size} points", rule, "ask for fewer, or give more points"))
    if faults:
        raise BadRequest(faults)
