"""What a filmed drop must bear out: one clock, one scale by gravity and by the ball's own size, free flight."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ballbench.findings.bouncing.results import BounceSettings, Spread
from ballbench.findings.watching.results import FilmedClip, SizeCheck
from ballbench.physics.drop_fit import DropFit
from ballbench.quantities.uncertain import Uncertain, coverage_factor
from ballbench.signals.track import Track

__all__ = [
    "BY_BALL",
    "BY_RULER",
    "Scales",
    "agreeing",
    "clock_open",
    "gross_check",
    "notes_of",
    "scale_checks",
    "why_refused",
    "wrong_scale",
]

BY_BALL, BY_RULER = "the ball's own breadth", "the ruler"
"""By what the scale is checked, as `SizeCheck` names it."""

_SIZE_U, _EDGE_U = 0.008, 0.5
"""What is not known of a ball's breadth in a picture: a share of it, and px of its two edges (own choices)."""
_RULER_U = 0.005
"""Relative standard uncertainty of a ruler's scale (own choice)."""
_LEAST_GAP = 0.04
"""Scales that differ by less agree (own choice): it is 2 % of the clock."""
_LEAST_RULER_GAP = 0.02
_FLIGHT_GAP = 0.03
"""Flights whose own scales differ by more than this, and by five standard uncertainties, have different clocks."""
_TILT_NOTED, _TILT_REFUSED = 0.03, 0.12
"""Change of scale along the fall from which it is said, and from which a clip is refused (own choices)."""
_NEARER_NOTED, _NEARER_REFUSED = 0.05, 0.5
"""Share of its distance by which the ball comes nearer while it is seen, or goes away: said from, refused from. Up to
0.6 the rebound stayed within its interval (simulation, own choices)."""
_OBLIQUE = 1.5
"""Scales that differ by more are not the camera's angle alone: 48 degrees."""
_GROSS, _GUESS_U = 2.0, 0.05
"""Factor between scales from which no fit is tried, and relative standard uncertainty of that of a bare parabola (own
choices)."""
_ROLL_NOTED = 5.0
_NOISY, _TOO_NOISY = 0.015, 0.03
"""Scatter of places as a share of the ball's breadth: said from, refused from (own choices)."""
_PATTERN = 2.5
"""Neighbouring places that are off alike: from so many on it is a wrong curve rather than noise (own choice)."""
_BENT, _BENT_PX = 0.003, 0.12
"""Scatter of places that follow a wrong curve, from which a clip is refused: a share of the breadth, and px. Clips with
their cameras' faults stay below 0.0015; a clock that slows by 3 % in mid clip makes 0.004 or more (simulation, own
choices)."""
_TWO_CLOCKS, _OTHER_CLOCK = 0.35, 0.2
"""Fall and rebounds whose curves, as shares of the fitted ones, differ by more than the second are of two clocks; up to
the first an oblique view is looked at before (own choices)."""
_FEW_BENT = 8
_FEW_A_SECOND = 100.0
_LEAST_BREADTH = 12.0
_SAID = 3.0


@dataclass(frozen=True, slots=True)
class Scales:
    """The ball's breadth near the plate in px of the track, px of the file for one of these, diameter, a ruler's scale.

    Parameters
    ----------
    breadth, shrunk : float
        NaN breadth: every place was put there by a person.
    diameter : Uncertain
        mm.
    ruler : float
        mm a pixel of the file; NaN: none.
    """

    breadth: float
    shrunk: float
    diameter: Uncertain
    ruler: float


def scale_checks(fit: DropFit, scales: Scales) -> tuple[SizeCheck, ...]:
    """Hold the scale by gravity against the ball's own breadth, and against a ruler where there is one."""
    checks = []
    if math.isfinite(scales.breadth):
        own = scales.diameter.value / scales.breadth
        relative = math.hypot(_SIZE_U, _EDGE_U / scales.breadth, scales.diameter.u / scales.diameter.value)
        checks.append(_check(BY_BALL, own, relative, fit, scales.shrunk))
    if math.isfinite(scales.ruler):
        checks.append(_check(BY_RULER, scales.ruler * scales.shrunk, _RULER_U, fit, scales.shrunk))
    return tuple(checks)


