"""The onset of an impact, between samples, with its uncertainty.

What is heard before an impact (hiss, hum, the room's tail) is predicted from its own past, and the prediction is taken
off; what is left is even noise. From the onset on it is noise of a power that rises. The likelihood of every moment,
every rise time and every power is known; its mean is the onset and its spread the uncertainty.

A coder that loses something smears part of an impact ahead of it, as noise that sets in with a step some milliseconds
early. Behind such a coder the onset is told twice, without and with such steps, and what lies between both answers is
uncertainty; and because one ball on one ground rises alike, the impacts of a drop tell each other how long they rise.
Where the impacts lie to each other is not used for that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

__all__ = ["Onset", "onset_near", "onsets_of"]

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
_SHARP = {False: 1e-3, True: 0.1}  # of the largest power, below which no rise counts as sharp
_FLOORS = {False: 1e-2, True: 5e-2}  # of the impact's power, below which nothing ahead of it counts
_SMEARED = (0.1, 0.2)  # of the impact's power, that a coder may lay ahead of it (own choice)
_LOUDER = 1.5  # times the quiet from which a step ahead is looked for (own choice)
_SMEARS = 0.05  # chance that it does, for each of them (own choice)
_DIFFER = 0.6  # of what lies between the onsets without and with that, added to the uncertainty (own choice)
_FELLOWS = 4  # impacts that tell how long one of them usually rises (own choice)
_LATER, _OF_EXCESS = 0.5, 0.6  # of what an impact rises longer: its onset is so much later, and less sure (own choice)
_ROUNDS = 3  # in which the impacts of a drop agree how long they rise
_UNLIKE = 0.05  # impacts that rise in each way for which there is no other sign (own choice)
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


@dataclass(frozen=True, slots=True)
class _Told:
    """What the sound around one impact says.

    Parameters
    ----------
    first : int
        Sample of the recording in which the onset may lie at the earliest.
    above : float
        As in `Onset`.
    plain, smeared : array (places, rises)
        Logarithm of the likelihood, without and with what a coder may lay ahead; both the same where it does not.
    """

    first: int
    above: float
    plain: Floats
    smeared: Floats


def onset_near(
    samples: NDArray[np.float32], rate: int, place: float, room: float, *, lossy: bool = False
) -> Onset | None:
    """Find the onset near a coarse place in samples, (n,) or (channels, n); `onsets_of` for one impact alone."""
    return onsets_of(samples, rate, [place], [room], lossy=lossy)[0]


def onsets_of(
    samples: NDArray[np.float32],
    rate: int,
    places: Sequence[float] | Floats,
    rooms: Sequence[float] | Floats,
    *,
    lossy: bool = False,
) -> list[Onset | None]:
    """Find the onsets of the impacts of one drop near coarse places.

    Parameters
    ----------
    samples : array (n,)
        One channel.
    rate : int
        Samples a second.
    places : sequence of float
        Coarse places, s.
    rooms : sequence of float
        s before each place without another impact.
    lossy : bool
        Coded with a loss: what a coder smears ahead of an impact is not its onset.

    Returns
    -------
    list of Onset or None
        None where too little of the recording lies around the place.
    """
    told = [
        _told_at(samples, rate, float(place), float(room), lossy) for place, room in zip(places, rooms, strict=True)
    ]
    if not lossy:
        even = np.zeros(len(_RISES))
        return [None if one is None else _placed(one, one.plain + even, rate, lossy) for one in told]
    plain = _rises_alike([one.plain for one in told if one is not None])
    smeared = _rises_alike([one.smeared for one in told if one is not None])
    return _smears_unlike(
        [
            None
            if one is None
            else _between(
                _placed(one, one.plain + plain, rate, lossy),
                _placed(one, one.smeared + smeared, rate, lossy),
            )
            for one in told
        ]
    )


def _smears_unlike(onsets: list[Onset | None]) -> list[Onset | None]:
    """Take what an impact rises longer than its fellows for smeared: its onset lies somewhere in that."""
    rises = [one.rise for one in onsets if one is not None]
    if len(rises) < _FELLOWS:
        return onsets
    usual = float(np.median(rises))
    return [
        one
        if one is None or one.rise <= usual
        else replace(
            one,
            time=one.time + _LATER * (one.rise - usual),
            u=math.hypot(one.u, _OF_EXCESS * (one.rise - usual)),
        )
        for one in onsets
    ]


def _told_at(samples: NDArray[np.float32], rate: int, place: float, room: float, lossy: bool) -> _Told | None:
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
    plain, smeared = _likelihoods(part, rough - first, rate, _FLOORS[lossy], _SMEARED if lossy else ())
    after = float(power[rough : rough + round(_SEEN * rate)].mean())
    ahead = float(np.mean(left[order:quiet] ** 2))
    above = 10.0 * float(np.log10(max(after, 1e-30) / max(ahead, after * 1e-12, 1e-30)))
    return _Told(begin + quiet + first, above, plain, smeared)


def _placed(told: _Told, table: Floats, rate: int, lossy: bool) -> Onset:
    """Mean and uncertainty of the onset where the logarithm of the likelihood is this `table`."""
    chance = np.exp(table - table.max())
    chance /= chance.sum()
    weight = chance.sum(axis=1)
    places = np.arange(weight.size)
    mean = float(weight @ places)
    spread = float(np.sqrt(weight @ (places - mean) ** 2 + 1.0 / 12.0)) / rate
    rise = float(chance.sum(axis=0) @ np.array(_RISES))
    return Onset((told.first + mean) / rate, math.hypot(_OF_SPREAD * spread, _OF_RISE[lossy] * rise), told.above, rise)


def _between(one: Onset, other: Onset) -> Onset:
    """The middle of two answers, with what lies between them in its uncertainty."""
    apart = _DIFFER * (one.time - other.time)
    u = math.sqrt((one.u**2 + other.u**2) / 2.0 + apart**2)
    return Onset((one.time + other.time) / 2.0, u, one.above, (one.rise + other.rise) / 2.0)


def _rises_alike(tables: list[Floats]) -> Floats:
    """Logarithm of the share of a drop's impacts that rise in each of `_RISES`; zeros where there are none."""
    shares = np.zeros(len(_RISES))
    if not tables:
        return shares
    by_rise = np.stack([np.logaddexp.reduce(table, axis=0) for table in tables])
    for _ in range(_ROUNDS):
        chance = by_rise + shares
        chance = np.exp(chance - chance.max(axis=1, keepdims=True))
        count = (chance / chance.sum(axis=1, keepdims=True)).sum(axis=0) + _UNLIKE
        shares = np.log(count / count.sum())
    return shares


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


