"""Which attacks are a bouncing ball: a comb whose intervals shrink by a slowly varying ratio.

Every pair of attacks may begin a drop. A chain grows by attacks that lie where the ratio so far says, and each of them
is worth the logarithm of how much more likely it lies there in a bouncing ball than among unrelated attacks. The worth
of the best chain says whether it is a ball at all; the chains of a recording are taken one after the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ballbench.signals.attacks import Attacks

__all__ = ["ENOUGH", "FEWEST", "Chain", "as_timed", "bouncing"]

Floats = NDArray[np.float64]
Path = tuple[tuple[int, ...], tuple[int, ...]]  # members, and after which of them one is missing

FEWEST = 5
"""Impacts of a drop that is found without a person: fewer are told from knocks by nobody (own choice)."""
ENOUGH = 20.0
"""Worth of a timed chain from which it is a ball; simulated talk, noise and claps stay below it (own choice)."""
_LIKELY = 3.0  # worth of a chain from which its onsets are timed (own choice)
_RATIOS = (0.3, 0.985)  # of one interval to the one before (own choice; a beat of 1 is no ball)
_INTERVALS = (0.012, 2.0)  # s: of the last bounces, and of a rise of five metres (own choice)
_RATIO_SD = 0.018  # of a ratio about the one before, as attacks say it (own choice)
_TIMED_SD = 0.013  # the same as onsets say it: balls are not alike all round (own choice)
_COARSE = 1.5e-3  # s, of an attack's place
_TIMED = 0.2e-3  # s, of an onset, besides its own uncertainty (own choice)
_LEVEL_SD = (4.0, 9.0)  # dB: of a band of an impact about what its speed says, of unrelated attacks (own choice)
_BANDS = 2.0  # bands that count as independent (own choice)
_BEAT_SD = 0.04  # of such a ratio where a person knocks (own choice)
_BRIDGE = 3.5  # taken off where an impact is missing (own choice)
_PASSED = 1.5  # taken off for an attack as strong and loud that is passed over, at most twice (own choice)
_MOST = 24  # attacks looked at on either side of one
_KEPT = 4  # chains kept for each pair
_ENDS = 8  # chains weighed that overlap
_LOOKED_AT = 200
_TRACED = 4000
_HOPELESS = -4.0  # worth under which a chain is given up (own choice)
_PART = 1024
_START = 3.0  # taken off every chain: it may begin at any pair (own choice)
_USUAL = 0.85  # ratio that a chain begins with as far as levels go (own choice)


@dataclass(frozen=True, slots=True)
class Chain:
    """Attacks that bounce.

    Parameters
    ----------
    members : tuple of int
        Of the attacks, in time order.
    missing : tuple of int
        Numbers k of members after which one impact was not heard (0: after the first).
    worth : float
        Logarithm of how much more likely it is as a ball than as chance.
    """

    members: tuple[int, ...]
    missing: tuple[int, ...]
    worth: float


def bouncing(attacks: Attacks, seconds: float) -> list[Chain]:
    """Find the drops of a recording.

    Parameters
    ----------
    attacks : Attacks
        In time order.
    seconds : float
        Length of the recording.

    Returns
    -------
    list of Chain
        In time order, each with at least `FEWEST` members and worth timing; `as_timed` says whether it is a ball.
    """
    inside = np.arange(attacks.times.size)
    found: list[Chain] = []
    if inside.size < FEWEST:
        return found
    ends = _grown(attacks, inside, seconds)
    while ends:
        first = ends[0][0]
        near = [path for path in ends[:_LOOKED_AT] if path[0][-1] >= first[0] and path[0][0] <= first[-1]][:_ENDS]
        free = _beside(inside, found)
        weighed = [chain for chain in (_weighed(attacks, free, *path) for path in near) if chain is not None]
        best = max(weighed, key=lambda chain: chain.worth, default=None)
        if best is None or best.worth < _LIKELY:
            begin, end = first[0], first[-1]
        else:
            found.append(best)
            begin, end = best.members[0], best.members[-1]
        ends = [path for path in ends if path[0][-1] < begin or path[0][0] > end]
    return sorted(found, key=lambda chain: chain.members[0])


def _beside(inside: NDArray[np.intp], found: list[Chain]) -> NDArray[np.intp]:
    """Attacks that lie in no chain's stretch."""
    free = np.ones(inside.size, dtype=bool)
    for chain in found:
        free[chain.members[0] : chain.members[-1] + 1] = False
    return inside[free]


def _weighed(
    attacks: Attacks, inside: NDArray[np.intp], members: tuple[int, ...], missing: tuple[int, ...]
) -> Chain | None:
    """Count the worth of a chain anew, with the attacks beside it as the crowd; weak ends are cut off."""
    members, missing = _earlier(attacks, inside, members, missing)
    us = np.full(len(members), _COARSE)
    return _cut(attacks, inside, Chain(members, missing, 0.0), attacks.times[list(members)], us)