def _check(by: str, scale: float, relative: float, fit: DropFit, shrunk: float) -> SizeCheck:
    ratio = fit.scale.value / scale
    u = math.hypot(relative, fit.scale.u / fit.scale.value) * ratio
    agrees = abs(math.log(ratio)) <= _agreeing(by, u / ratio)
    return SizeCheck(by, _spread(scale / shrunk, relative * scale / shrunk), _spread(ratio, u), agrees)


def agreeing(check: SizeCheck) -> float:
    """Give the share by which the scales of a check may differ and agree."""
    return _agreeing(check.by, check.ratio.u / check.ratio.value)


def _agreeing(by: str, relative: float) -> float:
    return max(_LEAST_GAP if by == BY_BALL else _LEAST_RULER_GAP, 3.0 * relative)


def clock_open(check: SizeCheck) -> tuple[float, float]:
    """Give between which errors of a clip's clock a check leaves it, shares, a slow one positive (95 %).

    A scale by gravity goes with the square of the clock's times, so that a clock is off by the root of the ratio.
    """
    low, high = (math.sqrt(max(end, 0.0)) - 1.0 for end in (check.ratio.low, check.ratio.high))
    return low, high


def _spread(value: float, u: float) -> Spread:
    half = coverage_factor(math.inf) * u
    return Spread(value, u, value - half, value + half)


def gross_check(pull: float, curvatures: tuple[float, ...], scales: Scales) -> SizeCheck | None:
    """Hold a first guess of the scale, by pull (mm/s2) and curvatures (px/s2), against the breadth; None: try a fit."""
    fall, rebound = curvatures[:2]
    if not math.isfinite(scales.breadth) or not 1.0 - _OTHER_CLOCK < fall / rebound < 1.0 + _OTHER_CLOCK:
        return None  # two clocks are told apart by the fit
    ratio = pull / rebound * scales.breadth / scales.diameter.value
    if 1.0 / _GROSS < ratio < _GROSS:
        return None
    own = scales.diameter.value / scales.breadth / scales.shrunk
    return SizeCheck(BY_BALL, _spread(own, _GUESS_U * own), _spread(ratio, _GUESS_U * ratio), agrees=False)


def why_refused(fit: DropFit, track: Track, clip: FilmedClip) -> str:
    """Say why a fitted drop is not believed, and what to do; empty where it is."""
    breadth = track.diameter if math.isfinite(track.diameter) else math.inf
    return (
        _clock_changes(fit, track, _TWO_CLOCKS) or _nearer(fit) or _oblique(fit, clip)
        or _clock_changes(fit, track, _OTHER_CLOCK) or wrong_scale(clip) or _uneven(fit) or _not_free(fit, breadth)
    )  # fmt: skip


def _nearer(fit: DropFit) -> str:
    """Say that the ball comes too far towards the camera, or goes too far away from it."""
    if abs(fit.nearest) < _NEARER_REFUSED:
        return ""
    return (
        f"{_coming(fit)} while it is seen: it does not bounce straight up; set the plate level, let the ball go "
        "without a push, film square on and from further away"
    )


def _coming(fit: DropFit) -> str:
    way = "comes nearer to the camera" if fit.nearest > 0.0 else "goes away from the camera"
    return f"the ball {way} by {100 * abs(fit.nearest):.0f} % of its distance"


