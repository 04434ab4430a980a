"""A ball's track becomes a rebound: the fit by its flight, what checks it, and what it is refused for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import NotConverged
from ballbench.findings.bouncing.balls import HeardDrop
from ballbench.findings.bouncing.draws import DRAWS, named_rng
from ballbench.findings.bouncing.drops import DropDraws
from ballbench.findings.bouncing.results import BounceSettings, Spread
from ballbench.findings.watching.checks import Scales, gross_check, notes_of, scale_checks, why_refused, wrong_scale
from ballbench.findings.watching.results import FilmedClip, FilmedImpact, Seen
from ballbench.physics.drop_fit import CHANGING, SCATTER, DropFit, Told, fit_drop
from ballbench.physics.drop_model import AIR, CAUSES, CONTACT, DRAG, GRAVITY, DropPriors
from ballbench.physics.sphere_drag import FLIGHT_SHARE, HIGHEST_REYNOLDS, flight_drag
from ballbench.physics.vertical_flight import Faller
from ballbench.quantities.uncertain import Uncertain, coverage_factor
from ballbench.signals.track import Track

__all__ = ["CARRIED", "FilmedDrop", "read_drop"]

Array = NDArray[np.float64]

CARRIED = 0.03
"""A rebound is carried to the drop height that was said if the ball fell from within this share of it (own choice)."""
_TILT_SHARE = 0.06
"""SD of the change of scale along the fall, as a share, before anything is seen of it (own choice)."""
_ROWS_SHARE = 0.6
"""SD of the time from the first row to the last, as a share of the time between pictures, likewise."""
_NEARING_U, _LEAST_NEARING_U = (0.005, 0.05, 0.02), 0.006
"""SD of the share by which the ball comes nearer a second, before anything is seen of it: in its fall, after the first
impact, and of what each later impact changes of it; and least where breadths tell it (own choices)."""
_ANY_NEARING_U, _SURELY = 0.5, 3.0
"""The same where the breadths alone show it surely: by more than so many standard uncertainties (own choices)."""
_FAINTER_U = 0.03
"""SD of the share of its way in a picture by which a smeared ball looks narrower (by drawn balls, own choice)."""
_ALIKE = 3.0
"""Neighbouring breadths are off alike: what they say is taken so many times less sure (own choice)."""
_SMEAR_SHARE = 0.01
"""SD of how far off its middle a smear is seen, as a share of the way between two pictures: by drawn clips of balls
whose foot is darker than their top, coded (simulation, own choice)."""
_AXIS_SHARE = 0.02
"""SD of where the camera's axis is off the middle of the picture, as a share of its height (own choice)."""
_DISTANCE, _DISTANCE_U = 4.0, 0.5
"""The camera's distance in falls, and SD of its logarithm (own choice)."""
_DRAG_TOLD, _DRAG_TOLD_U = 0.05, 0.08
"""By what share drag is larger than the bend of a way says, and SD: the bend goes with the change of drag with speed,
which is less by half the power by which the coefficient falls; for a smooth sphere that power is 0.24 at a Reynolds
number of 1000, 0.05 at 3000, about 0 at 5000, and -0.1 at 10 000 (`sphere_drag`; own choice from it)."""
_TOLD_RIGHT = (5000.0, 8000.0)
"""Reynolds numbers, at `FLIGHT_SHARE` of the speed, up to which the share holds and from which on it is none: by
integrating falls and rebounds of spheres whose drag follows that curve (own choice)."""
_LENS_U = 0.005
"""SD of the share by which a phone's lens, corrected by the phone, still moves the picture's edge (own choice)."""
_FEWEST_BREADTHS = 8
_LEAST_DRAG_U = 1e-3
_SHARED = (CAUSES[DRAG], CHANGING, CAUSES[AIR], CAUSES[GRAVITY], CAUSES[CONTACT])
_CURVE_POINTS = 400