def as_timed(attacks: Attacks, chain: Chain, times: Floats, us: Floats) -> Chain | None:
    """Weigh a chain again with the onsets of its members.

    Parameters
    ----------
    attacks : Attacks
        Of the recording.
    chain : Chain
        As found.
    times, us : array (m,)
        Onset of each member and its standard uncertainty, s.

    Returns
    -------
    Chain or None
        Without the end that does not fit; None where it is not worth `ENOUGH`.
    """
    everything = np.arange(attacks.times.size)
    timed = _cut(attacks, everything, chain, times, np.hypot(us, _TIMED))
    return timed if timed is not None and timed.worth >= ENOUGH else None


def _cut(attacks: Attacks, inside: NDArray[np.intp], chain: Chain, times: Floats, us: Floats) -> Chain | None:
    """The stretch of a chain that is worth most; None where it has too few members."""
    best: Chain | None = None
    for skipped in range(len(chain.members) - FEWEST + 1):
        members = list(chain.members[skipped:])
        missing = tuple(k - skipped for k in chain.missing if k >= skipped)
        part = Chain(tuple(members), missing, 0.0)
        at, u = times[skipped:], us[skipped:]
        total = np.cumsum(_gains(attacks, part, at, u, _crowd(attacks, inside, members, at))) - _START
        end = int(np.argmax(total)) + 2
        worth = float(total[end - 2])
        if end >= FEWEST and (best is None or worth > best.worth):
            best = Chain(part.members[:end], tuple(k for k in missing if k < end - 1), worth)
    return best


def _crowd(attacks: Attacks, inside: NDArray[np.intp], members: list[int], times: Floats) -> Floats:
    """How many attacks a second beside a chain are as strong as each of its members."""
    near = inside[(attacks.times[inside] > times[0] - 1.0) & (attacks.times[inside] < times[-1] + 1.0)]
    others = np.setdiff1d(near, members)
    stronger = attacks.rise[others][None, :] > attacks.rise[members][:, None] - 3.0
    crowd: Floats = (stronger.sum(axis=1) + 1.0) / (times[-1] - times[0] + 2.0)
    return crowd


def _earlier(attacks: Attacks, inside: NDArray[np.intp], members: tuple[int, ...], missing: tuple[int, ...]) -> Path:
    """Lengthen a chain backwards by what lies where one more impact would have been, if it is loud enough.

    The search goes forwards and knows no ratio at a chain's first interval, which is then worth little.
    """
    while 0 not in missing and 1 not in missing:
        first, second, third = (float(t) for t in attacks.times[list(members[:3])])
        ratio = (third - second) / (second - first)
        before = (second - first) / ratio
        if before > _INTERVALS[1] or not _RATIOS[0] < ratio < _RATIOS[1]:
            break
        width = math.hypot(_RATIO_SD * before, 2.0 * _COARSE)
        away = (attacks.times[inside] - (first - before)) / width
        louder = attacks.level[inside] - attacks.level[members[0]]
        fit = -(away**2) / 2.0 - ((louder + 24.0 * math.log10(ratio)) / _LEVEL_SD[0]) ** 2 / 2.0
        fit = np.where((np.abs(away) < 3.0) & (inside < members[0]), fit, -np.inf)
        best = int(np.argmax(fit))
        if not fit[best] > -5.0:
            break
        members, missing = (int(inside[best]), *members), tuple(k + 1 for k in missing)
    return members, missing


def _gains(attacks: Attacks, chain: Chain, times: Floats, us: Floats, crowd: Floats) -> Floats:
    """What each member from the second on adds; `crowd` is how many attacks a second are as strong as it."""
    members = chain.members
    first, second = members[:2]
    gains = [
        float(_quality(attacks.rise[first]) + _quality(attacks.rise[second]))
        + float(_alike(attacks, first, second, _USUAL))
        - float(np.log1p(crowd[:2]).sum())
    ]
    ratio, before = math.nan, float(times[1] - times[0])
    for number in range(2, len(members)):
        previous, this = members[number - 1], members[number]
        interval = float(times[number] - times[number - 1])
        coarse = math.sqrt(float(np.mean(us[number - 2 : number + 1] ** 2)))
        gain, ratio, before = _link(interval, before, ratio, number - 1 in chain.missing, crowd[number], coarse)
        gain += float(_quality(attacks.rise[this])) + float(_alike(attacks, previous, this, ratio))
        span = slice(previous + 1, this + 1)
        gains.append(gain - float(_passed(attacks.rise[span], attacks.level[span])[-1]))
    return np.array(gains)