def _oblique(fit: DropFit, clip: FilmedClip) -> str:
    """Say that the camera looks at the fall from too far above or below."""
    tilt = fit.tilt.value * fit.drop.value
    tilted = abs(tilt) > 3.0 * fit.tilt.u * fit.drop.value
    size = _by(clip, BY_BALL)
    # an oblique view shortens heights and not the ball's breadth: the scale by gravity comes out too large
    ratio = 1.0 if size is None or size.agrees else size.ratio.value
    oblique = tilted and ratio > 1.0 - _LEAST_GAP
    if oblique and (abs(tilt) > _TILT_REFUSED or (abs(tilt) > _TILT_NOTED and 1.0 < ratio < _OBLIQUE)):
        return (
            f"the scale changes by {100 * abs(tilt):.0f} % along the fall: the camera looks {_way(tilt)} at it; put it "
            "at the height of the fall's middle, level, and further away"
        )
    return ""


def wrong_scale(clip: FilmedClip) -> str:
    """Say that gravity's scale is not that of the ball's own size."""
    size = _by(clip, BY_BALL)
    return _wrong_clock(size, clip) if size is not None and not size.agrees else ""


def _by(clip: FilmedClip, what: str) -> SizeCheck | None:
    return next((check for check in clip.checks if check.by == what), None)


def _not_free(fit: DropFit, breadth: float) -> str:
    """Say that the ball's places do not lie on flights, or that it was thrown."""
    if fit.pattern > _PATTERN and fit.noise > max(_BENT * breadth, _BENT_PX):
        return (
            "the ball does not move as one that flies freely: the speed changes inside the clip, or the camera moves; "
            "use the camera's own clip, not one whose speed was changed, filmed from a stand and square on"
        )
    if fit.noise > _TOO_NOISY * breadth:
        return (
            f"the ball's place jumps by {fit.noise * fit.scale.value:.1f} mm from picture to picture: too much "
            "compression or too little light; film larger, brighter, and send the clip as the original file"
        )
    if fit.restitution[0].value - 2.0 * fit.restitution[0].u > 1.0:
        return "the ball leaves the plate faster than it came: it was thrown, or this is no drop; let it go from rest"
    return ""


def _wrong_clock(size: SizeCheck, clip: FilmedClip) -> str:
    if not size.ratio.value > 0.0:
        return (
            "the ball's way does not bend downwards, as that of a falling ball does: no clock makes a fall of it; turn "
            "the clip upright, and film the fall and the first rebound with more pictures a second"
        )
    factor = math.sqrt(size.ratio.value)
    how = f"{factor:.3g} times too slowly" if factor > 1.0 else f"{1.0 / factor:.3g} times too fast"
    ruler = _by(clip, BY_RULER)
    beside = ", as the ruler says too" if ruler is not None and not ruler.agrees else ""
    return (
        f"by gravity a pixel is {size.ratio.value:.3g} times what it is by the ball's own size{beside}: the clip runs "
        f"{how} (slow motion, or a changed speed), or the ball's size is not as said; use the camera's original clip "
        "with its own times, and check the diameter that was said"
    )


def _clock_changes(fit: DropFit, track: Track, most: float) -> str:
    """Say that fall and rebounds are bent so differently that they have different clocks, where they are.

    Each is held against what the fitted flight is bent there, for drag alone bends a long fall of a light ball less.
    """
    flights = track.flights
    if flights is None:
        return ""
    begins = np.cumsum([0, *(part.size for part in flights.parts)])
    shares = []
    for part, curve, begin in zip(flights.parts, flights.curvatures, begins[:-1], strict=True):
        if part.size < _FEW_BENT:
            continue
        t, fitted = track.t[part], track.y[part] - fit.residuals[begin : begin + part.size]
        shares.append(curve / max(2.0 * float(np.polyfit(t - t.mean(), fitted, 2)[0]), 1e-9 * abs(curve)))
    if len(shares) > 1 and max(shares) > (1.0 + most) * min(shares):
        differs = f" (the pull of gravity differs by {100 * (max(shares) / min(shares) - 1):.0f} %)"
        return (  # a rebound of noise may bend upwards: it has no share
            f"fall and rebounds run by different clocks{differs if min(shares) > 0.0 else ''}: the speed changes "
            "inside the clip, as in edited slow motion; use the camera's original clip"
        )
    return ""


