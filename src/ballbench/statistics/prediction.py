"""Balls like these: draws of balls that were not read, from the same model."""

from __future__ import annotations

import numpy as np

from ballbench.statistics.posterior import Truths
from ballbench.statistics.study import Floats

__all__ = ["predict", "predict_with_form"]


def predict(truths: Truths, balls: int, rng: np.random.Generator) -> Floats:
    """Draw the values of further balls at the same axes.

    Parameters
    ----------
    truths : Truths
        A chunk of draws of M; two balls at least were read, else the spread between balls is unknown.
    balls : int
        How many further balls a draw; each has the axis effects of the make and a form SD of its own.
    rng : numpy.random.Generator
        Seeded by the caller.

    Returns
    -------
    (k, balls, M) float array
        In the unit of the truths, shared errors taken off likewise.
    """
    return predict_with_form(truths, balls, rng)[0]


def predict_with_form(truths: Truths, balls: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draw the values of further balls, (k, balls, M), and their form SDs, (balls, M); arguments as for `predict`."""
    k, _, draws = truths.values.shape
    values = rng.standard_normal((k, balls, draws))
    form = np.zeros((balls, draws))
    if truths.sf.any():
        form = np.exp(truths.m + truths.om * rng.standard_normal((balls, draws)))
    values *= form
    values += truths.axis[:, None, :]
    values += truths.mean + truths.sb * rng.standard_normal((balls, draws))
    return values, form
