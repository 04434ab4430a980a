"""From the impacts of one drop to its flights, its restitution at each impact, and its rebound from the drop height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.bouncing.doubt import (
    beginning_in_doubt,
    first_gain,
    gain_words,
    rather_knocks,
    standing_apart,
)
from ballbench.findings.bouncing.draws import SharedDraws, spread_of
from ballbench.findings.bouncing.results import BounceAt, BounceDrop, Flight, HeardImpact
from ballbench.physics.vertical_flight import (
    Faller,
    height_of,
    impact_speed_after,
    impact_speed_of,
    launch_speed_of,
)

__all__ = ["DropDraws", "drop_of", "flown"]

Array = NDArray[np.float64]

_SHORTEST = 10.0
"""Flights of fewer contact times are not taken: what the contact leaves of them is too uncertain (own choice)."""


@dataclass(frozen=True, slots=True)
class DropDraws:
    """One drop, drawn: estimates in the first place, draws behind.

    Parameters
    ----------
    times, launch, rise : (M, K) array
        Of each flight: s, m/s, m.
    speed, restitution : (M, R) array
        Of each impact with a flight after it and a known speed before it: m/s, and the ratio.
    first : int
        Which impact the first of them is, from 0.
    rebound : (M,) array or None
        From the drop height as it was said, m; None where no drop height is known.
    """

    times: Array
    launch: Array
    rise: Array
    speed: Array
    restitution: Array
    first: int
    rebound: Array | None


def flown(impacts: Sequence[HeardImpact], shared: SharedDraws, rng: np.random.Generator | None) -> DropDraws:
    """Work one drop out.

    Parameters
    ----------
    impacts : sequence of HeardImpact
        At least two that follow each other with none missing, in the order of time.
    shared : SharedDraws
        What all flights share.
    rng : numpy.random.Generator or None
        Of the errors of the impacts' own times; None leaves these out, so that only shared errors are left.

    Returns
    -------
    DropDraws
        With M as in `shared`, K = flights.

    Notes
    -----
    A flight lasts from onset to onset less the contact that the first of the two begins; a contact gets longer as the
    ball gets slower. Launch speeds are those of
    flights with drag, buoyancy and carried air; the speed of an impact is that of the flight before it, of the first
    impact that of the fall. Two impacts that share a flight share its error with opposite signs.
    """
    onset = np.array([impact.time for impact in impacts])
    spread = np.array([impact.u for impact in impacts])
    size = shared.mass.size
    noise = np.zeros((size, onset.size))
    if rng is not None:
        noise[1:] = rng.standard_normal((size - 1, onset.size)) * spread
    times = np.diff(onset + noise, axis=1) - _contacts(onset, shared)
    faller = _faller(times[0], shared)
    launch = launch_speed_of(times, faller)
    arrival = impact_speed_of(launch, faller)
    rise = height_of(launch, faller)
    if shared.height is None:
        return DropDraws(times, launch, rise, arrival[:, :-1], launch[:, 1:] / arrival[:, :-1], 1, None)
    fall = shared.faller(np.array([math.sqrt(2.0 * shared.gravity[0] * shared.height[0])]))
    came = np.hstack([impact_speed_after(shared.height[:, None], fall), arrival[:, :-1]])
    restitution = launch / came
    as_said = restitution[:, :1] * impact_speed_after(shared.height[0], fall)
    rebound = height_of(as_said, shared.faller(launch[0, :1]))[:, 0]
    return DropDraws(times, launch, rise, came, restitution, 0, rebound)


def _contacts(onset: Array, shared: SharedDraws) -> Array:
    """Give the contact that each flight follows, (M, K): longer from impact to impact, as the ball gets slower.

    An impact is about as fast as the flight before it was long; the first two have the speed of the first flight.
    """
    gaps = np.diff(onset)
    slower = np.concatenate(([1.0], gaps[:-1] / gaps[0]))
    return shared.contact[:, None] * slower ** -shared.slowing[:, None]


def _faller(times: Array, shared: SharedDraws) -> Faller:
    """Give the ball and its air for flights of these times, (K,): the speed is needed for the drag, and the reverse."""
    speeds = shared.gravity[0] * np.maximum(times, 0.0) / 2.0
    for _ in range(2):
        whole = shared.faller(speeds)
        drag = np.broadcast_to(whole.drag, (shared.mass.size, times.size))[0]
        one = Faller(shared.mass[0], shared.diameter[0], drag, shared.air[0], shared.gravity[0])
        speeds = np.nan_to_num(launch_speed_of(times, one))
    return shared.faller(speeds)


def drop_of(
    number: int,
    impacts: Sequence[HeardImpact],
    shared: SharedDraws,
    rng: np.random.Generator,
    notes: Sequence[str],
    *,
    sure: bool = False,
    quieter: bool = True,
) -> tuple[BounceDrop, DropDraws | None]:
    """Say what one drop tells.

    Parameters
    ----------
    number : int
        In its recording, from 1.
    impacts : sequence of HeardImpact
        As heard, none missing between them.
    shared : SharedDraws
        What all flights share.
    rng : numpy.random.Generator
        Of the errors of the impacts' own times.
    notes : sequence of str
        What the hearing noted.
    sure : bool
        A person picked the impacts, or looked at them: then doubt is said, and the drop counts.
    quieter : bool
        The impacts get quieter as a ball's do.

    Returns
    -------
    BounceDrop, DropDraws or None
        None where the drop tells nothing, or not surely; it is then not counted, with the reason in its notes.
    """
    said = list(notes)
    kept = _usable(impacts, float(shared.contact[0]), said)
    if len(kept) < 2:
        said.append("fewer than two impacts that follow each other: no flight to time")
        return BounceDrop(number, tuple(impacts), (), (), None, tuple(said), counted=False), None
    drawn = flown(kept, shared, rng)
    end = first_gain(drawn.restitution)
    if end is not None:
        said.append(gain_words(drawn.first + end + 1, float(drawn.restitution[0, end]), sure=sure))
        impact = drawn.first + end + 1
        if impact == 1 or (impact == 2 and not sure):
            return BounceDrop(number, tuple(impacts), (), (), None, tuple(said), counted=False), None
        kept = kept[: drawn.first + end + 1]
        drawn = flown(kept, shared, rng)
    flights = tuple(
        Flight(
            float(drawn.times[0, k]), float(np.std(drawn.times[1:, k])), float(drawn.launch[0, k]),
            spread_of(drawn.rise[:, k], 1e3),
        )
        for k in range(drawn.times.shape[1])
    )  # fmt: skip
    bounces = tuple(
        BounceAt(
            k + drawn.first + 1, spread_of(drawn.restitution[:, k]), float(drawn.speed[0, k]),
            float(np.std(drawn.speed[1:, k])), "drop height" if k + drawn.first == 0 else "flight before",
        )
        for k in range(drawn.restitution.shape[1])
    )  # fmt: skip
    rebound = None if drawn.rebound is None else spread_of(drawn.rebound, 1e3)
    if not bounces:
        said.append("one flight alone gives no restitution without a drop height")
    doubt = beginning_in_doubt(bounces, drawn.restitution) or rather_knocks(
        bounces, drawn.restitution, flights, quieter=quieter, known=shared.height is not None
    )
    if doubt and not sure:
        said.append(doubt)
        return BounceDrop(number, tuple(impacts), flights, bounces, rebound, tuple(said), counted=False), None
    said += standing_apart(bounces)
    return BounceDrop(number, tuple(impacts), flights, bounces, rebound, tuple(said)), drawn


def _usable(impacts: Sequence[HeardImpact], contact: float, notes: list[str]) -> list[HeardImpact]:
    """Give the impacts up to the first flight that is too short to be told from the contact."""
    kept = list(impacts[:1])
    for impact in impacts[1:]:
        if impact.time - kept[-1].time < _SHORTEST * contact:
            notes.append(f"flights of less than {_SHORTEST:g} contact times are left out")
            break
        kept.append(impact)
    return kept
