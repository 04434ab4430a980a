"""From the traced edge of a ball to its form, its lobes and what a caliper would read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.tracing.results import Lobe, PhotoOutline, Separation, Skin
from ballbench.form.circle import points_of
from ballbench.form.error_separation import Separated, separate
from ballbench.form.form_interval import SPAN, EdgeNoise, FormFound, HarmonicNoise, forms_of
from ballbench.form.harmonics import MOST, Harmonics, crests_of, harmonics_of
from ballbench.form.minimum_zone import minimum_zone
from ballbench.form.predicted_diameters import predicted_diameters
from ballbench.form.roundness_filter import POINTS_PER_UNDULATION, filtered, transmission
from ballbench.images.outline import Outline
from ballbench.quantities.uncertain import Uncertain

__all__ = [
    "CODED",
    "EDGE_U",
    "GRID_U",
    "LEAST_ARC",
    "LEAST_TOLD",
    "UNTOLD_STEPS",
    "SizeKnown",
    "coded_part",
    "least_radius_for",
    "photo_outline",
    "separation_of",
    "sized",
]

Floats = NDArray[np.float64]

EDGE_U = 0.1
"""Standard uncertainty of where the edge as a whole lies, pixels: light that creeps around the limb, levels that are
coded otherwise than the file says (own choice). It moves the diameter, not the form."""
LEAST_TOLD = 0.03
"""Form, pixels, under which no ball is told from a round one, whatever the noise: what the grid of pixels leaves was as
much as that on rendered round balls (own choice)."""
GRID_U = 0.004
"""Standard uncertainty, pixels, that a lobe has at least: what the grid of pixels leaves in one harmonic, most of it at
four lobes. Without it 11 % of 300 rendered photographs told of a lobe that is not there, in place of 5 % (own
choice)."""
CODED = 0.027
"""Standard uncertainty of the cosine part of four lobes from the coding of a picture, pixels, times the SD of the
edge's blur in pixels over the mean step of the coding as a share of white: JPEG blurs slanting edges more than those
along rows and columns, and what is blurred in levels, not in light, grows on its darker side. On sharp rendered balls
of 150 to 1,500 pixels radius the part was 0.6 to 1.3 times this on average (own choice)."""
UNTOLD_STEPS = 0.114
"""Mean step, of white, that a coding with loss is taken to have where the file does not tell: that of JPEG 75 (own
choice)."""
_SHARPEST = 0.5  # pixels: SD of a blur under which no edge is taken for sharper (own choice)
_WIDTHS = 2.563  # SDs of a blurred step from a tenth to nine tenths of its height
NOISE_DOF = 96.0
"""Degrees of freedom of the noise of an edge: two for each of the 48 harmonics that it is taken from."""
LEAST_ARC = 2.2
"""Pixels of limb behind one independent point of the edge, as the images part lays its stretches."""
_POINTS = 1440
_DRAWN, _DRAWN_POINTS = 720, 240
FAR_ENOUGH = 20.0
"""Radii from the camera from which the limb is taken for the equator that a caliper reads."""


@dataclass(frozen=True, slots=True)
class SizeKnown:
    """What gives an outline its size.

    Parameters
    ----------
    scale : Uncertain or None
        mm/px in the plane of the ball's centre.
    diameter : Uncertain or None
        The ball's mean diameter, mm, from a caliper.
    distance : Uncertain or None
        From the camera to the ball's centre, mm, where the lens is not known.
    """

    scale: Uncertain | None = None
    diameter: Uncertain | None = None
    distance: Uncertain | None = None


def least_radius_for(cutoff: float) -> float:
    """Give the radius, pixels, from which a photograph has enough edge for a cut-off."""
    return math.ceil(POINTS_PER_UNDULATION * cutoff * LEAST_ARC / (2.0 * math.pi))


def photo_outline(
    photo: PhotoOutline,
    outline: Outline,
    known: SizeKnown,
    cutoff: float,
    rng: np.random.Generator,
    *,
    steps: float = math.nan,
) -> PhotoOutline:
    """Work out one photograph.

    Parameters
    ----------
    photo : PhotoOutline
        Its names.
    outline : Outline
        Its edge, not refused.
    known : SizeKnown
        What gives it its size; nothing: results are in pixels.
    cutoff : float
        Of the filter, undulations per revolution.
    rng : numpy.random.Generator
        Seeded by the caller.
    steps : float
        Mean step of the file's coding, of white: 0 for a file without loss, NaN where it is not told.

    Returns
    -------
    PhotoOutline
        With form, lobes and diameters.

    Raises
    ------
    NotConverged
        A reference circle that fails its proof.
    """
    radius, stretches = outline.radius, outline.stretches or outline.radius.size
    noise = np.sqrt(outline.correlated) * outline.u
    oval = outline.oval if math.isfinite(outline.oval) else 0.0
    seen = None if outline.kept.all() else outline.kept
    own = float(np.sqrt(np.mean(noise**2)))
    found = harmonics_of(outline.theta, radius, u=own, most=MOST)
    coded = coded_part(outline.edge_width, steps)
    forms = forms_of(radius, EdgeNoise(noise, oval, coded, NOISE_DOF), cutoff, rng, seen=seen)
    found = _with_camera(replace(found, u=np.maximum(found.u, GRID_U)), oval, coded)
    size, scale, diameter = sized(found.radius, own, outline, known)
    return replace(
        photo,
        unit="px" if scale is None else "mm",
        scale=scale,
        diameter=diameter,
        diameter_given=known.diameter is not None,
        forms=tuple(_scaled(form, size, _hidden(found)) for form in forms.values()),
        lobes=lobes_of(found, size.value),
        diameters=predicted_diameters(_times(found, size.value), rng),
        edge_count=round(stretches * float(outline.kept.mean())),
        coverage=outline.coverage,
        radius_px=found.radius,
        edge_noise_px=own * math.sqrt(stretches / outline.radius.size),
        edge_width_px=outline.edge_width,
        oval_px=oval,
        axis_angle=outline.axis_angle,
        distance=outline.distance,
        skin=skin_of(outline.theta, radius, outline.kept, cutoff, size.value),
        notes=(*photo.notes, *outline.notes, *_notes(outline, known, seen is not None)),
    )


def sized(
    radius: float, noise: float, outline: Outline, known: SizeKnown
) -> tuple[Uncertain, Uncertain | None, Uncertain | None]:
    """Give the size of a pixel (1 px without a scale), the scale, and the diameter.

    Parameters
    ----------
    radius : float
        Mean radius, pixels.
    noise : float
        Of one edge point, pixels.
    outline : Outline
        For perspective.
    known : SizeKnown
        What was said.

    Returns
    -------
    size : Uncertain
        What a pixel of a lobe is on the ball, mm/px or px/px.
    scale : Uncertain or None
        mm/px; None: not known.
    diameter : Uncertain
        mm or px.

    Notes
    -----
    Seen from the distance L, a ball of radius R shows the radius R/sqrt(1 - q) in the plane of its centre, q = (R/L)^2,
    and a lobe is (1 - q)^(-3/2) times as high there, by the derivative. The outline is freed from that where the lens
    is known, and here where the distance is stated instead: by (1 - q)^(3/2) with a scale of that plane, by 1 - q with
    a scale that comes from the ball's own diameter.
    """
    flat = known.distance is not None and not math.isfinite(outline.scale_factor)
    u_radius = math.hypot(EDGE_U, noise / math.sqrt(max(int(outline.kept.sum()), 1)))
    if known.diameter is not None:
        scale = known.diameter.value / (2.0 * radius)
        relative = math.hypot(known.diameter.u / known.diameter.value, u_radius / radius)
        found = Uncertain(scale, relative * scale, known.diameter.dof, "mm/px")
        if not flat or known.distance is None:
            return found, found, known.diameter
        near = (known.diameter.value / 2.0 / known.distance.value) ** 2
        away = known.distance.u / known.distance.value
        return _multiplied(found, 1.0 - near, 2.0 * near * away), found, known.diameter
    if known.scale is None:
        return Uncertain(1.0, 0.0, unit="px/px"), None, Uncertain(2.0 * radius, 2.0 * u_radius, unit="px")
    true, near, away = radius * known.scale.value, 0.0, 0.0
    if flat and known.distance is not None:
        ratio = true / known.distance.value
        near, away = ratio**2 / (1.0 + ratio**2), known.distance.u / known.distance.value
        true *= math.sqrt(1.0 - near)
    relative = math.sqrt((known.scale.u / known.scale.value) ** 2 + (u_radius / radius) ** 2 + (near * away) ** 2)
    size = _multiplied(known.scale, (1.0 - near) ** 1.5, 3.0 * near * away)
    return size, known.scale, Uncertain(2.0 * true, 2.0 * true * relative, unit="mm")


def _multiplied(size: Uncertain, factor: float, relative: float) -> Uncertain:
    """Multiply by a factor that has a relative standard uncertainty of its own."""
    u = math.hypot(size.u, relative * size.value) * factor
    return Uncertain(size.value * factor, u, size.dof, size.unit)


def lobes_of(found: Harmonics, size: float) -> tuple[Lobe, ...]:
    """Give the lobes from 2 up, in the unit of `size` a pixel; those that are not known (NaN) are left out."""
    freed, told = found.freed, found.told
    return tuple(
        Lobe(
            n=int(n),
            amplitude=float(found.amplitude[k]) * size,
            freed=float(freed[k]) * size,
            u=float(found.u[k]) * size,
            phase_deg=math.degrees(float(found.phase[k])),
            crests_deg=tuple(math.degrees(a) for a in crests_of(int(n), float(found.phase[k]))),
            told=bool(told[k]),
        )
        for k, n in enumerate(found.n)
        if n >= 2 and math.isfinite(float(found.amplitude[k]))
    )


def skin_of(theta: Floats, radius: Floats, kept: NDArray[np.bool_], cutoff: float, size: float) -> Skin:
    """Give the outline as it is drawn, about the middle of its minimum zone."""
    smooth = filtered(radius, cutoff, kept)
    reached = np.isfinite(smooth)
    ring = minimum_zone(points_of(theta[reached], smooth[reached]))
    middle = ring.radius + ring.x * np.cos(theta) + ring.y * np.sin(theta)
    angles = theta[reached]
    some = np.arange(0, len(theta), max(1, len(theta) // _DRAWN))
    few = np.arange(0, len(theta), max(1, len(theta) // _DRAWN_POINTS))
    few = few[kept[few]]
    return Skin(
        theta[some],
        (smooth - middle)[some] * size,
        theta[few],
        (radius - middle)[few] * size,
        tuple(float(angles[k]) for k in ring.outside),
        tuple(float(angles[k]) for k in ring.inside),
    )


def coded_part(edge_width: float, steps: float) -> float:
    """Give the standard uncertainty, pixels, that a file's coding leaves in the cosine part of four lobes.

    Parameters
    ----------
    edge_width : float
        From a tenth to nine tenths of the edge's height, pixels; NaN counts as the sharpest.
    steps : float
        Mean step of the coding, of white; NaN: a coding with loss that does not tell.

    Returns
    -------
    float
        0 without loss.
    """
    blur = max(edge_width / _WIDTHS, _SHARPEST) if math.isfinite(edge_width) else _SHARPEST
    return CODED * (steps if math.isfinite(steps) else UNTOLD_STEPS) / blur


def _with_camera(found: Harmonics, oval: float, coded: float) -> Harmonics:
    """Add what lens and coding may leave to the uncertainty of two, and of four and eight lobes."""
    left = np.select([found.n == 2, found.n == 4, found.n == 8], [oval / math.sqrt(2.0), coded, coded / 2.0], 0.0)
    return replace(found, u=np.hypot(found.u, left))


def _times(found: Harmonics, size: float) -> Harmonics:
    return replace(found, amplitude=found.amplitude * size, u=found.u * size, radius=found.radius * size)


def _hidden(found: Harmonics) -> float:
    """Give the form, pixels, of two lobes that may hide: none where they are told, or where nothing is known of them.

    It is what the sentence on diameters allows them, so that the form never promises less.
    """
    two = found.n == 2
    return 0.0 if bool(found.told[two].any()) else 2.0 * float(np.nan_to_num(found.floor[two]).sum())


def _scaled(form: FormFound, size: Uncertain, hidden: float) -> FormFound:
    """Turn pixels into the unit of `size`, its uncertainty reckoned in; too little form is not told from none."""
    if form.high < hidden:
        form = replace(form, high=hidden, u=max(form.u, (hidden - form.low) / SPAN))
    if form.seen <= LEAST_TOLD:
        form = replace(form, value=0.0, low=0.0, high=max(form.high, LEAST_TOLD), told=False)
    relative = size.u / size.value
    u = math.hypot(form.u, form.value * relative)
    widen = u / form.u if form.u > 0.0 else 1.0
    low = max(form.value - (form.value - form.low) * widen, 0.0) if form.low > 0.0 else 0.0
    high = form.value + (form.high - form.value) * widen
    return FormFound(
        form.kind, form.seen * size.value, form.value * size.value, low * size.value, high * size.value, u * size.value,
        form.floor * size.value, form.told,
    )  # fmt: skip


def _notes(outline: Outline, known: SizeKnown, gaps: bool) -> list[str]:
    words = []
    if gaps:
        words.append("Form is that of the part of the edge that was seen.")
    if known.scale is None and known.diameter is None and not math.isfinite(outline.scale_factor):
        words.append("Pixels are those of the silhouette, which is a little larger than the ball.")
    if known.scale is not None and known.distance is None and not math.isfinite(outline.scale_factor):
        words.append(
            "Neither the lens nor the distance is known: a ball looks larger than its equator, by 0.09 mm of 40 mm at "
            "0.3 m and 0.008 mm at 1 m, and its lobes by 1.5 % at ten radii. Say --distance."
        )
    if known.diameter is not None and known.distance is None and not math.isfinite(outline.scale_factor):
        words.append(
            "Neither the lens nor the distance is known: lobes look higher than they are, by 1 % at ten radii and "
            "0.25 % at twenty. Say --distance."
        )
    return words


# One ball turned ------------------------------------------------------------------------------------------------------


def separation_of(
    photos: Sequence[PhotoOutline], turns: Sequence[float], cutoff: float, rng: np.random.Generator
) -> Separation:
    """Separate ball and camera, from photographs of one ball in the order of its turns.

    Parameters
    ----------
    photos : sequence of PhotoOutline
        Worked out, none refused, in one unit.
    turns : sequence of float
        Degrees, counter-clockwise.
    cutoff : float
        Of the filter.
    rng : numpy.random.Generator
        Seeded by the caller.

    Returns
    -------
    Separation
        The ball alone has no lobes to which the steps are blind.

    Raises
    ------
    BadRequest
        As `separate`.
    NotConverged
        A reference circle that fails its proof.
    """
    apart = separate([_harmonics(photo) for photo in photos], turns)
    ball = apart.ball
    radius = float(np.mean([photo.diameter.value for photo in photos if photo.diameter is not None])) / 2.0
    theta = np.arange(_POINTS) * 2.0 * math.pi / _POINTS
    known = np.flatnonzero(np.isfinite(ball.amplitude))
    outline = radius + replace(ball, amplitude=np.nan_to_num(ball.amplitude)).at(theta, ball.n[known])
    forms = forms_of(outline, HarmonicNoise(ball.u), cutoff, rng)
    return Separation(
        tuple(turns), tuple(photo.file for photo in photos), tuple(forms.values()), lobes_of(ball, 1.0),
        lobes_of(apart.camera, 1.0), apart.blind, apart.closure, apart.p, apart.dof, apart.agrees,
        "" if apart.agrees else photos[apart.worst].file, photos[0].unit,
        replace(skin_of(theta, outline, np.ones(_POINTS, dtype=bool), cutoff, 1.0), points_theta=np.zeros(0),
                points_off=np.zeros(0)), (*apart.notes, *_above(apart, cutoff)),
    )  # fmt: skip


def _harmonics(photo: PhotoOutline) -> Harmonics:
    """Give a photograph's lobes back as harmonics; the first is lost to centring and left at 0."""
    n = np.arange(1, MOST + 1)
    rows = {lobe.n: lobe for lobe in photo.lobes}
    held = [(rows[k].amplitude, rows[k].phase_deg, rows[k].u) if k in rows else (0.0, 0.0, 0.0) for k in n.tolist()]
    amplitude, phase, u = (np.array(column) for column in zip(*held, strict=True))
    return Harmonics(n, amplitude, np.radians(phase), u, photo.radius_px)


def _above(apart: Separated, cutoff: float) -> list[str]:
    """Say that harmonics above the highest one that is separated are left out, where the filter lets them through."""
    passing = float(transmission(MOST + 1, cutoff))
    if passing < 0.5:
        return []
    return [
        f"Lobes above {len(apart.ball.n)} are left out of the form of the ball alone, though the filter passes them."
    ]