@dataclass(frozen=True, slots=True)
class FilmedDrop:
    """A clip as it was read, and its draws; None where it says nothing of its ball."""

    clip: FilmedClip
    drop: HeardDrop | None


def read_drop(
    clip: FilmedClip, track: Track, settings: BounceSettings, viscosity: float, shrunk: float, ruler: float, seed: int
) -> FilmedDrop:
    """Read one drop.

    Parameters
    ----------
    clip : FilmedClip
        File, ball, length and notes, the rest empty.
    track : Track
        Of its ball.
    settings : BounceSettings
        Ball, air, gravity, contact, drop height.
    viscosity : float
        Dynamic viscosity of the air, Pa s.
    shrunk : float
        Pixels of the file, along a side, for one of the track.
    ruler : float
        mm a pixel of the file; NaN: not said.
    seed : int
        Of the draws.

    Returns
    -------
    FilmedDrop
        Refused with the reason where the clip cannot be read or does not bear out what it must.
    """
    clip = replace(clip, frames=track.frames, repeated=track.repeated, rate=_rate(track))
    if track.refused or track.flights is None:
        reason = track.refused or "no drop was found"
        return FilmedDrop(replace(clip, refused=reason, notes=(*clip.notes, *_paces(track))), None)
    rows = np.concatenate(track.flights.parts)
    flight = np.concatenate([np.full(part.size, k) for k, part in enumerate(track.flights.parts)])
    leaning, along, axis = _along(track, rows, flight)
    roll = leaning[0]
    floor = float(track.flights.floor / math.cos(roll) if abs(roll) < 0.3 else track.flights.floor)
    floor += float(np.median(along - track.y[rows] / math.cos(roll)))
    breadth, nearing = _breadths(track, rows, along, floor)
    priors = replace(_priors(track, settings, viscosity), nearing=nearing)
    scales = Scales(breadth, shrunk, settings.diameter, ruler)
    guess = gross_check(1e3 * float(priors.faller.effective_gravity), track.flights.curvatures, scales)
    if guess is not None:
        clip = replace(clip, checks=(guess,), notes=(*clip.notes, *_paces(track)))
        return FilmedDrop(replace(clip, refused=wrong_scale(clip)), None)
    try:
        fit = fit_drop(
            track.t[rows], along, flight, priors, impacts=track.flights.impacts, floor=floor,
            curvature=track.flights.curvatures[1], axis=axis, half=_rows_of(track) / 2.0, u=track.u[rows],
        )  # fmt: skip
    except (NotConverged, np.linalg.LinAlgError):
        refused = "the places of the ball do not come together to flights; film again, with the camera on a stand"
        return FilmedDrop(replace(clip, refused=refused), None)
    checks = scale_checks(fit, scales)
    read = _filled(clip, track, fit, shrunk, settings)
    seen = _seen(track, rows, along, fit, leaning, shrunk)
    read = replace(read, checks=checks, roll=math.degrees(roll), seen=seen)
    refused = why_refused(fit, track, read)
    notes = (*clip.notes, *_paces(track))
    if refused:
        return FilmedDrop(
            replace(clip, refused=refused, checks=checks, notes=notes, seen=read.seen, by_hand=read.by_hand), None
        )
    drawn = HeardDrop(_drawn(fit, settings, clip.digest, seed), _drawn(fit, settings, "", seed))
    counts = settings.drop_height is None or read.at_height is not None
    notes = (*notes, *notes_of(fit, track, read, settings))
    return FilmedDrop(replace(read, notes=notes), drawn if counts else None)


def _rate(track: Track) -> float:
    return 1.0 / track.pace if track.pace > 0.0 else 0.0