def _likelihoods(
    power: Floats, rough: int, rate: int, floor: float, smeared: tuple[float, ...]
) -> tuple[Floats, Floats]:
    """Logarithm of the likelihood of each onset (samples from the first of `power`) and rise; without and with steps.

    Ahead of the onset lies the quiet or, after it, stretches of even noise of `smeared` times the impact's power, each
    louder than the one before; when they set in is summed over.
    """
    count = power.size
    near = power[: max(rough - round(0.3e-3 * rate), 4)]
    quiet_power = float(near[-round(1.5e-3 * rate) :].mean())
    loud_power = float(power[rough:].mean())
    quiet_power = max(quiet_power, floor * loud_power, 1e-30)
    size = 1 << (2 * count - 1).bit_length()
    spectrum = np.fft.rfft(power, size)
    total = np.concatenate([[0.0], np.cumsum(power)])[:count]
    before = np.arange(count)
    lag = (np.arange(count) + 0.5) / rate
    shapes = np.stack([np.minimum(lag / rise, 1.0) ** 2 if rise > 0.0 else np.ones(count) for rise in _RISES])
    levels = [float(level) for level in quiet_power * np.array(_NOISES)]
    ahead = [_even(before, total, level) - math.log(len(_NOISES)) for level in levels]
    so_far = np.logaddexp.reduce(ahead, axis=0)
    for level in (share * loud_power for share in smeared if share * loud_power > _LOUDER * quiet_power):
        even = _even(before, total, level)
        stepped = even + np.logaddexp.accumulate(so_far - even) + math.log(_SMEARS / count)
        levels.append(level)
        ahead.append(stepped)
        so_far = np.logaddexp(so_far, stepped)
    tables = []
    for level, quiet in zip(levels, ahead, strict=True):
        variance = level + loud_power * np.array(_POWERS)[:, None, None] * shapes  # (powers, rises, lags)
        variance = variance.reshape(-1, count)
        logs = np.cumsum(np.log(variance), axis=1)[:, ::-1]  # of the loud stretch that begins at each place
        shares = np.fft.irfft(spectrum * np.conj(np.fft.rfft(1.0 / variance, size)), size)[:, :count]
        loud = -0.5 * (shares + logs).T
        tables.append(np.logaddexp.reduce(loud.reshape(count, len(_POWERS), -1), axis=1) + quiet[:, None])
    plain = np.logaddexp.reduce(tables[: len(_NOISES)], axis=0)
    return plain, np.logaddexp.reduce(tables, axis=0) if len(tables) > len(_NOISES) else plain


def _even(before: NDArray[np.intp], total: Floats, level: float) -> Floats:
    """Logarithm of the likelihood of the first `before` samples, their powers' sum `total`, as even noise."""
    return -0.5 * (before * math.log(level) + total / level)
