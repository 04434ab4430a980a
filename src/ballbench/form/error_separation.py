"""Ball from camera: several photographs of one ball, turned by known steps about the viewing axis.

What turns with the ball is the ball's; what stays where it is belongs to the camera: the lens that is left, the
light, the shape of the pixels. Harmonic by harmonic both are found by least squares. A harmonic that looks the same
after every step is blind: with m equal steps over the turn these are the multiples of m. The first harmonic goes to
centring, which is new in every photograph.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.form.harmonics import Harmonics

__all__ = ["BLIND", "Separated", "blind_harmonics", "separate", "steps_factor"]

Floats = NDArray[np.float64]

BLIND = 0.95
"""|mean of exp(i n phi)| from which a harmonic is called blind: its uncertainty is over three times what it would be
for steps that see it (own choice)."""
TURN_U = 1.0
"""Standard uncertainty of a turn, degrees, where none is stated: a mark on the ball against a protractor (own
choice)."""


@dataclass(frozen=True, slots=True)
class Separated:
    """Ball and camera, harmonic by harmonic.

    Parameters
    ----------
    ball, camera : Harmonics
        n as in the photographs; the ball's phases are those of the first photograph. NaN where the steps are blind, and
        at n = 1.
    blind : tuple of int
        Harmonics that the steps do not tell apart, without 1.
    seen : (m,) float array
        Factor by which the uncertainty of each of the ball's coefficients is that of the mean of all photographs: 1 for
        steps that spread evenly; infinite where blind.
    closure : float
        Sum of squares of what the two parts do not explain, in standard uncertainties; NaN with two photographs.
    dof : int
        Its degrees of freedom.
    p : float
        Chance of so much or more if ball, camera and turns are what they are taken for, turns that are a little off
        reckoned in; NaN with two photographs.
    agrees : bool
        That chance is 1 % or more, or cannot be told.
    worst : int
        Photograph, from 0, that is furthest off what the others say.
    notes : tuple of str
        What a reader must know.
    """

    ball: Harmonics
    camera: Harmonics
    blind: tuple[int, ...]
    seen: Floats
    closure: float
    dof: int
    p: float
    agrees: bool
    worst: int
    notes: tuple[str, ...]


def steps_factor(turns: ArrayLike, n: ArrayLike) -> Floats:
    """Give |mean over the turns of exp(i n phi)| for numbers of lobes.

    Parameters
    ----------
    turns : (k,) array_like of float
        Turns of the ball, degrees.
    n : (m,) array_like of int
        Lobes.

    Returns
    -------
    (m,) float array
        0: seen as well as can be; 1: blind.
    """
    angles = np.radians(np.asarray(turns, dtype=np.float64))
    return np.asarray(np.abs(np.mean(np.exp(1j * np.outer(np.asarray(n), angles)), axis=1)))


def blind_harmonics(turns: ArrayLike, most: int = 50) -> tuple[int, ...]:
    """Give the harmonics from 2 to `most` that turns (k,), degrees, do not tell apart, by `BLIND`."""
    n = np.arange(2, most + 1)
    return tuple(int(k) for k in n[steps_factor(turns, n) >= BLIND])


def separate(found: Sequence[Harmonics], turns: ArrayLike, *, turn_u: float = TURN_U) -> Separated:
    """Separate ball and camera.

    Parameters
    ----------
    found : sequence of Harmonics
        Of each photograph, alike in n, in one unit of length.
    turns : (k,) array_like of float
        By how much the ball was turned against the first photograph, degrees, counter-clockwise as seen in the picture.
    turn_u : float
        Standard uncertainty of one turn, degrees.

    Returns
    -------
    Separated
        With what does not fit.

    Raises
    ------
    BadRequest
        Fewer than two photographs, as many turns as there are not, or turns that are all alike.

    Notes
    -----
    With complex coefficients c_n of r = R + Re sum c_n exp(i n theta), a photograph at the turn phi shows B_n exp(-i
    n phi) + C_n: the multi-step method, written out here for any steps. Least squares over k photographs gives var
    B_n = var C_n = s^2/(k (1 - m_n^2)), m_n being `steps_factor`. A turn off by u moves a harmonic by n u |B_n|.
    """
    angles = np.radians(np.asarray(turns, dtype=np.float64))
    k = len(found)
    _check(found, angles, turn_u)
    n = found[0].n
    held = np.array([one.amplitude * np.exp(1j * one.phase) for one in found])
    noise = np.array([one.u for one in found])
    turned = np.exp(-1j * np.outer(angles, n))
    factor = np.abs(turned.mean(axis=0))
    blind = (factor >= BLIND) | (n == 1)
    ball, camera = _solved(held, turned, np.where(blind, 0.0, factor))
    wobble = np.radians(turn_u) * n * np.abs(ball)
    spread = np.sqrt(np.mean(noise**2, axis=0) + wobble**2 / 2.0)
    widen = 1.0 / np.sqrt(np.maximum(1.0 - factor**2, 1e-12))
    u = np.where(blind, math.nan, spread * widen / math.sqrt(k))
    left = held - ball * turned - camera
    weights = np.maximum(noise[:, ~blind] ** 2 + wobble[~blind] ** 2 / 2.0, 1e-300)
    scaled = np.abs(left[:, ~blind]) ** 2 / weights
    dof = 2 * (k - 2) * int((~blind).sum())
    closure = float(scaled.sum()) if dof else math.nan
    turning = np.radians(turn_u) * n[~blind] * ball[~blind] * turned[:, ~blind]
    p = math.nan
    if dof and math.isfinite(closure):
        noises = np.mean(noise[:, ~blind] ** 2, axis=0)
        p = _chance(closure, turned[:, ~blind], noises, turning, weights.mean(axis=0))
    return Separated(
        _as_harmonics(n, np.where(blind, math.nan, ball), u, float(np.mean([one.radius for one in found]))),
        _as_harmonics(n, np.where(blind, math.nan, camera), u, 0.0),
        tuple(int(x) for x in n[blind & (n != 1)]),
        np.where(blind, math.inf, widen),
        closure, dof, p, not p < 0.01, int(np.argmax(scaled.sum(axis=1))) if dof else 0,
        tuple(_notes(n[blind & (n != 1)], p)),
    )  # fmt: skip


def _solved(
    held: NDArray[np.complex128], turned: NDArray[np.complex128], factor: Floats
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """Solve the two normal equations of every harmonic; where blind, all is left with the ball."""
    k = len(held)
    total, along = held.sum(axis=0), (turned.conj() * held).sum(axis=0)
    mean = turned.sum(axis=0)
    det = k * k * (1.0 - factor**2)
    ball = (k * along - mean.conj() * total) / det
    camera = (total - mean * ball) / k
    return np.asarray(ball), np.asarray(camera)


def _chance(
    closure: float,
    turned: NDArray[np.complex128],
    noise: Floats,
    turning: NDArray[np.complex128],
    weights: Floats,
) -> float:
    """Give the chance of so large a closure if noise and turns are as they are said to be.

    A turn that is a little off moves all harmonics of its photograph together, so they are not independent. With noise
    N of every coefficient and turns off by u J_j, what is left over is z = P (N + J), P being what remains of two
    unknowns; z'z is a Gaussian quadratic form. A shifted chi-square with its first three moments, which are the traces
    of the powers of z's covariance, stands for it (Imhof 1961, after Pearson; from memory, held by simulation); without
    errors of the turns that is the plain chi-square. `turned`, `turning` (k, m); `noise`, `weights` (m,) variances.
    """
    k = len(turned)
    grams = []
    for j in range(len(noise)):
        basis = np.linalg.qr(np.column_stack([turned[:, j], np.ones(k)]))[0]
        remains = np.eye(k) - basis @ basis.conj().T
        moved = (remains * turning[:, j]) / math.sqrt(weights[j])
        grams.append((moved.conj().T @ moved).real)
    gram, share = np.array(grams), noise / weights
    own, shared = np.trace(gram, axis1=1, axis2=2), gram.sum(axis=0)
    free = 2.0 * (k - 2)
    first = free * share.sum() + own.sum()
    second = free * (share**2).sum() + 2.0 * (share @ own) + (shared**2).sum()
    third = free * (share**3).sum() + 3.0 * (share**2 @ own) + np.trace(shared @ shared @ shared)
    third += 3.0 * float(share @ np.einsum("jab,ba->j", gram, shared))
    if not third > 0.0:
        return math.nan
    return float(stats.chi2.sf((closure - first) * second / third + second**3 / third**2, second**3 / third**2))


def _as_harmonics(n: NDArray[np.intp], held: NDArray[np.complex128], u: Floats, radius: float) -> Harmonics:
    return Harmonics(n, np.abs(held), np.angle(held), u, radius)


def _notes(blind: NDArray[np.intp], p: float) -> list[str]:
    words = ["One lobe is lost to centring, which is new in every photograph."]
    if blind.size:
        listed = ", ".join(map(str, blind.tolist()))
        words.append(f"These steps do not tell ball from camera at {listed} lobes; turn by other steps as well.")
    if math.isnan(p):
        words.append("Two photographs cannot be checked against each other: take a third.")
    elif p < 0.01:
        words.append(
            "The photographs do not fit together: a turn was not what it is said to be, the ball or the camera moved, "
            "or the edges are worse than taken for."
        )
    return words


def _check(found: Sequence[Harmonics], angles: Floats, turn_u: float) -> None:
    faults = []
    if len(found) < 2 or angles.shape != (len(found),):
        shown = f"{len(found)} photographs, {angles.size} turns"
        todo = "say one turn for each photograph, in the order of the files, the first one 0"
        faults.append(Fault("turns", shown, "two photographs or more, and a turn for each", todo))
    elif not np.all(np.isfinite(angles)):
        faults.append(Fault("turns", "a turn that is no number", "degrees", "correct it"))
    elif all(cmath.isclose(cmath.exp(1j * a), cmath.exp(1j * angles[0]), abs_tol=1e-3) for a in angles):
        todo = "turn the ball between photographs"
        faults.append(Fault("turns", "turns that are all alike", "turns that differ", todo))
    if not (math.isfinite(turn_u) and turn_u >= 0.0):
        todo = "give the standard uncertainty of a turn"
        faults.append(Fault("turn_u", f"{turn_u}", "degrees from 0", todo))
    if faults:
        raise BadRequest(faults)
