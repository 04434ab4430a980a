"""Drops that end too soon: caught, or stopped, after two to four impacts.

So few are not told from knocks by themselves. Beside whole drops of the same ball they are: they sound as its first
impacts do and come at its intervals. They are said, and never used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.signals.attacks import Attacks
from ballbench.signals.bounce_search import FEWEST, Chain

__all__ = ["ShortDrop", "short_drops"]

Floats = NDArray[np.float64]

_SHARP = 12.0  # dB of rise from which an attack may be an impact (own choice)
_LIKE_FIRST = 0.12  # share by which the first interval may differ from those of the whole drops (own choice)
_LIKE_RATIO = 0.06  # by which the next ratio may (own choice)
_LOUD_SD = 12.0  # dB by which the first impact may be louder or quieter than theirs (own choice)
_ALIKE = 6.0  # dB that the bands may be off those of the whole drops, root mean square (own choice)
_TWO = 2
_ECHO = 40e-3  # s in which what follows an attack may be its echo (own choice)


@dataclass(frozen=True, slots=True)
class ShortDrop:
    """A drop of too few impacts: when its first impact was, s, and how many there are."""

    time: float
    impacts: int


def short_drops(attacks: Attacks, chains: Sequence[Chain]) -> list[ShortDrop]:
    """Find what sounds like the beginning of the drops that were found, and ends too soon.

    Parameters
    ----------
    attacks : Attacks
        Of the recording.
    chains : sequence of Chain
        The whole drops, each with all its impacts from the first on.

    Returns
    -------
    list of ShortDrop
        In time order, none of them within a whole drop; empty where there is no whole drop to hold them against.
    """
    whole = [chain for chain in chains if not {0, 1} & set(chain.missing)]
    if not whole:
        return []
    firsts = np.array([np.diff(attacks.times[list(chain.members[:3])]) for chain in whole])
    first, ratio = float(np.median(firsts[:, 0])), float(np.median(firsts[:, 1] / firsts[:, 0]))
    begin = np.array([chain.members[0] for chain in whole])
    bands = np.median(attacks.bands[begin], axis=0)
    clear = attacks.clear[begin].mean(axis=0) > 0.5
    level = float(np.median(attacks.level[begin]))
    free = _free(attacks, chains)
    found, taken = [], -np.inf
    for k in free:
        if attacks.times[k] <= taken or abs(attacks.level[k] - level) > _LOUD_SD:
            continue
        members = _run(attacks, free, int(k), first, ratio)
        if len(members) < _TWO or not _sounds_like(attacks, members, bands, clear, level):
            continue
        found.append(ShortDrop(float(attacks.times[k]), len(members)))
        taken = float(attacks.times[members[-1]])
    return found


def _free(attacks: Attacks, chains: Sequence[Chain]) -> NDArray[np.intp]:
    """Sharp attacks that lie in no drop's stretch, nor where its next impacts would."""
    free = attacks.rise > _SHARP
    for chain in chains:
        times = attacks.times[list(chain.members)]
        last = times[-1] - times[-2]
        free &= (attacks.times < times[0] - _ECHO) | (attacks.times > times[-1] + 3.0 * last)
    return np.flatnonzero(free)


def _run(attacks: Attacks, free: NDArray[np.intp], start: int, first: float, ratio: float) -> list[int]:
    """Attacks from one on at the intervals of the whole drops, fewer than a whole drop has."""
    members, due, width = [start], first, _LIKE_FIRST * first
    while len(members) < FEWEST:
        away = np.abs(attacks.times[free] - attacks.times[members[-1]] - due)
        near = free[away < width]
        near = near[near > members[-1]]
        if not near.size:
            break
        members.append(int(near[np.argmax(attacks.level[near])]))
        interval = float(attacks.times[members[-1]] - attacks.times[members[-2]])
        due, width = interval * ratio, _LIKE_RATIO * interval + 2e-3
    return members


def _sounds_like(attacks: Attacks, members: list[int], bands: Floats, clear: NDArray[np.bool_], level: float) -> bool:
    """Whether the bands of some attacks are those of the whole drops' first impacts, but for loudness."""
    off = attacks.bands[members][:, clear] - attacks.level[members][:, None] - (bands[clear] - level)[None, :]
    return bool(off.size == 0 or np.sqrt(np.mean(off**2)) < _ALIKE)
