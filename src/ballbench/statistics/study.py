"""The arrays of one quantity of one product, and what is known beforehand of its noise and shared errors."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "LevelKind", "Noise", "Study"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Noise:
    """Repeatability: SD of displayed readings of one ball at one place, and its degrees of freedom."""

    sd: float
    dof: float


@dataclass(frozen=True, slots=True)
class LevelKind:
    """A shared error with one level for each sitting or instrument, such as the zero of a sitting.

    Parameters
    ----------
    name : str
        What is shared, ``"zero of the sitting"``.
    keys : tuple of str
        The levels.
    shares : (n, k, L) float array
        Share of the readings of each cell that belongs to each level; sums to 1 over L where a cell was read.
    sd : (L,) float array
        Known prior SD of each level, in the unit of the readings; positive.
    """

    name: str
    keys: tuple[str, ...]
    shares: Floats
    sd: Floats


@dataclass(frozen=True, slots=True)
class Study:
    """Cell means of one or several studies with one design.

    Parameters
    ----------
    means : (T, n, k) float array
        Mean of the readings of ball i at axis j in study t; NaN where nothing was read.
    counts : (n, k) float array
        Effective number of readings behind each mean, 0 where nothing was read. A reading with another instrument
        than the reference one counts (reference SD / its SD) squared.
    sse : (T,) float array
        Pooled sum of squares of repeats about their cell means.
    sse_dof : int
        Degrees of freedom behind `sse`; 0 without repeats.
    noise : Noise
        Of the reference instrument.
    prior_scale : float
        A of the half-Cauchy priors on the SD between balls and on the typical form SD.
    axis_effects : bool
        Fixed effects of labelled axes, sum zero.
    kinds : tuple of LevelKind
        Shared errors with two levels or more; those with a single level are no part of the study.
    """

    means: Floats
    counts: Floats
    sse: Floats
    sse_dof: int
    noise: Noise
    prior_scale: float
    axis_effects: bool = False
    kinds: tuple[LevelKind, ...] = field(default=())

    @property
    def shape(self) -> tuple[int, int, int]:
        """Number of studies, balls, axes."""
        t, n, k = self.means.shape
        return t, n, k

    @property
    def has_form(self) -> bool:
        """Whether any ball was read at two places or more, so that form can be seen."""
        return bool(((self.counts > 0).sum(axis=1) > 1).any())

    @property
    def equal_counts(self) -> bool:
        """Whether every cell was read equally often."""
        return bool((self.counts == self.counts.flat[0]).all())