def _along(
    track: Track, rows: NDArray[np.int64], flight: NDArray[np.int64]
) -> tuple[tuple[float, float], Array, float]:
    """Give the lean of the fall in the picture, the places along it, and that of the picture's middle, px.

    It leans by an angle, rad, about the mean of its places sideways, px: sideways, places are a share of
    the height and, flight by flight, a steady drift, by linear least squares.
    """
    x, y = track.x[rows], track.y[rows]
    count = int(flight.max()) + 1
    order = np.arange(flight.size, dtype=np.float64)
    columns = [y - y.mean()]
    for k in range(count):
        own = (flight == k).astype(np.float64)
        columns += [own, own * (order - order[flight == k].mean()) / max(flight.size, 1)]
    found, *_ = np.linalg.lstsq(np.column_stack(columns), x, rcond=None)
    roll = math.atan(float(found[0]))
    across = x.mean()
    high, wide = track.picture.shape if track.picture is not None else (2.0 * y.mean(), 2.0 * across)
    middle = high / 2.0 * math.cos(roll) + (wide / 2.0 - across) * math.sin(roll)
    return (roll, float(across)), _leaning_along(x, y, roll, across), float(middle)


def _leaning_along(x: Array, y: Array, roll: float, across: float) -> Array:
    """Give places along a fall that leans about the middle of its way, px."""
    return np.asarray(y * math.cos(roll) + (x - across) * math.sin(roll))


def _priors(track: Track, settings: BounceSettings, viscosity: float) -> DropPriors:
    flights = track.flights
    if flights is None:
        raise AssertionError("looked at before")
    gravity, diameter = settings.gravity.value, settings.diameter.value * 1e-3
    lasting = flights.impacts[1] - flights.impacts[0] if len(flights.impacts) > 1 else 0.0
    lasting = max(lasting, float(track.t[flights.parts[1][-1]] - flights.impacts[0]))
    speed = 0.55 * gravity * lasting
    toughness = viscosity / settings.air_density.value
    most = HIGHEST_REYNOLDS * toughness / diameter
    drag = (
        settings.drag.value
        if settings.drag is not None
        else float(flight_drag(min(max(speed, 0.1), most), diameter, toughness))
    )
    density, mass, wide = (one.u / one.value for one in (settings.air_density, settings.mass, settings.diameter))
    relative = math.hypot(settings.drag_u, density, mass, 2.0 * wide)
    displaced = math.hypot(density, mass, 3.0 * wide)
    faller = Faller(settings.mass.value * 1e-3, diameter, drag, settings.air_density.value, gravity)
    scale = float(faller.effective_gravity) / flights.curvatures[1]
    fall = max((flights.floor - float(track.y[np.concatenate(flights.parts)].min())) * scale, 0.02)
    return DropPriors(
        faller, max(relative, _LEAST_DRAG_U), max(settings.gravity.u, 1e-5), settings.contact.value,
        max(settings.contact.u, 1e-6), _TILT_SHARE / fall, _ROWS_SHARE * track.pace / _rows_of(track), _LENS_U,
        _SMEAR_SHARE * track.pace, _AXIS_SHARE * _rows_of(track), _DISTANCE * fall, _DISTANCE_U,
        air_u=displaced, drag_told=_told_less(FLIGHT_SHARE * speed * diameter / toughness), drag_told_u=_DRAG_TOLD_U,
    )  # fmt: skip


def _told_less(reynolds: float) -> float:
    """Give by what share drag is larger than the bend of a way says, at a Reynolds number."""
    low, high = map(math.log, _TOLD_RIGHT)
    return _DRAG_TOLD * float(np.clip((high - math.log(max(reynolds, 1.0))) / (high - low), 0.0, 1.0))


