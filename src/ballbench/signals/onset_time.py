"""The onset of an impact, between samples, with its uncertainty.

What is heard before an impact (hiss, hum, the room's tail) is predicted from its own past, and the prediction is taken
off; what is left is even noise. From the onset on it is noise of a power that rises. The likelihood of every moment,
every rise time and every power is known; its mean is the onset and its spread the uncertainty.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Onset", "onset_near"]

Floats = NDArray[np.float64]

_ORDER_TIME = 0.4e-3  # s of past that predicts a sample (own choice)
_PAST = 40e-3  # s before the impact that the prediction is learnt from, at most
_SEARCH = (6.5e-3, 2.5e-3)  # s before and after the coarse place in which the onset may lie
_LEAD = 2.5e-3  # s before the sharpest rise in which the onset may lie
_SEEN = 1.0e-3  # s after the sharpest rise that count
_RISES = (0.0, 0.04e-3, 0.1e-3, 0.25e-3, 0.6e-3, 1.5e-3)  # s over which the power may rise
_POWERS = (0.1, 0.4, 1.6, 6.4, 25.6)  # of the impact, times its mean
_NOISES = (0.6, 1.0, 1.7)  # of the noise, times that just before
_WHITE = {False: 1e-4, True: 1e-2}  # of the impact's power, as even noise in what the prediction learns from
_SHARP = {False: 1e-3, True: 1e-2}  # of the largest power, below which no rise counts as sharp
_FLOORS = {False: 1e-2, True: 5e-2}  # of the impact's power, below which nothing ahead of it counts
_OF_SPREAD = 0.7  # of the likelihood's spread: the power of a ringing sound is steadier than that of noise
_OF_RISE = {False: 0.2, True: 0.4}  # of the rise time, added to the uncertainty: no sound rises as the model does


@dataclass(frozen=True, slots=True)
class Onset:
    """Where an impact begins.

    Parameters
    ----------
    time : float
        s from the first sample.
    u : float
        Standard uncertainty, s.
    above : float
        Power just after over that just before, dB.
    rise : float
        Time over which its power rises, s.
    """

    time: float
    u: float
    above: float
    rise: float


def onset_near(
    samples: NDArray[np.float32], rate: int, place: float, room: float, *, lossy: bool = False
) -> Onset | None:
    """Find the onset near a coarse place.

    Parameters
    ----------
    samples : array (n,)
        One channel.
    rate : int
        Samples a second.
    place : float
        Coarse place, s.
    room : float
        s before the place without another impact.
    lossy : bool
        Coded with a loss: what a coder smears ahead of an impact is not its onset.

    Returns
    -------
    Onset or None
        None where too little of the recording lies around the place.
    """
    centre = round(place * rate)
    reach = (round(_SEARCH[0] * rate), round((_SEARCH[1] + _SEEN) * rate))
    order = max(round(_ORDER_TIME * rate), 6)
    past = round(min(_PAST, 0.6 * room) * rate)
    begin = max(centre - reach[0] - past, 0)
    if centre + reach[1] > samples.size or centre - reach[0] - begin < 4 * order:
        return None
    piece = np.asarray(samples[begin : centre + reach[1]], dtype=np.float64)
    quiet = centre - reach[0] - begin
    left = _unpredicted(piece, quiet, order, _WHITE[lossy])
    power = left[quiet:] ** 2
    rough = _sharpest(power, rate, reach[0] + round(_SEARCH[1] * rate), _SHARP[lossy])
    first = max(rough - round(_LEAD * rate), 0)
    part = power[first : rough + round(_SEEN * rate)]
    mean, u, rise = _posterior(part, rough - first, rate, _FLOORS[lossy])
    after = float(power[rough : rough + round(_SEEN * rate)].mean())
    ahead = float(np.mean(left[order:quiet] ** 2))
    above = 10.0 * float(np.log10(max(after, 1e-30) / max(ahead, after * 1e-12, 1e-30)))
    spread = math.hypot(_OF_SPREAD * u / rate, _OF_RISE[lossy] * rise)
    return Onset((begin + quiet + first + mean) / rate, spread, above, rise)


def _sharpest(power: Floats, rate: int, places: int, share: float) -> int:
    """Place of the sharpest rise: the mean power of 0.5 ms after it over that of 1.5 ms before it."""
    total = np.concatenate([[0.0], np.cumsum(power)])
    ahead, behind = round(0.5e-3 * rate), round(1.5e-3 * rate)
    at = np.arange(round(0.5e-3 * rate), places)
    after = (total[at + ahead] - total[at]) / ahead
    start = np.maximum(at - behind, 0)
    before = (total[at] - total[start]) / (at - start)
    floor = share * float(np.max(after)) + 1e-30
    return int(at[np.argmax(np.log(after + floor * 1e-3) - np.log(before + floor))])


def _unpredicted(piece: Floats, quiet: int, order: int, floor: float) -> Floats:
    """Take off what linear prediction, learnt from the first `quiet` samples, foretells."""
    from scipy.linalg import solve_toeplitz  # noqa: PLC0415 - heavy, and only needed here

    piece = np.diff(piece, prepend=piece[:1])
    calm = piece[:quiet] - piece[:quiet].mean()
    size = 1 << int(np.ceil(np.log2(2 * calm.size)))
    lags = np.fft.irfft(np.abs(np.fft.rfft(calm, size)) ** 2)[: order + 1]
    if not lags[0] > 0.0:
        return piece
    peak = float(np.max(np.convolve(piece**2, np.full(order, 1.0 / order))))
    lags[0] = lags[0] * (1.0 + 1e-5) + floor * peak * calm.size
    taps = np.concatenate([[1.0], -solve_toeplitz(lags[:-1], lags[1:])])
    return np.convolve(piece, taps)[: piece.size]


def _posterior(power: Floats, rough: int, rate: int, floor: float) -> tuple[float, float, float]:
    """Mean and standard deviation of the onset, samples from the first of `power`; mean of the rise time, s."""
    count = power.size
    near = power[: max(rough - round(0.3e-3 * rate), 4)]
    quiet_power = float(near[-round(1.5e-3 * rate) :].mean())
    loud_power = float(power[rough:].mean())
    quiet_power = max(quiet_power, floor * loud_power, 1e-30)
    padded = np.concatenate([power, np.zeros(count)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, count)[:count]
    total = np.concatenate([[0.0], np.cumsum(power)])[:count]
    before = np.arange(count)
    lag = (np.arange(count) + 0.5) / rate
    shapes = np.stack([np.minimum(lag / rise, 1.0) ** 2 if rise > 0.0 else np.ones(count) for rise in _RISES])
    tables = []
    for noise in quiet_power * np.array(_NOISES):
        variance = noise + loud_power * np.array(_POWERS)[:, None, None] * shapes  # (powers, rises, lags)
        variance = variance.reshape(-1, count)
        logs = np.cumsum(np.log(variance), axis=1)[:, ::-1]  # of the loud stretch that begins at each place
        loud = windows @ (1.0 / variance).T + logs.T
        quiet = before * np.log(noise) + total / noise
        tables.append(-0.5 * (loud + quiet[:, None]))
    table = np.concatenate(tables, axis=1)
    chance = np.exp(table - table.max())
    chance /= chance.sum()
    weight = chance.sum(axis=1)
    mean = float(weight @ before)
    rises = np.tile(np.tile(_RISES, len(_POWERS)), len(_NOISES))
    spread = float(np.sqrt(weight @ (before - mean) ** 2 + 1.0 / 12.0))
    return mean, spread, float(chance.sum(axis=0) @ rises)
