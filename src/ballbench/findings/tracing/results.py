"""What photographs of balls tell of their outlines: what is found, nothing computed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.footing import Footing
from ballbench.findings.form_clauses import FormClause
from ballbench.form.form_interval import FormFound
from ballbench.form.predicted_diameters import PredictedDiameters
from ballbench.quantities.uncertain import Uncertain
from ballbench.specs import Requirement

__all__ = [
    "BallOutline", "Lobe", "OutlineFindings", "PhotoOutline", "Separation", "Shown", "Skin",
    "refused_photo",
]  # fmt: skip

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lobe:
    """One harmonic of an outline, before the filter: r = R + sum of amplitude cos(n theta + phase).

    Parameters
    ----------
    n : int
        Crests over the turn, from 2.
    amplitude : float
        As found, in the unit of the outline; noise makes it larger.
    freed : float
        Without what noise adds, from 0.
    u : float
        Standard uncertainty of its cosine and of its sine coefficient, the edge's noise and what the camera may leave.
    phase_deg : float
        Degrees, -180 to 180.
    crests_deg : tuple of float
        Where its crests stand, degrees counter-clockwise from the right.
    told : bool
        Noise alone does not explain it.
    """

    n: int
    amplitude: float
    freed: float
    u: float
    phase_deg: float
    crests_deg: tuple[float, ...]
    told: bool


@dataclass(frozen=True, slots=True)
class Skin:
    """The outline as it is drawn: how far it stands off the middle of its minimum zone.

    Parameters
    ----------
    theta : (n,) float array
        Radians, rising.
    off : (n,) float array
        After the filter, in the unit of the outline; NaN where the edge was not seen.
    points_theta, points_off : (m,) float arrays
        Edge points before the filter, some of them.
    high, low : tuple of float
        Radians at which the minimum zone touches outside and inside.
    """

    theta: Floats
    off: Floats
    points_theta: Floats
    points_off: Floats
    high: tuple[float, ...]
    low: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """A part of the photograph with the edge that was picked, for a person to check.

    Parameters
    ----------
    jpeg : bytes
        Gray, small.
    width, height : int
        Of the small picture, pixels.
    x, y : (n,) float arrays
        Edge points on it, pixels from its upper left corner.
    kept : (n,) bool array
        Whether the edge was seen there; elsewhere it is filled in.
    """

    jpeg: bytes
    width: int
    height: int
    x: Floats
    y: Floats
    kept: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class PhotoOutline:
    """One photograph.

    Parameters
    ----------
    file, digest : str
        Its name and SHA-256; the digest is empty where it was not opened.
    product, ball : str
        Whose outline, from the name of the file.
    refused : str
        Empty, or the reason and what to do; then nothing below holds.
    unit : str
        ``mm``, or ``px`` where no scale was given.
    scale : Uncertain or None
        mm/px in the plane of the ball's centre; None: not given.
    diameter : Uncertain or None
        Of the least-squares circle, in `unit`.
    diameter_given : bool
        The diameter is the one that gave the scale, not a result.
    forms : tuple of FormFound
        By the four reference circles, after the filter, in `unit`.
    lobes : tuple of Lobe
        2 to 50.
    diameters : PredictedDiameters or None
        What a caliper would read in this plane, in `unit`.
    edge_count : int
        Independent points of the edge that were seen: stretches of the limb, each fitted by itself.
    coverage : float
        Share of the turn on which the edge was seen.
    radius_px : float
        Of the least-squares circle.
    edge_noise_px : float
        Of one of these points, as independent ones would need it.
    edge_width_px : float
        From a tenth to nine tenths of the edge's height.
    oval_px : float
        Standard uncertainty of an oval that lens and perspective may leave.
    axis_angle : float
        Off the camera's axis, degrees; NaN: not known.
    distance : float
        Of the ball's centre from the camera, in radii of the ball; NaN: not known.
    skin : Skin or None
        For the drawing.
    shown : Shown or None
        For a person to check.
    notes : tuple of str
        What a reader must know.
    """

    file: str
    digest: str
    product: str
    ball: str
    refused: str = ""
    unit: Literal["mm", "px"] = "px"
    scale: Uncertain | None = None
    diameter: Uncertain | None = None
    diameter_given: bool = False
    forms: tuple[FormFound, ...] = ()
    lobes: tuple[Lobe, ...] = ()
    diameters: PredictedDiameters | None = None
    edge_count: int = 0
    coverage: float = 0.0
    radius_px: float = float("nan")
    edge_noise_px: float = float("nan")
    edge_width_px: float = float("nan")
    oval_px: float = float("nan")
    axis_angle: float = float("nan")
    distance: float = float("nan")
    skin: Skin | None = None
    shown: Shown | None = None
    notes: tuple[str, ...] = ()

    @property
    def told(self) -> tuple[Lobe, ...]:
        """The lobes that noise alone does not explain, the highest first."""
        return tuple(sorted((lobe for lobe in self.lobes if lobe.told), key=lambda lobe: -lobe.freed))


def refused_photo(file: str, digest: str, reason: str, *, product: str = "", ball: str = "") -> PhotoOutline:
    """Give a photograph that cannot be used, with the reason and what to do."""
    return PhotoOutline(file, digest, product, ball, refused=reason)


@dataclass(frozen=True, slots=True)
class Separation:
    """Ball and camera, from photographs of one ball turned by known steps.

    Parameters
    ----------
    turns : tuple of float
        Degrees.
    files : tuple of str
        The photographs, in that order.
    forms : tuple of FormFound
        Of the ball alone, after the filter, in `unit`.
    lobes, camera : tuple of Lobe
        Of the ball and of the camera, 2 to 50; those to which the steps are blind are left out.
    blind : tuple of int
        Lobes to which the steps are blind.
    closure, p : float
        Sum of squares of what the two do not explain, and the chance of so much; NaN with two photographs.
    dof : int
        Behind it.
    agrees : bool
        The photographs go together.
    worst : str
        The photograph that is furthest off; empty where they go together.
    unit : str
        As in the photographs.
    skin : Skin
        Of the ball alone.
    notes : tuple of str
        What a reader must know.
    """

    turns: tuple[float, ...]
    files: tuple[str, ...]
    forms: tuple[FormFound, ...]
    lobes: tuple[Lobe, ...]
    camera: tuple[Lobe, ...]
    blind: tuple[int, ...]
    closure: float
    p: float
    dof: int
    agrees: bool
    worst: str
    unit: Literal["mm", "px"]
    skin: Skin
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BallOutline:
    """One ball: its photographs, and the largest form among them."""

    product: str
    ball: str
    photos: tuple[PhotoOutline, ...]


@dataclass(frozen=True, slots=True)
class OutlineFindings:
    """All that photographs told.

    Parameters
    ----------
    photos : tuple of PhotoOutline
        In the order given.
    balls : tuple of BallOutline
        Those with an outline.
    separation : Separation or None
        Of one ball turned by known steps.
    clauses : tuple of FormClause
        Empty without a requirement, or where it says nothing of form.
    cutoff : float
        Of the filter, undulations per revolution.
    unit : str
        ``mm`` or ``px``.
    seed : int
        Of the simulations.
    requirement : Requirement or None
        What the balls were held against; None: nothing.
    footing : Footing
        What it rests on.
    options : tuple of (str, str)
        What was asked, as it would be typed again.
    sentences : tuple of str
        The answer in words.
    """

    photos: tuple[PhotoOutline, ...]
    balls: tuple[BallOutline, ...]
    separation: Separation | None
    clauses: tuple[FormClause, ...]
    cutoff: float
    unit: Literal["mm", "px"]
    seed: int
    requirement: Requirement | None
    footing: Footing
    options: tuple[tuple[str, str], ...] = ()
    sentences: tuple[str, ...] = ()

    @property
    def read(self) -> tuple[PhotoOutline, ...]:
        """The photographs that gave an outline."""
        return tuple(photo for photo in self.photos if not photo.refused)