def _breadths(
    track: Track, rows: NDArray[np.int64], along: Array, floor: float
) -> tuple[float, tuple[tuple[float, float], ...]]:
    """Give the ball's breadth at the first impact, px, and by what share it comes nearer a second (`DropPriors`).

    One over the breadth goes with the distance: linear in the height where the camera looks up or down, and in time,
    with a bend at each impact, where the ball comes nearer. Linear least squares, with what is usual as further
    observations. NaN where a person put most of the places.
    """
    width, t, flights = track.width[rows], track.t[rows], track.flights
    known = np.isfinite(width)
    if flights is None:
        raise AssertionError("looked at before")
    usual = np.array([*_NEARING_U[:2], *[_NEARING_U[2]] * (len(flights.impacts) - 1)])
    if known.sum() < _FEWEST_BREADTHS:
        return math.nan, tuple((0.0, float(u)) for u in usual)
    middle, high = float(np.nanmedian(width)), floor - along
    # a ball that is smeared by its motion has fainter sides, the more the longer its way in a picture
    ways = np.abs(np.concatenate([np.gradient(track.y[part], track.t[part]) for part in flights.parts])) * track.pace
    slopes = [np.minimum(t - flights.impacts[0], 0.0), *(np.maximum(t - begin, 0.0) for begin in flights.impacts)]
    design = np.column_stack([np.ones(t.size), ways / middle, high / max(float(high.max()), 1.0), *slopes])[known]
    steady = np.array([math.inf, _FAINTER_U, _TILT_SHARE])
    found, u = _regressed(design, middle / width[known], np.array([*steady, *[_ANY_NEARING_U] * usual.size]))
    surely = np.abs(found[3:]) > _SURELY * np.maximum(u[3:], _LEAST_NEARING_U * found[0])
    before = np.where(surely, _ANY_NEARING_U, usual)
    found, u = _regressed(design, middle / width[known], np.array([*steady, *before]))
    nearing = tuple(
        (-float(share / found[0]), math.hypot(float(own / found[0]), min(_LEAST_NEARING_U, float(most))))
        for share, own, most in zip(found[3:], u[3:], before / 2.0, strict=True)
    )
    return middle / float(found[0]), nearing


def _regressed(design: Array, seen: Array, before: Array) -> tuple[Array, Array]:
    """Give slopes and their standard uncertainties, of which is known beforehand that they are 0 to within `before`."""
    kept = np.ones(seen.size, dtype=bool)
    scatter, found = float(np.std(seen)) + 1e-6, np.zeros(before.size)
    spread: Array = np.eye(before.size)
    for _ in range(3):
        rows = design[kept] / (_ALIKE * scatter)
        spread = np.asarray(np.linalg.pinv(rows.T @ rows + np.diag(1.0 / before**2)), dtype=np.float64)
        found = np.asarray(spread @ rows.T @ (seen[kept] / (_ALIKE * scatter)), dtype=np.float64)
        away = np.abs(seen - design @ found)
        kept = away <= 4.0 * 1.4826 * float(np.median(away)) + 1e-9
        scatter = float(np.sqrt(np.sum(away[kept] ** 2) / max(int(kept.sum()) - 4, 2))) + 1e-6
    return found, np.sqrt(np.diag(spread))


def _rows_of(track: Track) -> float:
    return float(track.picture.shape[0]) if track.picture is not None else float(np.ptp(track.y)) + 1.0


def _spread(told: Told, scale: float = 1.0) -> Spread:
    half = coverage_factor(math.inf) * told.u * scale
    return Spread(told.value * scale, told.u * scale, told.value * scale - half, told.value * scale + half)


def _filled(clip: FilmedClip, track: Track, fit: DropFit, shrunk: float, settings: BounceSettings) -> FilmedClip:
    impacts = tuple(
        FilmedImpact(
            k + 1, fit.impacts[k].value, fit.speeds[k].value, fit.speeds[k].u, _spread(fit.restitution[k]),
            _spread(fit.rebounds[k], 1e3),
        )
        for k in range(len(fit.impacts))
    )  # fmt: skip
    first = fit.rebounds[0]
    scale = fit.scale.value
    return replace(
        clip,
        rebound=_spread(first, 1e3),
        fell=_spread(fit.drop, 1e3),
        at_height=_at_height(fit, settings.drop_height),
        impacts=impacts,
        scale=_spread(fit.scale, 1.0 / shrunk),
        tilt=100.0 * fit.tilt.value * fit.drop.value,
        budget=tuple(sorted(((words, 1e3 * abs(part)) for words, part in first.parts), key=lambda pair: -pair[1])),
        in_flight=int(fit.used.sum()),
        left_out=int((~fit.used).sum()),
        scatter=fit.noise * scale,
        by_hand=int(np.isfinite(track.u).sum()),
    )


