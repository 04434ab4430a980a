"""The form that the axes did not see: a ball's diameter as a random field over all directions.

The diameter in direction u is level + f(u), with f a Gaussian field made of spherical harmonics of degree 2, 4 and 6
(diameters show even degrees only), covariance sigma^2 sum_l w_l P_l(u . v) with P_l the Legendre polynomials
(addition theorem of spherical harmonics). Given the diameters at the axes that were read, the field elsewhere follows
by kriging with an unknown level. The shares w_l are a stated assumption; results under others are reported beside.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import special

from ballbench.statistics.study import Floats

__all__ = ["MIXES", "Field", "axis_directions", "field"]

DEGREES = (2, 4, 6)
MIXES: tuple[tuple[float, float, float], ...] = ((0.7, 0.2, 0.1), (1.0, 0.0, 0.0), (1 / 3, 1 / 3, 1 / 3))
"""Shares of the form's variance in the degrees: the stated one first (own choice, no source: an oblate or egg-like
shape first, finer lobes less), then the two extremes that bound its pull."""
DIRECTIONS = 72


@dataclass(frozen=True, slots=True)
class Field:
    """How diameters in all directions follow from those at k axes.

    Parameters
    ----------
    weights : (U, k) float array
        Kriging weights; rows sum to 1.
    spread : (U, r) float array
        Factor of the conditional covariance for a field of unit variance.
    scale : float
        Field SD over the SD between independent axes: square axes of one field differ more than chance.
    """

    weights: Floats
    spread: Floats
    scale: float

    def over(self, values: Floats, sf: Floats, rng: np.random.Generator) -> Floats:
        """Draw the diameter in every direction.

        Parameters
        ----------
        values : (k, n, M) float array
            Diameters at the axes.
        sf : (n, M) float array
            Form SD of each ball.
        rng : numpy.random.Generator
            Seeded by the caller.

        Returns
        -------
        (U, n, M) float array
            In the unit of `values`.
        """
        k = values.shape[0]
        size = sf.size
        noise = rng.standard_normal((self.spread.shape[1], size)) * (self.scale * sf.reshape(1, size))
        seen = self.weights @ values.reshape(k, size)
        seen += self.spread @ noise
        return np.asarray(seen.reshape(-1, *sf.shape))


def axis_directions(k: int) -> Floats:
    """Unit vectors of k axes as a tester spreads them over a ball: square for 2 and 3, cube diagonals for 4, (k, 3).

    Five and six are axes of the icosahedron; more follow a spiral over the half sphere.
    """
    if k <= 3:
        return np.eye(3)[:k]
    if k == 4:
        return np.asarray(np.array([[1, 1, 1], [1, -1, 1], [-1, 1, 1], [-1, -1, 1]]) / np.sqrt(3.0))
    if k <= 6:
        g = 0.5 * (1 + np.sqrt(5.0))
        axes = np.array([[0, 1, g], [0, -1, g], [1, g, 0], [-1, g, 0], [g, 0, 1], [g, 0, -1]])
        return np.asarray(axes[:k] / np.sqrt(1 + g * g))
    return _half_sphere(k)


def _half_sphere(count: int) -> Floats:
    """Nearly even directions over the half sphere, (count, 3): the golden-angle spiral."""
    height = (np.arange(count) + 0.5) / count
    angle = np.arange(count) * np.pi * (3.0 - np.sqrt(5.0))
    flat = np.sqrt(1 - height**2)
    return np.column_stack([flat * np.cos(angle), flat * np.sin(angle), height])


def _covariance(a: Floats, b: Floats, mix: tuple[float, ...]) -> Floats:
    cosine = np.clip(a @ b.T, -1.0, 1.0)
    return np.asarray(sum(w * special.eval_legendre(degree, cosine) for w, degree in zip(mix, DEGREES, strict=True)))


@lru_cache(maxsize=64)
def field(k: int, mix: tuple[float, float, float] = MIXES[0]) -> Field:
    """Give the field for k axes, two at least, and a sharing of the form among the degrees."""
    axes = axis_directions(k)
    directions = np.vstack([axes, _half_sphere(DIRECTIONS)])
    among = _covariance(axes, axes, mix)
    across = _covariance(directions, axes, mix)
    everywhere = _covariance(directions, directions, mix)
    scale = 1.0 / np.sqrt(1.0 - (among.sum() - k) / (k * (k - 1)))
    inverse = np.linalg.pinv(among + 1e-9 * np.eye(k), hermitian=True)
    ones = np.ones((k, 1))
    denominator = float((ones.T @ inverse @ ones).item())
    level = (inverse @ ones).T / denominator
    weights = across @ inverse + (1.0 - across @ inverse @ ones) @ level
    rest = 1.0 - across @ inverse @ ones
    conditional = everywhere - across @ inverse @ across.T + rest @ rest.T / denominator
    values, vectors = np.linalg.eigh(0.5 * (conditional + conditional.T))
    keep = values > 1e-8 * values.max()
    return Field(weights, vectors[:, keep] * np.sqrt(values[keep]), float(scale))