def _uneven(fit: DropFit) -> str:
    """Say that the flights ask for different scales, where they do."""
    first = fit.own_scales[1]
    for k, own in enumerate(fit.own_scales):
        if k == 1 or not math.isfinite(own.u):
            continue
        gap = math.log(own.value / first.value)
        if abs(gap) > max(_FLIGHT_GAP, 5.0 * math.hypot(own.u / own.value, first.u / first.value)):
            part = "the fall" if k == 0 else f"flight {k}"
            return (
                f"{part} runs by another clock than the first rebound (scales differ by {100 * abs(gap):.0f} %): the "
                "speed changes inside the clip, as in edited slow motion; use the camera's original clip"
            )
    return ""


def _way(tilt: float) -> str:
    # heights shrink towards the top where the top is further away: the camera looks up
    return "up" if tilt > 0.0 else "down"


def notes_of(fit: DropFit, track: Track, clip: FilmedClip, settings: BounceSettings) -> tuple[str, ...]:
    """Give what a reader must know of a drop that is believed."""
    notes = []
    tilt, tilt_u = fit.tilt.value * fit.drop.value, fit.tilt.u * fit.drop.value
    if abs(tilt) > _TILT_NOTED and abs(tilt) > _SAID * tilt_u:
        notes.append(
            f"the camera looks {_way(tilt)} at the fall: the scale changes by {100 * abs(tilt):.0f} % along it, which "
            "was taken into account"
        )
    if abs(fit.nearest) > _NEARER_NOTED:
        notes.append(f"{_coming(fit)} while it is seen, which was taken into account")
    if abs(clip.roll) > _ROLL_NOTED:
        notes.append(f"the fall leans by {abs(clip.roll):.0f} degrees in the picture; heights were taken along it")
    if clip.rate < _FEW_A_SECOND:
        notes.append(f"{clip.rate:.0f} pictures a second are few; 120 or 240 tell the rebound better")
    breadth = track.diameter
    if math.isfinite(breadth) and breadth * clip_shrunk(clip, track) < _LEAST_BREADTH:
        notes.append(f"the ball is only {breadth:.0f} px wide; film it larger")
    if math.isfinite(breadth) and fit.noise > _NOISY * breadth:
        notes.append(f"the ball's place scatters by {fit.noise * fit.scale.value:.1f} mm: compression, or little light")
    share = float(np.mean(~fit.used))
    if share > 0.08:
        notes.append(f"{100 * share:.0f} % of the pictures in flight were far off and left out")
    if track.others:
        notes.append(f"{track.others} other things moved in the picture")
    notes += [
        f"gravity and {check.by} differ in scale by {100 * abs(check.ratio.value - 1.0):.1f} %: it does not lie in the "
        "plane of the fall, or was read wrongly"
        for check in clip.checks
        if not check.agrees
    ]
    height = settings.drop_height
    if height is not None and clip.fell is not None:
        gap = clip.fell.value - height.value
        if clip.at_height is None:
            notes.append(
                f"the ball fell from {clip.fell.value:.0f} mm and not from {height.value:g} mm: the rebound is not "
                "carried to that height, and does not count for its ball"
            )
        elif abs(gap) > max(0.01 * height.value, 3.0 * math.hypot(clip.fell.u, height.u)):
            notes.append(
                f"the ball fell from {clip.fell.value:.0f} mm, not quite from {height.value:g} mm: it was let go from "
                f"there, or the clip's clock is off by {50 * abs(gap) / height.value:.1f} %, which the rebound carried "
                "to the drop height is free of"
            )
    return tuple(notes)


def clip_shrunk(clip: FilmedClip, track: Track) -> float:
    """Give px of the file for one of the track."""
    return clip.seen.height / track.picture.shape[0] if track.picture is not None and clip.seen.height else 1.0