def _at_height(fit: DropFit, height: Uncertain | None) -> Spread | None:
    """Carry the rebound to the drop height that was said: in proportion, where the ball fell from nearly there."""
    if height is None or abs(1e3 * fit.drop.value / height.value - 1.0) > CARRIED:
        return None
    return _spread(fit.ratio, height.value)


def _seen(
    track: Track, rows: NDArray[np.int64], along: Array, fit: DropFit, leaning: tuple[float, float], shrunk: float
) -> Seen:
    roll, across = leaning

    def heights(times: Array, places: Array) -> Array:
        return 1e3 * fit.height(times, places)

    def by_fit(times: Array, xs: Array, ys: Array) -> tuple[Array, Array]:
        places = _leaning_along(xs / shrunk, ys / shrunk, roll, across)
        return heights(times, places), 1e3 * fit.flown(times, places)

    t = track.t[rows]
    fine = np.linspace(float(t[0]), float(t[-1]), _CURVE_POINTS)
    high = track.picture.shape if track.picture is not None else (0, 0)
    return Seen(
        tuple(map(float, t)), tuple(map(float, heights(t, along))), tuple(map(bool, fit.used)),
        tuple(map(bool, np.isfinite(track.u[rows]))), tuple(map(float, track.x[rows] * shrunk)),
        tuple(map(float, track.y[rows] * shrunk)), tuple(map(float, fine)),
        tuple(map(float, heights(fine, fit.curve(fine)))),
        high[1] * shrunk, high[0] * shrunk, by_fit,
    )  # fmt: skip


def _drawn(fit: DropFit, settings: BounceSettings, own: str, seed: int) -> DropDraws:
    """Draw a drop: causes that all clips share by their name, the rest by the clip's digest; none of it for ``""``."""
    causes = {name: named_rng(seed, "filmed", name).standard_normal(DRAWS) for name in _SHARED}

    def draws(told: Told, name: str) -> Array:
        found = np.full(DRAWS + 1, told.value)
        for cause, part in told.parts:
            if cause in causes:
                found[1:] += part * causes[cause]
            elif own:
                # what a clip's camera does moves all its values together; the scatter of places each on its own
                stream = (own, cause, name) if cause == SCATTER else (own, cause)
                found[1:] += part * named_rng(seed, "filmed", *stream).standard_normal(DRAWS)
        return found

    restitution = np.column_stack([draws(told, f"restitution {k}") for k, told in enumerate(fit.restitution)])
    speed = np.column_stack([draws(told, f"speed {k}") for k, told in enumerate(fit.speeds)])
    rise = np.column_stack([draws(told, f"rebound {k}") for k, told in enumerate(fit.rebounds)])
    if settings.drop_height is None:
        rebound = rise[:, 0]
    else:
        rebound = draws(fit.ratio, "rebound 0") * settings.drop_height.value * 1e-3
    nothing = np.full_like(rise, math.nan)
    return DropDraws(nothing, nothing, rise, speed, restitution, 0, rebound)


def _paces(track: Track) -> tuple[str, ...]:
    notes = []
    said = "1 picture shows" if track.repeated == 1 else f"{track.repeated} pictures show"
    if track.slowest > 1.5 * track.fastest:
        notes.append(
            f"pictures follow each other after {1e3 * track.fastest:.1f} to {1e3 * track.slowest:.1f} ms (variable "
            "rate); each one's own time was used"
        )
    if track.repeated:
        notes.append(f"{said} the one before once more and {'was' if track.repeated == 1 else 'were'} left out")
    return tuple(notes)
