"""When a photograph cannot give an outline: the reason, and what to do about it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ballbench.images.edge_fit import EdgeFit
from ballbench.images.round_things import RoundThing
from ballbench.images.stretches import CUT

__all__ = [
    "LEAST_COVERAGE", "LEAST_RADIUS", "MOST_ANGLE", "MOST_CORNERS", "MOST_GUESSED_ANGLE", "MOST_SPREAD",
    "edge_refusal", "frame_refusal", "place_refusal", "shape_refusal", "widest_gap",
]  # fmt: skip

Floats = NDArray[np.float64]

LEAST_RADIUS = 100.0
"""Pixels: with a twentieth of a pixel an edge point then tells 0.01 mm of a 40 mm ball (own choice)."""
MOST_ANGLE = 5.0
"""Degrees off the camera's axis; the oval that perspective makes is taken out, but at 5 degrees it is 0.2 % of the
radius, and what the ball hides or shows of itself differs from side to side (own choice)."""
MOST_GUESSED_ANGLE = 15.0
"""The same where the lens is only bounded (own choice)."""
LEAST_COVERAGE = 0.75
"""Share of the turn on which the edge must be seen (own choice)."""
_WIDEST_GAP = math.radians(45.0)  # that may be bridged (own choice)
_ROUND = 0.45  # share of a turn with an edge from which on a circle is a ball (own choice)
_SECOND = 0.75  # the same for a second one
_MOST_WIDTH, _MOST_WIDTH_SHARE = 12.0, 0.04  # of the edge: pixels, and of the radius (own choice)
_SMEARED = 3.0  # pixels that the ball may move while the shutter is open (own choice)
MOST_SPREAD = 0.06
"""From the least to the largest radius, of the mean. Rule books that limit the roundness of a ball ask for 2 % or less;
soft balls reach 3 %; this is twice that (own choice)."""
MOST_CORNERS = 0.01
"""Amplitude of one number of lobes from five on, of the radius: a regular figure with twelve corners has 1.4 % there, a
dent as deep as `MOST_SPREAD` has 0.6 % at most, whatever its width (own choice; geometry)."""
_SIDES = (
    "on the right", "at the upper right", "at the top", "at the upper left", "on the left", "at the lower left",
    "at the bottom", "at the lower right",
)  # fmt: skip
"""Of the picture, by eighths of a turn: an outline begins on the right and goes by the top."""
_MOST_NAMED = 40  # lobes that may be corners: with more, corners are too flat to tell (own choice)
_MOST_ROUGH = 0.01  # scatter of neighbouring edge points, of the radius: felt and grass are below it (own choice)
_MUCH_CUT = 0.1  # share of the turn, from which on over-exposure is named beside, or before, others (own choice)
_MOST_U = 0.3  # pixels, median standard uncertainty of an edge point (own choice)


def frame_refusal(things: Sequence[RoundThing]) -> str:
    """Say why no ball, or no single one, was found; empty when one was.

    Parameters
    ----------
    things : sequence of RoundThing
        Best first.

    Returns
    -------
    str
        The reason and what to do, or nothing.
    """
    if not things or things[0].coverage < _ROUND:
        return (
            "No ball was found: nothing round stands clear of what lies behind it; what is longer than wide, or has "
            "corners, is not round. Put the ball in front of a plain "
            "background, back-lit if you can, with all of its edge in view."
        )
    best = things[0]
    rivals = [
        thing
        for thing in things[1:]
        if thing.coverage >= max(_SECOND, 0.85 * best.coverage) and thing.radius > 0.5 * best.radius
    ]
    if rivals:
        return (
            f"{len(rivals) + 1} round things stand in the picture, at x {best.x:.0f}, y {best.y:.0f} and at "
            f"x {rivals[0].x:.0f}, y {rivals[0].y:.0f}: take it again with one ball, and nothing else that is round."
        )
    return ""


def place_refusal(x: float, y: float, radius: float, shape: tuple[int, ...], least_radius: float) -> str:
    """Say why a ball at this place cannot be measured; empty when it can.

    Parameters
    ----------
    x, y, radius : float
        Of the ball, pixels, y down.
    shape : tuple of int
        Rows and columns of the picture.
    least_radius : float
        Smallest radius that is accepted, pixels.

    Returns
    -------
    str
        The reason and what to do, or nothing.
    """
    if radius < least_radius:
        return (
            f"The ball is {2 * radius:.0f} pixels across, {2 * least_radius:.0f} are needed: use the picture as the "
            "phone took it, or a longer lens (no digital zoom)."
        )
    room = {
        "left": x - radius, "right": shape[1] - 1 - x - radius, "upper": y - radius, "lower": shape[0] - 1 - y - radius,
    }  # fmt: skip
    cut = [side for side, left in room.items() if left < 0.0]
    if cut:
        return f"The ball is cut off at the {' and the '.join(cut)} side of the picture: take it whole, in the middle."
    return ""


def edge_refusal(fit: EdgeFit, kept: NDArray[np.bool_], radius: float, *, shaded: bool) -> str:
    """Say why this edge is worth nothing; empty when it is.

    Parameters
    ----------
    fit : EdgeFit
        The edge.
    kept : (m,) bool array
        Where it was seen.
    radius : float
        Of the ball, pixels.
    shaded : bool
        Whether the ball's light falls off towards its limb.

    Returns
    -------
    str
        The reason and what to do, or nothing.
    """
    over = fit.clipped > CUT
    share = float(np.mean(over))
    blurred, hidden = _blurred(fit, radius, shaded=shaded), _hidden(fit, kept)
    if share > 1.0 - LEAST_COVERAGE or (share > _MUCH_CUT and blurred) or (not _enough(kept) and _enough(kept | over)):
        how = "" if share > 0.995 else f" on {100.0 * share:.0f} % of the turn"
        return (
            f"The lighter side of the edge is over-exposed{how}, so that the edge has moved into the darker side by an "
            "unknown amount: take it darker (touch the bright part of the screen, or set the exposure lower), with "
            "even light behind the ball."
        )
    if hidden and share > _MUCH_CUT:
        return f"{hidden} Besides, it is over-exposed on {100.0 * share:.0f} % of the turn: take it darker."
    return blurred or hidden


def _enough(kept: NDArray[np.bool_]) -> bool:
    """Say whether enough of the turn was seen, (m,), without too wide a gap."""
    return bool(kept.mean() >= LEAST_COVERAGE) and widest_gap(kept) <= _WIDEST_GAP


def _blurred(fit: EdgeFit, radius: float, *, shaded: bool) -> str:
    """Say that the edge is too wide; empty when it is not."""
    low, high = float(fit.blur.min()), float(fit.blur.max())
    smear = math.sqrt(12.0 * max(high**2 - low**2, 0.0))  # variance of a uniform smear, length^2/12
    if smear > _SMEARED and high > 1.25 * low:
        return (
            f"The edge is smeared by {smear:.0f} pixels in one direction: the camera or the ball moved. Rest the "
            "camera, use the self-timer and more light."
        )
    width = 2.563 * float(np.median(fit.blur))
    if width <= max(_MOST_WIDTH, _MOST_WIDTH_SHARE * radius):
        return ""
    if shaded:
        return (
            "The ball's light fades into its limb, so that there is no step to measure: back-light the ball, or light "
            "it evenly from all sides."
        )
    return (
        f"The edge is blurred over {width:.0f} pixels: focus on the ball's edge (touch it on the screen), from farther "
        "away, without portrait mode."
    )


def _hidden(fit: EdgeFit, kept: NDArray[np.bool_]) -> str:
    """Say that too little of the edge is seen, or too badly; empty when it is not so."""
    if not _enough(kept):
        return (
            f"The edge is seen on {100 * kept.mean():.0f} % of the turn only, with a gap of "
            f"{math.degrees(widest_gap(kept)):.0f} degrees{_gap_side(kept)}: something hides the ball's edge there, or "
            "touches it, such as its stand, or what lies behind is as light as the ball. Free the edge, change the "
            "background or back-light it."
        )
    u = float(np.median(fit.u[kept]))
    if not u < _MOST_U:
        return (
            f"An edge point is known to {u:.2g} pixels only: too little light or contrast. Use more light, a plain "
            "background, the lowest sensitivity."
        )
    return ""


def shape_refusal(radius: Floats, u: Floats, kept: NDArray[np.bool_]) -> str:
    """Say why this outline is not that of a ball; empty when it may be.

    Parameters
    ----------
    radius, u : (m,) float array
        Of the outline and its scatter, pixels.
    kept : (m,) bool array
        Where it was seen.

    Returns
    -------
    str
        The reason and what to do, or nothing.
    """
    mean = float(radius.mean())
    spread, rough = float(np.ptp(radius[kept])) / mean, float(np.median(u[kept])) / mean
    lobes = 2.0 * np.abs(np.fft.rfft(radius))[: _MOST_NAMED + 1] / radius.size / mean
    oval, corners = float(lobes[2]), 5 + int(lobes[5:].argmax())
    away = _away(radius, kept)
    if rough > _MOST_ROUGH:
        found = "what looks round is no ball, or something lies across its edge: the outline is ragged"
    elif float(lobes[corners]) > MOST_CORNERS and not (spread > MOST_SPREAD and _in_one_place(away)):
        how = f"{corners} corners" if lobes[corners] >= float(lobes[2:].max()) else "corners or bumps all around"
        found = f"what looks round is no ball: its outline has {how}"
    elif spread <= MOST_SPREAD:
        return ""
    elif 2.0 * oval > 0.6 * spread:
        found = (
            "this is no ball, or one that is squeezed or seen at an angle by a wide lens: it is "
            f"{200.0 * oval:.1f} % longer than wide"
        )
    else:
        found = _standing_out(away)
    return (
        f"{found[:1].upper()}{found[1:]}. Balls for play are round to 2 %, soft ones to 3 %; beyond "
        f"{100.0 * MOST_SPREAD:g} % nothing is measured. Put the ball alone in the middle of the picture, in front of "
        "a plain background, with all of its edge in view."
    )


def _away(radius: Floats, kept: NDArray[np.bool_]) -> Floats:
    """Give how far the outline lies from its middle radius, shares of it, (m,); 0 where it was not seen."""
    away: Floats = np.where(kept, radius / float(np.median(radius[kept])) - 1.0, 0.0)
    return away


def _in_one_place(away: Floats) -> bool:
    """Say whether the outline departs much within a quarter of the turn only: corners go all around."""
    at = int(np.abs(away).argmax())
    far = np.flatnonzero(np.abs(away) > 0.5 * abs(away[at])) - at
    off = (far + away.size // 2) % away.size - away.size // 2
    return bool(np.abs(off).max() <= away.size / 8.0)


def _standing_out(away: Floats) -> str:
    """Say where an outline departs most, and what that may be.

    A stand that hides some of the ball, and a dent, look the same from outside: both are named.
    """
    at = int(np.abs(away).argmax())
    much, side = f"by {100.0 * abs(float(away[at])):.1f} % of its radius", _side(at / away.size)
    if away[at] > 0.0:
        return (
            f"this is no ball, or something touches it: its outline stands out {much} {side}, where a stand or a hand "
            "may be as dark, or as light, as the ball"
        )
    return (
        f"this is no ball, or one with a dent, or something hides its edge: its outline falls back {much} {side}, "
        "where a stand, a hand or a highlight may be as dark, or as light, as the background"
    )


def _gap_side(kept: NDArray[np.bool_]) -> str:
    """Name where the middle of the widest gap lies; empty where there is none, or nothing else."""
    seen = np.flatnonzero(kept)
    if not seen.size or seen.size == kept.size:
        return ""
    gaps = np.diff(seen, append=seen[0] + kept.size)
    widest = int(gaps.argmax())
    return f" {_side((float(seen[widest]) + float(gaps[widest]) / 2.0) / kept.size)}"


def _side(turn: float) -> str:
    """Name a place of an outline, shares of a turn from the right by the top."""
    return _SIDES[round(8.0 * turn) % 8]


def widest_gap(kept: NDArray[np.bool_]) -> float:
    """Give the widest stretch without an edge, radians; `kept`, (n,), says which rays have one."""
    if kept.all():
        return 0.0
    if not kept.any():
        return 2.0 * math.pi
    places = np.flatnonzero(kept)
    gaps = np.diff(places, append=places[0] + kept.size) - 1
    return float(gaps.max()) * 2.0 * math.pi / kept.size
