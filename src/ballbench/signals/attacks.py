"""Attacks: moments at which the sound rises within a few milliseconds, in any part of the spectrum.

A short-time spectrum with a step of 1 ms is gathered into bands; an attack is where a band's energy stands over what it
was in the milliseconds before. A steady hum or hiss fills its own band and leaves the others free.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Attacks", "attacks_in", "band_levels"]

Floats = NDArray[np.float64]

STEP = 1e-3
"""s between frames (own choice)."""
_EDGES = (150.0, 800.0, 2500.0, 6000.0, 20_000.0)  # of the bands, Hz (own choice)
_BEFORE = 14  # frames before an attack that it is held against (own choice)
_GAP = 3  # frames between both, longer than the spectrum's window
_APART = 7  # frames around an attack in which it must be the strongest
_LEAST = 6.0  # dB of rise under which nothing is an attack (own choice)
_MOST_A_SECOND = 14  # attacks kept, the strongest first: more is noise (own choice)
_ECHO = 35e-3  # s (own choice)
_CLEAR = 4.0  # dB by which a band rises in an attack (own choice)
_CHUNK = 4096


@dataclass(frozen=True, slots=True)
class Attacks:
    """Attacks of a recording, in time order.

    Parameters
    ----------
    times : array (n,)
        To about a millisecond, s.
    rise : array (n,)
        Mean rise in the two bands that rise most, dB.
    level : array (n,)
        Energy just after, all bands, dB.
    bands : array (n, bands)
        The same band by band.
    clear : array (n, bands)
        Whether the band rises at all.
    """

    times: Floats
    rise: Floats
    level: Floats
    bands: Floats
    clear: NDArray[np.bool_]


def band_levels(samples: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    """Give the energy of each band in frames of 1 ms.

    Parameters
    ----------
    samples : array (n,)
        One channel, [-1, 1].
    rate : int
        Samples a second.

    Returns
    -------
    array (bands, frames)
        Frame k has its middle at k ms; bands beyond half the rate are left out.
    """
    from scipy import fft  # noqa: PLC0415 - heavy, and only needed here

    size = 1 << round(np.log2(2.7e-3 * rate))
    window = np.hanning(size + 2)[1:-1].astype(np.float32)
    frequency = np.fft.rfftfreq(size, 1.0 / rate)
    edges = [edge for edge in _EDGES if edge < 0.45 * rate]
    bounds = [*np.searchsorted(frequency, edges), frequency.size if len(edges) < len(_EDGES) else None]
    starts = [int(b) for b in bounds if b is not None]
    frames = int(samples.size / rate / STEP)
    padded = np.concatenate([np.zeros(size, np.float32), samples, np.zeros(size, np.float32)])
    views = np.lib.stride_tricks.sliding_window_view(padded, size)
    places = np.round(np.arange(frames) * STEP * rate).astype(np.intp) + size - size // 2
    out = np.empty((len(starts) - 1, frames), np.float32)
    for begin in range(0, frames, _CHUNK):
        part = slice(begin, begin + _CHUNK)
        spectrum = fft.rfft(views[places[part]] * window, axis=1)
        power = spectrum.real**2 + spectrum.imag**2
        out[:, part] = np.add.reduceat(power[:, : starts[-1]], starts[:-1], axis=1).T
    return out


def attacks_in(levels: NDArray[np.float32], seconds: float) -> Attacks:
    """Find the attacks in band energies.

    Parameters
    ----------
    levels : array (bands, frames)
        As `band_levels` gives them.
    seconds : float
        Length of the recording.

    Returns
    -------
    Attacks
        The strongest, at most 14 a second on average.
    """
    from scipy import ndimage  # noqa: PLC0415 - heavy, and only needed here

    least = np.maximum(1e-4 * np.median(levels, axis=1, keepdims=True), 1e-12)
    energy = levels + least
    after = ndimage.maximum_filter1d(energy, 3, axis=1, origin=-1)
    mean = ndimage.uniform_filter1d(energy, _BEFORE, axis=1)
    shift = _GAP + _BEFORE // 2
    before = np.empty_like(mean)
    before[:, shift:] = mean[:, :-shift]
    before[:, :shift] = np.maximum(mean[:, shift : shift + 1], np.median(energy, axis=1, keepdims=True))
    rises = 10.0 * np.log10(after / before)
    strongest = np.sort(rises, axis=0)[-2:] if rises.shape[0] > 1 else rises
    rise = strongest.mean(axis=0)
    rise[: shift + _BEFORE] = 0.0  # nothing to hold them against
    peak = ndimage.maximum_filter1d(rise, 2 * _APART + 1)
    places = np.flatnonzero((rise == peak) & (rise > _LEAST))
    most = max(int(_MOST_A_SECOND * seconds), 60)
    if places.size > most:
        places = np.sort(places[np.argsort(rise[places])[-most:]])
    strongest_near = ndimage.maximum_filter1d(energy, _APART, axis=1)  # an attack's frame may lie a few late
    bands = np.asarray(10.0 * np.log10(strongest_near[:, places].T), dtype=np.float64)
    level = np.asarray(10.0 * np.log10((10.0 ** (bands / 10.0)).sum(axis=1)), dtype=np.float64)
    clear = rises[:, places].T > _CLEAR
    times = np.asarray(places * STEP + STEP, dtype=np.float64)
    found = Attacks(times, np.asarray(rise[places], dtype=np.float64), level, bands, clear)
    kept = _no_echoes(found)
    return Attacks(found.times[kept], found.rise[kept], found.level[kept], found.bands[kept], found.clear[kept])


def _no_echoes(attacks: Attacks) -> NDArray[np.bool_]:
    """False for what follows a stronger and louder attack within some 35 ms, the way of a sound to a wall and back."""
    kept = np.ones(attacks.times.size, dtype=bool)
    for back in range(1, 6):
        ahead = slice(0, max(attacks.times.size - back, 0))
        soon = attacks.times[back:] - attacks.times[ahead] < _ECHO
        weaker = (attacks.rise[back:] < attacks.rise[ahead] - 3.0) & (attacks.level[back:] < attacks.level[ahead] - 2.0)
        kept[back:] &= ~(soon & weaker)
    return kept
