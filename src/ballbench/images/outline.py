"""The outline of a ball in a photograph, with what it is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Outline", "no_outline"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outline:
    """The limb of a ball.

    Parameters
    ----------
    theta : (n,) float array
        Equally spaced from 0, radians, counter-clockwise as the person sees the picture, 0 to the right.
    radius : (n,) float array
        Pixels of the plane that lies at the depth of the ball's centre, square to the camera's axis: the ball's own
        radius, perspective and lens taken out where they are known. Where an edge point was dropped it is filled in.
    u : (n,) float array
        Standard uncertainty of one edge point, pixels; of filled points that of the filling.
    kept : (n,) bool array
        Whether the edge was seen there.
    centre : (float, float)
        x to the right, y down, pixels from the middle of the first pixel: the image of the ball's axis.
    axis_angle : float
        Between the ball and the camera's axis, degrees; NaN where the camera is not known.
    edge_width : float
        From a tenth to nine tenths of the edge's height, pixels.
    coverage : float
        Share of the turn on which the edge was seen, 0 to 1.
    stretches : int
        Pieces of the limb that were fitted by themselves, whether seen or dropped: so many of the n points say
        something of their own, the others stand between them.
    correlated : float
        How much more the noise of neighbours adds up than that of independent points would: the variance of the
        cosine or sine part of a harmonic is ``2 mean(u^2) correlated / n``; 1 for independent points.
    oval : float
        Standard uncertainty of a two-lobed oval that lens and perspective may leave, amplitude in pixels.
    scale_factor : float
        Radius of the silhouette as the picture shows it over `radius`: 1/sqrt(1 - (R/L)^2), NaN where L is not known.
    distance : float
        Of the ball's centre from the camera in radii of the ball, L/R; NaN where the camera is not known.
    refused : str
        Empty, or the reason and what to do; then the arrays may be empty.
    notes : tuple of str
        What a reader must know.
    """

    theta: Floats
    radius: Floats
    u: Floats
    kept: NDArray[np.bool_]
    centre: tuple[float, float] = (math.nan, math.nan)
    axis_angle: float = math.nan
    edge_width: float = math.nan
    coverage: float = 0.0
    stretches: int = 0
    correlated: float = 1.0
    oval: float = math.nan
    scale_factor: float = math.nan
    distance: float = math.nan
    refused: str = ""
    notes: tuple[str, ...] = field(default=())


def no_outline(reason: str, notes: tuple[str, ...] = ()) -> Outline:
    """Give an outline without points, with the reason and what to do."""
    none = np.zeros(0)
    return Outline(none, none, none, np.zeros(0, dtype=bool), refused=reason, notes=notes)