def _link(
    interval: float, before: float, ratio: float, bridged: bool, crowd: float, coarse: float
) -> tuple[float, float, float]:
    """Worth of an interval after one, its ratio, and the (last) interval itself."""
    sd = _RATIO_SD if coarse >= _COARSE else _TIMED_SD
    if bridged:
        new = (-1.0 + math.sqrt(1.0 + 4.0 * interval / before)) / 2.0
        width = math.hypot(sd * before * (1.0 + 2.0 * ratio), 2.0 * coarse)
        away = (interval - before * (ratio + ratio**2)) / width
        return _normal(away, width, crowd) - _BRIDGE, new, interval * new / (1.0 + new)
    new = interval / before
    crowd = max(crowd, float(_beat(new)) / before)
    if math.isnan(ratio):
        return -math.log((_RATIOS[1] - _RATIOS[0]) * before * crowd), new, interval
    width = math.hypot(sd * before, (1.0 + ratio) * coarse)
    return _normal((interval - before * ratio) / width, width, crowd), new, interval


def _passed(rise: Floats, level: Floats) -> Floats:
    """What is taken off for going straight to each of some attacks past those before it."""
    strong = (rise[None, :] > rise[:, None] - 3.0) & (level[None, :] > level[:, None] - 3.0)
    count: Floats = np.tril(strong, -1).sum(axis=1)
    return _PASSED * np.minimum(count, 2)


def _beat(ratio: float | Floats) -> float | Floats:
    """Density of the ratio of two intervals of an even beat, such as knocking, which half of the rest is taken for."""
    return 0.5 * np.exp(-(((ratio - 1.0) / _BEAT_SD) ** 2) / 2.0) / (_BEAT_SD * math.sqrt(2.0 * math.pi))


def _normal(away: float, width: float, crowd: float) -> float:
    return -away * away / 2.0 - math.log(width * crowd * math.sqrt(2.0 * math.pi))


def _quality(rise: Floats) -> Floats:
    """Worth of a sharp attack: ball impacts rise by far more than what comes by chance."""
    return np.clip((rise - 11.0) / 8.0, -1.0, 2.0)


def _alike(
    attacks: Attacks, one: NDArray[np.intp] | int, other: NDArray[np.intp] | int, ratio: Floats | float
) -> Floats:
    """Worth of how the bands change from one attack to another: the same ball on the same ground, only quieter."""
    inner, outer = _LEVEL_SD
    change = attacks.bands[other] - attacks.bands[one]
    used = attacks.clear[other] | attacks.clear[one]
    expected = 24.0 * np.log10(np.maximum(np.asarray(ratio), 0.1))[..., None]
    worth = math.log(outer / inner) - ((change - expected) / inner) ** 2 / 2.0 + (change / outer) ** 2 / 2.0
    mean = np.sum(np.where(used, worth, 0.0), axis=-1) / np.maximum(used.sum(axis=-1), 1)
    clipped: Floats = np.clip(_BANDS * mean, -8.0, _BANDS)
    return clipped


def _grown(attacks: Attacks, inside: NDArray[np.intp], seconds: float) -> list[Path]:
    """Grow chains over all pairs of attacks; the best few.

    Each pair keeps the chain that begins with it and the best few that end in it: a chance beginning may be worth more
    for a while than the right one.
    """
    times, rise = attacks.times[inside], attacks.rise[inside]
    quality = _quality(rise)
    n = times.size
    stronger = n - np.searchsorted(np.sort(rise), rise - 3.0)
    crowd: Floats = np.asarray((stronger + 1.0) / (seconds + 2.0), dtype=np.float64)
    start, there = _begun(attacks, inside, quality, crowd)
    worth = np.full((n, _MOST, _KEPT), -np.inf)  # of a chain that ends in the pair (k - 1 - back, k)
    ratio, last = np.full_like(worth, np.nan), np.full_like(worth, np.nan)  # of its intervals, and its last interval
    came = np.full((n, _MOST, _KEPT, 2), -1)  # its state one attack before, and whether an impact is missing between
    for j in range(n - 1):
        ahead = np.arange(j + 1, min(j + 1 + _MOST, n))
        back, gap = ahead - j - 1, times[ahead] - times[j]
        worth[ahead, back, 0] = start[j, back]
        last[ahead, back, 0] = gap
        states = np.flatnonzero(worth[j].ravel() > _HOPELESS)
        if states.size == 0:
            continue
        gain, new, held, bridged = _links(gap, last[j].ravel()[states], ratio[j].ravel()[states], crowd[ahead])
        total = worth[j].ravel()[states][:, None] + gain + there[j, back]
        best = np.argsort(-total, axis=0)[: _KEPT - 1]
        at = np.arange(ahead.size)
        for slot, row in enumerate(best, 1):
            worth[ahead, back, slot] = total[row, at]
            ratio[ahead, back, slot] = new[row, at]
            last[ahead, back, slot] = held[row, at]
            came[ahead, back, slot, 0] = states[row]
            came[ahead, back, slot, 1] = bridged[row, at]
    return _traced(worth, came, inside)


