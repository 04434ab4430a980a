"""Drops with known truth, as times of impacts: settings, a ball that obeys them, and impacts with known errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ballbench.findings.bouncing.balls import HeardDrop
from ballbench.findings.bouncing.draws import SharedDraws, named_rng, share
from ballbench.findings.bouncing.drops import drop_of, flown
from ballbench.findings.bouncing.results import BounceDrop, BounceSettings, HeardImpact
from ballbench.physics.vertical_flight import (
    Faller,
    flight_time_of,
    height_of,
    impact_speed_after,
    impact_speed_of,
)
from ballbench.quantities.uncertain import Uncertain

VISCOSITY = 1.81e-5


def known(value: float, u: float = 0.0) -> Uncertain:
    return Uncertain(value, u)


def settings(**changes: object) -> BounceSettings:
    """Everything exact, drag stated as 0.45; `changes` put uncertainty in."""
    plain = BounceSettings(
        known(40.0), known(2.74), None, known(305.0), known(1e-3), known(0.45), 0.45, 0.0, known(1.2), known(9.81),
        0.0147, 9.59, 9.0, known(0.0),
    )  # fmt: skip
    return replace(plain, **changes)  # type: ignore[arg-type]


def ball_of(one: BounceSettings) -> Faller:
    drag = one.drag.value if one.drag is not None else one.drag_seen
    return Faller(one.mass.value * 1e-3, one.diameter.value * 1e-3, drag, one.air_density.value, one.gravity.value)


def true_times(
    height: float, restitution: Sequence[float], faller: Faller, contact: float = 1e-3, start: float = 0.5
) -> np.ndarray:
    """Give the onsets, s, of a ball let go `height` m up that keeps these shares of its speed, one an impact."""
    speed, times = float(impact_speed_after(height, faller)), [start]
    for kept in restitution:
        launch = kept * speed
        times.append(times[-1] + contact + float(flight_time_of(launch, faller)))
        speed = float(impact_speed_of(launch, faller))
    return np.array(times)


def true_rebound(height: float, restitution: float, faller: Faller) -> float:
    """Give the height, m, to which a ball rises after a fall from `height`."""
    return float(height_of(restitution * impact_speed_after(height, faller), faller))


def heard(times: np.ndarray, u: float = 1e-5) -> list[HeardImpact]:
    return [HeardImpact(float(time), u, 40.0, "found") for time in times]


def shared_of(one: BounceSettings, seed: int = 1, draws: int = 2000) -> SharedDraws:
    return share(one, VISCOSITY, seed, draws)


def dropped(
    times: np.ndarray, shared: SharedDraws, u: float = 1e-5, name: str = "drop"
) -> tuple[BounceDrop, HeardDrop | None]:
    """Work one drop out, and give it as it counts."""
    impacts = heard(times, u)
    drop, drawn = drop_of(1, impacts, shared, named_rng(1, name), ())
    if drawn is None:
        return drop, None
    return drop, HeardDrop(drawn, flown(impacts[: len(drop.flights) + 1], shared, None))