def _begun(attacks: Attacks, inside: NDArray[np.intp], quality: Floats, crowd: Floats) -> tuple[Floats, Floats]:
    """For every attack and each of those after it: worth of a chain that begins with both, and of going from it there.

    Both are (n, _MOST); -inf where there is no such attack, or none that may begin a chain.
    """
    n = inside.size
    k = np.arange(n)[:, None] + 1 + np.arange(_MOST)
    none = k >= n
    k = np.minimum(k, n - 1)
    alike, passed = np.empty((n, _MOST)), np.empty((n, _MOST))
    for begin in range(0, n, _PART):
        part = slice(begin, begin + _PART)
        rise, level = attacks.rise[inside[k[part]]], attacks.level[inside[k[part]]]
        strong = (rise[:, None, :] > rise[:, :, None] - 3.0) & (level[:, None, :] > level[:, :, None] - 3.0)
        count = (strong & np.tri(_MOST, k=-1, dtype=bool)).sum(axis=2)
        passed[part] = _PASSED * np.minimum(count, 2)
        alike[part] = _alike(attacks, np.broadcast_to(inside[part, None], k[part].shape), inside[k[part]], _USUAL)
    gap = attacks.times[inside[k]] - attacks.times[inside][:, None]
    start = quality[:, None] + quality[k] + alike - _START - np.log1p(crowd)[:, None] - np.log1p(crowd[k])
    fits = (gap > _INTERVALS[0]) & (gap < _INTERVALS[1]) & ~none
    return np.where(fits, start, -np.inf), np.where(none, -np.inf, quality[k] - passed + alike)


def _links(
    gaps: Floats, before: Floats, ratios: Floats, crowds: Floats
) -> tuple[Floats, Floats, Floats, NDArray[np.bool_]]:
    """Worth of every link from chains (rows) to attacks ahead (columns), as `_link` gives it for one."""
    T, e = before[:, None], ratios[:, None]
    direct = gaps[None, :] / T
    crowd = np.maximum(crowds[None, :], _beat(direct) / T)
    width = np.hypot(_RATIO_SD * T, (1.0 + np.nan_to_num(e, nan=1.0)) * _COARSE)
    scale = math.sqrt(2.0 * math.pi)
    known = -(((gaps[None, :] - T * e) / width) ** 2) / 2.0 - np.log(width * crowd * scale)
    unknown = np.broadcast_to(-np.log((_RATIOS[1] - _RATIOS[0]) * T * crowd), direct.shape)
    gain = np.where(np.isnan(e), unknown, known)
    gain = np.where((direct < _RATIOS[0]) | (direct > _RATIOS[1]) | (gaps < _INTERVALS[0])[None, :], -np.inf, gain)
    wide = np.hypot(_RATIO_SD * T * (1.0 + 2.0 * np.nan_to_num(e)), 2.0 * _COARSE)
    over = -(((gaps[None, :] - T * (e + e**2)) / wide) ** 2) / 2.0 - np.log(wide * crowd * scale) - _BRIDGE
    over = np.where(np.isnan(over), -np.inf, over)
    bridged = over > gain
    root = (-1.0 + np.sqrt(1.0 + 4.0 * direct)) / 2.0
    new = np.where(bridged, root, direct)
    held = np.where(bridged, gaps[None, :] * root / (1.0 + root), gaps[None, :])
    bad = (new < _RATIOS[0]) | (new > _RATIOS[1])
    total = np.where(bad, -np.inf, np.maximum(gain, over))
    return np.where(total > -12.0, total, -np.inf), new, held, bridged


def _traced(worth: Floats, came: NDArray[np.intp], inside: NDArray[np.intp]) -> list[Path]:
    """Follow the ends that are worth something back to their beginnings, the best first."""
    ends = np.flatnonzero(worth.ravel() > 0.0)
    paths = []
    for flat in ends[np.argsort(-worth.ravel()[ends])][:_TRACED]:
        k, state = divmod(int(flat), worth[0].size)
        members, bridges = [k], []
        while state >= 0:
            j = k - 1 - state // _KEPT
            members.append(j)
            state, bridged = (int(v) for v in came[k].reshape(-1, 2)[state])
            if bridged == 1:
                bridges.append(len(members) - 1)
            k = j
        if len(members) >= FEWEST:
            last = len(members) - 1
            paths.append((tuple(int(inside[m]) for m in reversed(members)), tuple(sorted(last - b for b in bridges))))
    return paths
